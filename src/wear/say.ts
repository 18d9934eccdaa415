/** Wear in numbers with their intervals, and in words. "Not known" is never shown as good. */
import { Z90 } from '../numerics/normal.ts';
import { quantile } from '../numerics/quantiles.ts';
import type { BlindReading, Draw, TubeCondition, WearLine } from '../types.ts';
import type { CathodeReading, CathodeState } from './cathode.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import type { GasReading } from './gas.ts';
import { titleOf, type LeakFact, type LeakReading } from './leak.ts';
import { words } from '../units/electrode.ts';
import { formatQuantity } from '../units/format.ts';
import { calibration } from './instrument.ts';
import { BLEND } from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { Readings } from './readings.ts';
import { gmFactor, gmRatio } from './transconductance.ts';
import { capital } from '../units/title.ts';

export interface Parts {
  readonly readings: Readings;
  readonly profile: InstrumentProfile;
  readonly tube: TubeFacts;
  readonly cathode: CathodeReading;
  readonly leaks: LeakReading;
  readonly gas: GasReading;
}

/** The tube under the same draws for all that is said, and its central case. */
export interface Sampled {
  readonly draws: readonly Draw[];
  readonly states: readonly CathodeState[];
  readonly conditions: readonly TubeCondition[];
  readonly state: CathodeState;
  readonly condition: TubeCondition;
}

const CANNOT = 'cannot be told from these readings';

export function summaryOf(parts: Parts, sampled: Sampled): WearLine[] {
  const { cathode, leaks, gas, tube } = parts;
  const { draws, conditions, condition: central, state: here } = sampled;
  const area = range(conditions.map((one) => one.area));
  const lines: WearLine[] = [
    {
      id: 'area',
      title: 'Area of the cathode, of new',
      unit: '×',
      value: here.areaUndetermined ? null : central.area,
      low: area.low,
      high: area.high,
      known: cathode.emissionKnown,
      ...(here.areaUndetermined
        ? { said: `the cathode is fully saturated: its area ${CANNOT}` }
        : cathode.emissionKnown === 'unread'
          ? { said: CANNOT }
          : cathode.rising
            ? { said: `at least ${figure(central.area)}: it was still recovering` }
            : {}),
    },
    reserveLine(parts, sampled),
    {
      id: 'saturation',
      title: 'Saturation current',
      unit: 'A',
      value:
        cathode.dropKnown === 'unread' || cathode.blind !== undefined ? null : central.saturation_A,
      ...range(conditions.map((one) => one.saturation_A)),
      known: cathode.dropKnown,
      ...(cathode.dropKnown === 'unread'
        ? { said: CANNOT }
        : cathode.blind !== undefined
          ? { said: `cannot be told at this test current: ${amps(cathode.blind.least_A)} or more` }
          : cathode.testCurrentKnown === 'read'
            ? {}
            : { said: 'only roughly: the test current of this type is not known' }),
    },
  ];
  for (const fact of leaks.facts) lines.push(leakLine(parts, fact, draws));
  lines.push(
    {
      id: 'gas',
      title: 'Gas: grid current over cathode current',
      unit: '',
      value: gas.known === 'read' ? central.gasRatio : null,
      ...range(conditions.map((one) => one.gasRatio)),
      known: gas.known,
      ...(gas.known === 'read' ? {} : { said: 'not tested' }),
    },
    {
      id: 'gridEmission',
      title: 'Emission of the grid',
      unit: 'A',
      value: gas.known === 'read' ? central.gridEmission_A : null,
      ...range(conditions.map((one) => one.gridEmission_A)),
      known: gas.known,
      ...(gas.known === 'read' ? {} : { said: 'not tested' }),
    },
  );
  return tube.family === 'diode' ? lines.filter(({ id }) => !/^gas|^grid/.test(id)) : lines;
}

/** Reserve s, saturation over the test current: a number only where the drop tells one. */
function reserveLine({ cathode }: Parts, { states, state: here }: Sampled): WearLine {
  const { low, high } = range(states.map(({ reserve }) => reserve));
  const beyond = states.filter(({ saturationBeyond }) => saturationBeyond).length / states.length;
  const wide = cathode.dropKnown === 'read' && (beyond > 0.2 || here.reserve > 3);
  const said =
    cathode.dropKnown === 'unread'
      ? `above ${figure(low)}, more ${CANNOT}: no drop with a starved heater was read`
      : wide
        ? `above ${figure(Math.min(low, 3))}`
        : undefined;
  return {
    id: 'reserve',
    title: 'Saturation over the test current',
    unit: '×',
    value: said === undefined ? here.reserve : null,
    low,
    high: wide ? null : high,
    known: cathode.dropKnown,
    ...(said === undefined ? {} : { said }),
  };
}

