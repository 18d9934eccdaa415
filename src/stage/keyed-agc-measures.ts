import { firstCrossing } from '../numerics/crossings.ts';
import { meanOf } from '../numerics/harmonics.ts';
import type {
  Measures,
  MeasureSpec,
  MeasureValue,
  StageValues,
  Step,
  Traces,
  View,
} from '../types.ts';
import { BY_CAPACITORS } from './faults.ts';
import { along, isNumber, noValue } from './signals.ts';
import { numberOf } from './values.ts';

/** What is simulated of a keyed AGC tube, and what is measured of it. */

const LINE = 'line';
const CHARGING = 'charging';
const CHARGING_STEPS = 3;
/** Further up the grid would draw the current that makes the AGC. */
const HIGHEST_TIP_V = 0.5;

/**
 * One line of the picture by levels: video in sync heights over the tip, whether the flyback pulse stands, and the share of
 * the line. Tip 4.7 and blanking 10.9 of 63.5 µs, the pulse as long as blanking (525-line standard; from memory).
 */
export const KEYED_LEVELS: readonly {
  readonly video: number;
  readonly flyback: 0 | 1;
  readonly share: number;
}[] = [
  { video: 0, flyback: 1, share: 0.074 },
  { video: -1, flyback: 1, share: 0.098 },
  { video: -1.6, flyback: 0, share: 0.278 },
  { video: -2.5, flyback: 0, share: 0.3 },
  { video: -3.8, flyback: 0, share: 0.25 },
];

export const KEYED_VIEW = {
  as: 'levels',
  shares: KEYED_LEVELS.map(({ share }) => share),
  substeps: 4,
} as const satisfies View;

/** No signal: the tips this far below the cathode, V. */
const NO_SIGNAL_V = 15;
/** Tips that are tried, V to the cathode's tap, for how much video the wanted volts ask for. */
const TRY_V = [-10, -8, -6.5, -5.5, -4.5, -3.5, -2.5, -1.5, -0.7];
/** The same about the central case's, for draws. */
const NEAR_V = [-1.6, -0.5, 0.5, 1.6];
/** On the way to tips at the cathode, where grid current sets in. */
const LAST_V = [-1.8, -1.2, -0.6];

/** With every capacitor as it is: about the tips that the central case needs then, or, where that is not known, above those with large ones. */
const REAL_TRY_V = [-0.5, 0.3, 1, 2, 3.5];
const REAL_NEAR_V = [-0.6, 0, 0.6];

export const KEYED_AGC_STEPS: readonly Step[] = [
  {
    id: LINE,
    view: () => KEYED_VIEW,
    // from no signal up: a step in the tips that is too large makes the engine search
    settings: (v, _own: Measures, central) => {
      const near = central?.['tipForAgc'];
      const tap = numberOf(v, 'cathodeVoltage');
      const search = isNumber(near)
        ? [...NEAR_V.map((volts) => near + volts), ...LAST_V.filter((tip) => tip > near + 2)]
        : TRY_V;
      const to = [-NO_SIGNAL_V, ...search.filter((tip) => tip < HIGHEST_TIP_V), stated(v), 0];
      return [...new Set(to)]
        .sort((a, b) => a - b)
        .map((tip) => ({ drive: 1, knobs: { tipVoltage: tap + tip } }));
    },
  },
  {
    id: CHARGING,
    view: (v) => ({
      ...KEYED_VIEW,
      charging: { frequency_Hz: numberOf(v, 'lineRate'), steps: CHARGING_STEPS },
    }),
    settings: (v, own, central) => {
      const large = own['tipForAgc'];
      if (!isNumber(large) || !chargesWithinLine(v)) return [];
      const more = central?.[BY_CAPACITORS];
      const by_V = isNumber(more) ? (more / 100) * numberOf(v, 'syncAmplitude') : undefined;
      const around =
        by_V === undefined ? REAL_TRY_V : REAL_NEAR_V.map((volts) => Math.max(0, by_V) + volts);
      return around
        .map((volts) => large + volts)
        .filter((tip, i) => i === 0 || tip < HIGHEST_TIP_V)
        .map((tip) => ({ drive: 1, knobs: { tipVoltage: numberOf(v, 'cathodeVoltage') + tip } }));
    },
  },
];

/** Tips as stated, to the cathode's tap. */
const stated = (v: StageValues): number =>
  numberOf(v, 'tipVoltage') - numberOf(v, 'cathodeVoltage');

/** Tips of every setting, to the cathode's tap. */
const tipsOf = (t: Traces, step = LINE): number[] =>
  t
    .settings(step)
    .map((one) => (one.knobs?.['tipVoltage'] ?? NaN) - numberOf(t.values, 'cathodeVoltage'));

/** The setting with these tips. */
const at = (t: Traces, tip: number): number =>
  tipsOf(t).findIndex((each) => Math.abs(each - tip) < 1e-9);

const meanOverSteps = (samples: Float64Array): number =>
  meanOverLine(
    Float64Array.from(KEYED_LEVELS, (_, j) =>
      meanOf(samples.subarray(j * CHARGING_STEPS, (j + 1) * CHARGING_STEPS)),
    ),
  );

export const meanOverLine = (samples: Float64Array): number =>
  KEYED_LEVELS.reduce((sum, { share }, j) => sum + share * samples[j]!, 0);

