/** Readings that cannot be, or cannot be together. The reader has checked types and units; this checks the sense. */
import { Problem } from '../problem.ts';
import type { Electrode } from '../types.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import type { InstrumentProfile } from './profile.ts';
import type { LeakValue, Readings } from './readings.ts';

/** Volts of a leak reading: its own, else the profile's. */
export function leakVolts(value: LeakValue, profile: InstrumentProfile): number {
  return value.atVolts ?? profile.leakage.volts;
}

/**
 * @param place path of keys to the readings, for messages
 * @throws Problem `bad-value`, `missing` or `contradiction`
 */
export function checkReadings(
  readings: Readings,
  profile: InstrumentProfile,
  tube: Pick<TubeFacts, 'device' | 'electrodes'>,
  place: string,
): void {
  checkProfile(profile);
  checkEmission(readings, place);
  const starved = readings.starvedHeater;
  if (starved !== undefined) {
    const at = `${place}.starvedHeater`;
    // A little below nothing is nothing, read with its error.
    number(starved.drop_percent, `${at}.drop_percent`, -20, 100, '%');
    number(starved.heater_percent, `${at}.heater_percent`, 50, 98, '% of the rated heater volts');
    number(starved.heldSeconds, `${at}.heldSeconds`, 1, 3600, 's');
  }
  checkLeaks(readings.leakage, profile, `${place}.leakage`);
  checkLeaks(readings.heaterCathode, profile, `${place}.heaterCathode`);
  readings.leakage?.forEach((one, i) => {
    checkPair(one.path, tube, `${place}.leakage[${String(i)}].path`);
  });
  readings.shorts?.forEach((one, i) => {
    number(one.ohms, `${place}.shorts[${String(i)}].ohms`, 0, 1e13, 'ohm');
    checkPair(one.between, tube, `${place}.shorts[${String(i)}].between`);
  });
  const current = readings.gridCurrent;
  if (current !== undefined) {
    const at = `${place}.gridCurrent`;
    number(current.microamps, `${at}.microamps`, -1000, 1e4, 'µA, positive = out of the grid');
    number(current.plateVolts, `${at}.plateVolts`, 0, 5000, 'V');
    number(current.screenVolts, `${at}.screenVolts`, 0, 2000, 'V');
    number(current.gridVolts, `${at}.gridVolts`, -500, 50, 'V to the cathode');
    number(current.minutes, `${at}.minutes`, 0, 1440, 'minutes since switch-on');
    if (current.microamps < -0.05) {
      throw new Problem('contradiction', 'Current flows into this grid: it collects electrons.', {
        place: `${at}.microamps`,
        found: `${String(current.microamps)} µA`,
        expected: 'a reverse current, positive = out of the grid',
        hint: 'Read it again with the grid at least 2 V negative.',
      });
    }
  }
  checkTransconductance(readings, place);
  number(readings.hoursSinceLastUsed, `${place}.hoursSinceLastUsed`, 0, 1e7, 'hours');
  checkLeakAgainstShort(readings, profile, tube, place);
}

function checkEmission(readings: Readings, place: string): void {
  readings.emission?.forEach((one, i) => {
    const at = `${place}.emission[${String(i)}]`;
    exactlyOne(one, ['percent', 'milliamps', 'divisions', 'zone'], at);
    number(one.percent, `${at}.percent`, 0, 300, '% of a new tube');
    number(one.milliamps, `${at}.milliamps`, 0, 2000, 'mA');
    number(one.divisions, `${at}.divisions`, 0, 1000, 'divisions');
    number(one.minutes, `${at}.minutes`, 0, 1440, 'minutes since switch-on');
  });
  increasing(readings.emission ?? [], `${place}.emission`);
  const last = readings.emission?.at(-1);
  const zero = [last?.percent, last?.milliamps, last?.divisions].includes(0);
  const drop = readings.starvedHeater?.drop_percent;
  if (zero && drop !== undefined) {
    throw new Problem('contradiction', 'There is no emission that could drop.', {
      place: `${place}.starvedHeater.drop_percent`,
      found: `emission 0, drop ${String(drop)} %`,
      expected: 'no drop reading where the emission is 0',
    });
  }
}