function leakLine({ leaks, tube }: Parts, fact: LeakFact, draws: readonly Draw[]): WearLine {
  const ohms = draws.map((draw) => 1 / leaks.siemens(fact, draw));
  const central = 1 / leaks.siemens(fact, {});
  const said =
    fact.said === 'aboveScale'
      ? `above the scale (${resistance(1 / (fact.atMost_S ?? 1e-9))})`
      : fact.said === 'unread'
        ? 'not read'
        : fact.said === 'lowerBound'
          ? `at most ${resistance(central)}: it was still falling faster and faster`
          : undefined;
  return {
    id: fact.path === undefined ? 'gridLeak' : fact.name,
    title:
      fact.path === undefined
        ? `Leakage of the ${words(controlGrid(tube))}, hot in the set`
        : `${capital(titleOf(fact))}, hot in the set`,
    unit: 'ohm',
    value: fact.said === 'value' ? central : null,
    ...range(ohms),
    known: fact.said === 'unread' ? 'unread' : fact.said === 'aboveScale' ? 'prior' : 'read',
    ...(said === undefined ? {} : { said }),
  };
}

export function sentencesOf(parts: Parts, sampled: Sampled): string[] {
  const { draws, condition } = sampled;
  const { cathode, leaks, gas, readings, tube } = parts;
  const said: string[] = [cathodeSentence(parts, sampled)];
  if (cathode.rising) {
    said.push(
      'The emission is a lower bound: run the tube 30 to 60 minutes with plate current and read again.',
    );
  }
  const calibrated = calibrationSentence(parts);
  if (calibrated !== undefined) said.push(calibrated);
  const gm = gmSentence(parts, condition);
  if (gm !== undefined) said.push(gm);
  const main = leaks.unplaced;
  if (main !== undefined && (main.said === 'value' || main.said === 'lowerBound')) {
    const { low, high } = range(draws.map((draw) => 1 / leaks.siemens(main, draw)));
    const share = gas.at({}, 1).leakShare;
    said.push(
      `The leakage of the ${words(controlGrid(tube))} comes to about ${resistance(1 / leaks.siemens(main, {}) / Math.max(share, 0.01))} hot in the set (90 %: ${resistance(low)} to ${resistance(high)})${leaks.paths.length > 1 ? `, likeliest to the ${words(leaks.paths[0]?.between[1] ?? 'plate')}` : ''}.`,
    );
    if (main.said === 'lowerBound') {
      said.push(
        'It was still rising faster and faster: this is the least it will be; read it again after ten minutes.',
      );
    } else if (main.early) {
      said.push('It was read early: where it ends is known within a factor of 2 at best.');
    }
  }
  const last = readings.leakage?.at(-1);
  if (main?.said === 'aboveScale' && last !== undefined) {
    said.push(
      `The grid leakage is above the scale (${resistance(1 / (main.atMost_S ?? 1e-9))}); tubes like that normally have more than 1 GΩ.`,
    );
  }
  for (const fact of leaks.facts) {
    if (fact.path === undefined || fact.said === 'unread' || fact.said === 'aboveScale') continue;
    said.push(`${capital(titleOf(fact))}: about ${resistance(1 / leaks.siemens(fact, {}))} hot.`);
  }
  if (gas.known === 'read') {
    const { gasRatio, gridEmission_A } = condition;
    said.push(
      `Gas takes about ${(gasRatio * 1e6).toPrecision(2)} millionths of the cathode current out of the grid, grid emission ${(gridEmission_A * 1e6).toPrecision(2)} µA.`,
    );
  }
  return said;
}

/** The drop that was read at too small a test current to tell the saturation, in words. */
export function blindDrop({ cathode: { blind } }: Parts): BlindReading | undefined {
  return blind === undefined
    ? undefined
    : {
        reading: 'starvedHeater',
        why: `was read at a test current of about ${amps(blind.testCurrent_A)}, which is too small to tell the saturation: anything from ${amps(blind.least_A)} to the ${amps(blind.new_A)} of a new cathode goes with it`,
        advice: `Read emission and drop again at a larger test current, best near ${amps(blind.wanted_A)}.`,
      };
}

const amps = (value: number): string => formatQuantity(value, 'A', { digits: 2 });

function cathodeSentence({ cathode }: Parts, { states, state: here }: Sampled): string {
  if (cathode.emissionKnown === 'unread') return 'The emission was not read.';
  const area = range(states.map((one) => one.area));
  const reserve = range(states.map((one) => one.reserve));
  if (here.areaUndetermined) {
    return `The cathode is fully saturated: it gives about ${percent(here.reserve)} of the test current and no more, and its area cannot be told.`;
  }
  const areaText = `${percent(here.area)} of the area of a new cathode (90 %: ${percent(area.low)} to ${percent(area.high)})`;
  if (cathode.dropKnown === 'unread') {
    return `The cathode has ${areaText}; without a reading at a starved heater its saturation may be anything above ${figure(reserve.low)} times the test current.`;
  }
  if (cathode.blind !== undefined) {
    return `The cathode has ${areaText}; at a test current of about ${amps(cathode.blind.testCurrent_A)} its saturation cannot be told, only that it is above ${amps(cathode.blind.least_A)}.`;
  }
  if (here.reserve > 3) {
    // "ample" is said of what comes near a new cathode's, not of a few times a small test current
    const ample =
      Math.min(...states.map(({ saturation_A }) => saturation_A)) > cathode.newSaturation_A({}) / 6;
    const least = figure(Math.min(reserve.low, 3));
    return `The cathode has ${areaText} and ${ample ? 'ample saturation, more than' : 'a saturation of more than'} ${least} times the test current.`;
  }
  return `The cathode has ${areaText} and saturates at ${figure(here.reserve)} times the test current (90 %: ${figure(reserve.low)} to ${figure(reserve.high)}).`;
}