/** Volts of the AGC line below chassis. */
const agc = (t: Traces, setting: number): number => -meanOverLine(t.volts(LINE, setting, 'l'));

/** Tips, to the cathode's tap, at which the wanted volts are crossed. */
const tipAt = (t: Traces, step: string, agcVolts: readonly number[]): number | undefined =>
  firstCrossing(tipsOf(t, step), agcVolts, numberOf(t.values, 'agcWanted'), {
    method: 'monotoneCubic',
  });

/** With longer time constants than so many lines a capacitor moves the tips by less than a thousandth of the sync height (by this very step). */
const LONG_LINES = 3;

function chargesWithinLine(v: StageValues): boolean {
  const shortest_s = Math.min(
    numberOf(v, 'tapResistance') * numberOf(v, 'cathodeBypass'),
    numberOf(v, 'plateResistor') * numberOf(v, 'plateCapacitor'),
    numberOf(v, 'plateResistor') * numberOf(v, 'filterCapacitor'),
  );
  return shortest_s * numberOf(v, 'lineRate') < LONG_LINES;
}

/** How much more video the loop asks for because its capacitors charge within a line, % of the sync height. */
function byCapacitors(t: Traces, large: MeasureValue | undefined): MeasureValue {
  if (!isNumber(large)) return noValue('the wanted AGC volts are not there with any capacitors');
  if (!chargesWithinLine(t.values)) return 0;
  const found = tipAt(
    t,
    CHARGING,
    along(t, CHARGING, (i) => -meanOverSteps(t.volts(CHARGING, i, 'l'))),
  );
  return found === undefined
    ? noValue('with these capacitors the wanted AGC volts are not reached')
    : (100 * (found - large)) / numberOf(t.values, 'syncAmplitude');
}

/** Tips, to the cathode's tap, at which the line has the wanted volts. */
function tipForAgc(t: Traces): MeasureValue {
  const volts = along(t, LINE, (i) => agc(t, i));
  const found = tipAt(t, LINE, volts);
  const wanted = numberOf(t.values, 'agcWanted');
  if (found !== undefined) return found;
  return volts[0]! >= wanted
    ? noValue('the wanted AGC volts are there without a signal')
    : noValue('the wanted AGC volts are not reached');
}

export const KEYED_AGC_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'agcVoltage',
    title: 'AGC volts',
    unit: 'V',
    step: LINE,
    what: 'Of the line below chassis, at the sync tips given.',
    of: (t) => agc(t, at(t, stated(t.values))),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'agcMost',
    title: 'Most AGC volts',
    unit: 'V',
    step: LINE,
    what: 'Of the line below chassis, with the sync tips at the cathode’s tap.',
    of: (t) => agc(t, at(t, 0)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'agcAtRest',
    title: 'AGC volts without a signal',
    unit: 'V',
    step: LINE,
    what: 'Of the line, either way, with the sync tips 15 V below the cathode’s tap.',
    of: (t) => Math.abs(agc(t, at(t, -NO_SIGNAL_V))),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'tipForAgc',
    title: 'Sync tips for the wanted AGC volts',
    unit: 'V',
    step: LINE,
    what: 'To the cathode’s tap, where the line has the volts wanted at an ordinary station.',
    of: tipForAgc,
    readings: ['emission', 'leakage', 'gridCurrent', 'heaterCathode'],
  },
  {
    id: 'contrastShift',
    title: 'Change of contrast',
    unit: '%',
    step: LINE,
    what: 'How much more or less video the loop asks for than with a new tube, of the sync height.',
    of: (t, own, newTube) => {
      if (newTube === undefined) return 0;
      const [mine, reference] = [own['tipForAgc'], newTube['tipForAgc']];
      return isNumber(mine) && isNumber(reference)
        ? (100 * Math.abs(mine - reference)) / numberOf(t.values, 'syncAmplitude')
        : noValue('there is no such AGC voltage to compare at');
    },
    readings: ['emission', 'leakage', 'gridCurrent', 'heaterCathode'],
  },
  {
    id: BY_CAPACITORS,
    title: 'Change of contrast by the capacitors',
    unit: '%',
    step: CHARGING,
    what: 'How much more video the loop asks for with every capacitor as it is than with large ones, of the sync height. 0 where all of them are slow against a line.',
    of: (t, own) => byCapacitors(t, own['tipForAgc']),
    readings: ['emission'],
  },
  {
    id: 'gridVoltage',
    title: 'Grid at the tips, to the cathode',
    unit: 'V',
    step: LINE,
    what: 'At the sync tips given.',
    of: (t) =>
      t.volts(LINE, at(t, stated(t.values)), 'g')[0]! -
      t.volts(LINE, at(t, stated(t.values)), 'k')[0]!,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'cathodeVoltage',
    title: 'Cathode voltage',
    unit: 'V',
    step: LINE,
    what: 'To chassis, where the heater is: what the insulation between them has to stand.',
    of: (t) => meanOverLine(t.volts(LINE, at(t, stated(t.values)), 'k')),
    readings: ['heaterCathode'],
  },
  {
    id: 'heaterCathodeRating',
    title: 'Rated heater-cathode voltage',
    unit: 'V',
    step: LINE,
    what: 'The type’s published maximum.',
    of: (t) =>
      t.models[0]!.ratings?.heaterCathode_V ?? noValue('the rating of this type is not known'),
    readings: [],
  },
];