function checkTransconductance(readings: Readings, place: string): void {
  const gm = readings.transconductance;
  if (gm === undefined) return;
  const at = `${place}.transconductance`;
  exactlyOne(gm, ['mS', 'percent'], at);
  number(gm.mS, `${at}.mS`, 0, 200, 'mS');
  number(gm.percent, `${at}.percent`, 0, 300, '% of a new tube');
  number(gm.plateVolts, `${at}.plateVolts`, 0, 5000, 'V');
  number(gm.screenVolts, `${at}.screenVolts`, 0, 2000, 'V');
  number(gm.gridVolts, `${at}.gridVolts`, -500, 50, 'V to the cathode');
  if (gm.mS !== undefined && (gm.plateVolts === undefined || gm.gridVolts === undefined)) {
    throw new Problem('missing', 'A transconductance in mS needs its conditions.', {
      place: at,
      found: `${String(gm.mS)} mS without them`,
      expected: 'plateVolts and gridVolts (and screenVolts of a pentode), or percent of a new tube',
    });
  }
}

function checkLeaks(
  values: readonly LeakValue[] | undefined,
  profile: InstrumentProfile,
  place: string,
): void {
  values?.forEach((one, i) => {
    const at = `${place}[${String(i)}]`;
    exactlyOne(one, ['megohms', 'aboveMegohms', 'microamps'], at);
    number(one.megohms, `${at}.megohms`, 0, 1e8, 'MΩ');
    number(one.aboveMegohms, `${at}.aboveMegohms`, 1e-3, 1e8, 'MΩ');
    number(one.microamps, `${at}.microamps`, 0, 1e5, 'µA');
    number(one.atVolts, `${at}.atVolts`, 1, 2000, 'V');
    number(one.minutes, `${at}.minutes`, 0, 1440, 'minutes since switch-on');
    if (one.microamps !== undefined && !(leakVolts(one, profile) > 0)) {
      throw new Problem('missing', 'A leakage in µA needs the test voltage.', {
        place: at,
        found: `${String(one.microamps)} µA`,
        expected: 'atVolts in the reading or leakage.volts in the profile',
      });
    }
  });
  increasing(values ?? [], place);
}

/** @throws Problem whose place begins with `bench` */
export function checkProfile(profile: InstrumentProfile): void {
  const { emission, starvedHeater, leakage } = profile;
  number(emission.accuracy_percent, 'bench.emission.accuracy_percent', 0.1, 50, '%');
  number(emission.test_V, 'bench.emission.test_V', 0.5, 1000, 'V');
  number(emission.load_ohm, 'bench.emission.load_ohm', 0, 1e7, 'ohm');
  for (const [type, amps] of Object.entries(emission.testCurrents_A ?? {})) {
    number(amps, `bench.emission.testCurrents_A.${type}`, 1e-5, 5, 'A');
  }
  emission.knownTubes?.forEach((one, i) => {
    const at = `bench.emission.knownTubes[${String(i)}]`;
    number(one.true_percent, `${at}.true_percent`, 5, 200, '% of new');
    number(one.reading, `${at}.reading`, 1e-3, 2000, 'a reading on the scale');
  });
  const { openTerminal_V: open, newTubeTerminal_V: loaded } = emission;
  number(open, 'bench.emission.openTerminal_V', 0.5, 1000, 'V');
  number(loaded, 'bench.emission.newTubeTerminal_V', 0.1, 1000, 'V');
  if (open !== undefined && loaded !== undefined && loaded > open) {
    throw new Problem('contradiction', 'The terminal voltage rises under load.', {
      place: 'bench.emission.newTubeTerminal_V',
      found: `${String(loaded)} V with a tube, ${String(open)} V without`,
      expected: 'less with a tube than without',
    });
  }
  checkScale(emission);
  number(starvedHeater?.heater_percent, 'bench.starvedHeater.heater_percent', 50, 98, '%');
  number(starvedHeater?.heldSeconds, 'bench.starvedHeater.heldSeconds', 1, 3600, 's');
  number(starvedHeater?.accuracy_points, 'bench.starvedHeater.accuracy_points', 0.1, 30, 'points');
  number(leakage.volts, 'bench.leakage.volts', 1, 2000, 'V');
  number(leakage.top_ohm, 'bench.leakage.top_ohm', 1e5, 1e14, 'ohm');
  number(leakage.short_ohm, 'bench.leakage.short_ohm', 0, leakage.top_ohm, 'ohm, below the top');
  number(leakage.accuracy_percent, 'bench.leakage.accuracy_percent', 0.1, 100, '%');
  number(leakage.cathodeCurrent_A, 'bench.leakage.cathodeCurrent_A', 1e-6, 5, 'A');
}