/** How good the known tubes have made the scale; they say nothing of milliamperes and zones. */
function calibrationSentence({ readings, profile, tube }: Parts): string | undefined {
  const last = readings.emission?.at(-1);
  const fit = calibration(profile.emission, tube);
  if (fit === undefined || (last?.percent ?? last?.divisions) === undefined) return undefined;
  const count = profile.emission.knownTubes?.length ?? 0;
  const q =
    fit.q === undefined
      ? ''
      : `; its test voltage gives way to ${percent(fit.q.median)} (± ${percent(Z90 * fit.q.sd)}) under a new tube`;
  return `The scale was calibrated by ${count === 1 ? 'one known tube' : `${String(count)} known tubes`}: good to ± ${percent(Z90 * fit.sd)} for this type${q}.`;
}

/** A transconductance read beside an emission is compared, not mixed in. */
function gmSentence(
  { readings, cathode, tube }: Parts,
  { area, saturation_A }: TubeCondition,
): string | undefined {
  if (readings.emission === undefined) return undefined;
  const ratio = gmRatio(readings, tube);
  if (ratio === undefined) return undefined;
  const expected = gmFactor(area, saturation_A, BLEND.median, tube);
  const agrees = Math.abs(Math.log(ratio / expected)) < 0.25;
  return agrees || cathode.rising
    ? `The transconductance, ${percent(ratio)} of new, agrees with the emission (${percent(expected)} expected).`
    : `The transconductance, ${percent(ratio)} of new, does not agree with the emission (${percent(expected)} expected): read both again.`;
}

export function untoldOf({ readings, profile, tube, cathode, leaks, gas }: Parts): string[] {
  const untold: string[] = [];
  const put = (when: boolean, text: string): void => {
    if (when) untold.push(text);
  };
  put(cathode.emissionKnown === 'unread', 'Emission was not read.');
  put(
    cathode.dropKnown === 'unread',
    'Saturation was not tested: read the emission again with the heater at about 90 % for a minute.',
  );
  const blind = blindDrop({ readings, profile, tube, cathode, leaks, gas });
  if (blind !== undefined)
    untold.push(`The drop with a starved heater ${blind.why}. ${blind.advice}`);
  put(
    cathode.testCurrentKnown !== 'read',
    'The test current of this type is not known: saturation is told only against it, not in milliamperes. State it, or test volts and load: where large currents are drawn the answer narrows.',
  );
  put(
    cathode.compressionKnown !== 'read',
    'How far the test voltage gives way under load is not known: measure the terminal volts with and without a tube once.',
  );
  const positive = profile.leakage.grid === 'positive' && readings.leakage !== undefined;
  put(
    positive,
    'Leakage was read with the grid positive: that is its normal electron current, not leakage.',
  );
  put(
    !positive && leaks.known === 'unread' && tube.family !== 'diode',
    'Grid leakage was not read.',
  );
  if (gas.known !== 'read' && tube.family !== 'diode') {
    untold.push(
      readings.leakage === undefined
        ? 'Gas was not tested: no reading with the tube conducting.'
        : 'Gas was not tested: the leakage was read without plate current.',
    );
  }
  put(
    tube.isOutputTube && gas.known !== 'read',
    'Grid current of an output tube shows only hot and under load: watch the cathode voltage for 20 minutes in the set.',
  );
  put(leaks.heaterCathodeKnown === 'unread', 'Heater to cathode leakage was not read.');
  const { noticed } = readings;
  const saw = (what: NonNullable<typeof noticed>[number]): boolean =>
    noticed?.includes(what) === true;
  put(
    saw('blueGlow'),
    'Blue glow was seen: on the glass it is harmless, between the electrodes it is gas, which no cold reading shows.',
  );
  put(saw('changesWhenTapped'), 'It changes when tapped: no calculation judges that.');
  put(
    saw('comesAndGoesWithHeat'),
    'It comes and goes with heat: the readings may be of its good state.',
  );
  return untold;
}

function range(values: readonly number[]): { low: number; high: number } {
  return { low: quantile(values, 0.05), high: quantile(values, 0.95) };
}

function figure(value: number): string {
  return String(Number(value.toPrecision(2)));
}

function percent(value: number): string {
  return `${String(Math.round(value * 100))} %`;
}

function resistance(ohms: number): string {
  const [scale, unit] =
    ohms >= 1e9 ? [1e9, 'GΩ'] : ohms >= 1e6 ? [1e6, 'MΩ'] : ohms >= 1e3 ? [1e3, 'kΩ'] : [1, 'Ω'];
  return `${figure(ohms / Number(scale))} ${String(unit)}`;
}