function checkScale({ scale }: InstrumentProfile['emission']): void {
  if (scale.kind === 'divisions') {
    number(scale.fullScale, 'bench.emission.scale.fullScale', 1, 1000, 'divisions');
    number(scale.newTube, 'bench.emission.scale.newTube', 0.1, 1000, 'divisions');
    number(scale.rejectMark, 'bench.emission.scale.rejectMark', 0.1, 1000, 'divisions');
    number(scale.reject_percent, 'bench.emission.scale.reject_percent', 5, 100, '% of new');
  }
  if (scale.kind === 'zones') {
    scale.zones.forEach((zone, i) => {
      const at = `bench.emission.scale.zones[${String(i)}]`;
      if (zone.name.trim() === '' || scale.zones.findIndex(({ name }) => name === zone.name) < i) {
        throw new Problem('contradiction', 'A zone needs a name of its own.', {
          place: `${at}.name`,
          found: `"${zone.name}"`,
          expected: 'a name, each once',
        });
      }
      number(zone.from_percent, `${at}.from_percent`, 0, 300, '% of new');
      number(zone.to_percent, `${at}.to_percent`, zone.from_percent + 0.1, 300, '% of new');
    });
  }
}

/** Beyond the scale and a low resistance at once, on the same pair or from the grid to anything. */
/** A hard short needs no other reading: such a tube is refused for it (`hardShort`). */
function checkLeakAgainstShort(
  readings: Readings,
  { leakage: { short_ohm } }: InstrumentProfile,
  tube: Pick<TubeFacts, 'electrodes'>,
  place: string,
): void {
  const grid = controlGrid(tube);
  const last = readings.leakage?.at(-1);
  if (last?.aboveMegohms === undefined) return;
  const above = last.aboveMegohms * 1e6;
  const against = readings.shorts?.findIndex(
    ({ between, ohms, hot }) =>
      hot !== false &&
      ohms > short_ohm &&
      ohms < above / 2 &&
      (last.path === undefined ? between.includes(grid) : samePair(between, last.path)),
  );
  if (against === undefined || against < 0) return;
  throw new Problem('contradiction', 'The leakage is above the scale and a short is noted too.', {
    place: `${place}.shorts[${String(against)}]`,
    found: `${String(readings.shorts?.[against]?.ohms)} ohm, but leakage above ${String(last.aboveMegohms)} MΩ`,
    expected: 'one of them, or "hot": false for a short that went away',
  });
}

export function samePair(
  a: readonly [Electrode, Electrode],
  b: readonly [Electrode, Electrode],
): boolean {
  return (a[0] === b[0] && a[1] === b[1]) || (a[0] === b[1] && a[1] === b[0]);
}

function checkPair(
  pair: readonly [Electrode, Electrode] | undefined,
  tube: Pick<TubeFacts, 'device' | 'electrodes'>,
  place: string,
): void {
  if (pair === undefined) return;
  const known: readonly Electrode[] = [...tube.electrodes, 'heater'];
  const stranger = pair.find((one) => !known.includes(one));
  if (stranger === undefined && pair[0] !== pair[1]) return;
  throw new Problem('bad-value', `${tube.device} has no such pair of electrodes.`, {
    place,
    found: pair.join(' – '),
    expected: `two different ones of ${tube.electrodes.join(', ')}`,
  });
}

function exactlyOne(value: object, keys: readonly string[], place: string): void {
  const given = Object.entries(value)
    .filter(([key, one]) => keys.includes(key) && one !== undefined)
    .map(([key]) => key);
  if (given.length === 1) return;
  throw new Problem(
    given.length === 0 ? 'missing' : 'contradiction',
    given.length === 0 ? 'The reading has no value.' : 'The reading has two values.',
    {
      place,
      found: given.length === 0 ? 'none' : given.join(', '),
      expected: `exactly one of ${keys.join(', ')}`,
    },
  );
}

function increasing(timed: readonly { readonly minutes?: number }[], place: string): void {
  let before = -Infinity;
  timed.forEach(({ minutes }, i) => {
    if (minutes === undefined) return;
    if (minutes <= before) {
      throw new Problem('contradiction', 'The times of the readings do not increase.', {
        place: `${place}[${String(i)}].minutes`,
        found: `${String(minutes)} after ${String(before)}`,
        expected: 'readings in the order of time, minutes since switch-on',
      });
    }
    before = minutes;
  });
}

function number(
  value: number | undefined,
  place: string,
  least: number,
  most: number,
  what: string,
): void {
  if (value === undefined || (value >= least && value <= most)) return;
  throw new Problem('bad-value', 'This number cannot be.', {
    place,
    found: String(value),
    expected: `${String(least)} … ${String(most)} ${what}`,
  });
}
