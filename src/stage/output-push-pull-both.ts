import type { MeasureSpec, Measures, MeasureValue, ReadingKind, Traces } from '../types.ts';
import { humAt, humMeasures } from './heater-supply.ts';
import { hasFeedback, outputPushPullCircuit, PLACES } from './output-push-pull-circuit.ts';
import { BASS_LOSS, lowLossMeasure } from './low-loss.ts';
import { DRIVEN, feedbackFactor, REST, SMALL } from './output-push-pull-steps.ts';
import {
  distortionPercent,
  fundamentalVolts,
  isNumber,
  noValue,
  numberOr,
  outputWhere,
} from './signals.ts';
import { numberOf } from './values.ts';

/** What is measured of both tubes of a push-pull output stage together. */

export const CATHODE_AND_GRID: readonly ReadingKind[] = ['emission', 'leakage', 'gridCurrent'];
export const GRID: readonly ReadingKind[] = ['leakage', 'gridCurrent'];

/** Index of the stated drive among the settings. */
export const stated = (t: Traces): number => {
  const drive = feedbackFactor(t.values) * numberOf(t.values, 'drive');
  return t.settings(DRIVEN).findIndex((setting) => setting.drive === drive);
};

/** Power of the fundamental in the load, W. */
const power = (t: Traces, setting: number): number =>
  fundamentalVolts(t, DRIVEN, setting, 'out') ** 2 / (2 * t.knob('loadPlateToPlate'));

const whereDistorted = (t: Traces, output: (i: number) => number): MeasureValue =>
  outputWhere(
    t,
    DRIVEN,
    output,
    (i) => distortionPercent(t, DRIVEN, i, 'out'),
    10,
    '10 % distortion',
  );

/** Of the larger current: less than this is the engine's rounding, and the tubes are alike. */
const ALIKE = 1e-6;

function difference(own: Measures): number {
  const [one, other] = ['plateCurrent', 'plateCurrent2'].map((key) => numberOr(own, key, NaN));
  const apart = one! - other!;
  return Math.abs(apart) < ALIKE * Math.max(one!, other!) ? 0 : apart;
}

/** With the feedback that the set has. */
function fedBack(t: Traces, own: Measures): Traces {
  const share = numberOr(own, 'feedbackShare', 0);
  const shares: Readonly<Record<string, number>> = hasFeedback(t.values)
    ? { feedbackShare: share, feedbackShare2: -share }
    : {};
  return { ...t, knob: (name) => shares[name] ?? t.knob(name) };
}

const HUM = humMeasures(
  DRIVEN,
  {
    of: (t, own) =>
      humAt(fedBack(t, own), outputPushPullCircuit('', t.values, t.models), REST, 'out', PLACES),
    where: 'across the load, referred from plate to plate',
  },
  {
    of: (t, own) => Math.sqrt(numberOr(own, 'powerOutput', 0) * t.knob('loadPlateToPlate')),
    what: 'the output at the stated drive',
  },
);

const LOW = lowLossMeasure(BASS_LOSS, SMALL, (t, own) => ({
  t: fedBack(t, own),
  rest: REST,
  circuit: outputPushPullCircuit('', t.values, t.models),
  output: ['out'],
}));

export const MEASURES_OF_BOTH: readonly MeasureSpec[] = [
  {
    id: 'balance',
    title: 'Unbalance of the currents',
    unit: '%',
    step: REST,
    what: 'Difference of the two plate currents over their sum, no signal.',
    of: (_, own) => {
      const sum = numberOr(own, 'plateCurrent', NaN) + numberOr(own, 'plateCurrent2', NaN);
      return (100 * Math.abs(difference(own))) / Math.max(sum, 1e-9);
    },
    readings: CATHODE_AND_GRID,
  },
  {
    id: 'unbalance',
    title: 'Current that magnetises',
    unit: 'A',
    step: REST,
    what: 'Difference of the two plate currents: what the core of the transformer sees, no signal.',
    of: (_, own) => Math.abs(difference(own)),
    readings: CATHODE_AND_GRID,
  },
  {
    id: 'openLoopGain',
    title: 'Gain without feedback',
    unit: '×',
    step: SMALL,
    what: 'From each grid’s source to the output, plate to plate, at small signals.',
    of: (t) =>
      hasFeedback(t.values)
        ? fundamentalVolts(t, SMALL, 0, 'out') / t.settings(SMALL)[0]!.drive
        : noValue('no feedback'),
    readings: CATHODE_AND_GRID,
  },
  {
    id: 'feedbackShare',
    title: 'Share that is fed back',
    unit: '×',
    step: SMALL,
    what: 'Of the output, plate to plate, at each grid’s source: what lowers the gain of new tubes as stated.',
    of: (t, own, newTube) => {
      if (!hasFeedback(t.values)) return 0;
      const gain = (newTube ?? own)['openLoopGain'];
      return isNumber(gain)
        ? (feedbackFactor(t.values) - 1) / gain
        : noValue('the gain of new tubes is not known');
    },
    readings: [],
  },
  {
    id: 'powerOutput',
    title: 'Power output',
    unit: 'W',
    step: DRIVEN,
    what: 'Fundamental, into the load, at the stated drive.',
    of: (t) => power(t, stated(t)),
    readings: CATHODE_AND_GRID,
  },
  {
    id: 'distortion',
    title: 'Distortion',
    unit: '%',
    step: DRIVEN,
    what: 'Harmonics over the fundamental, at the stated drive.',
    of: (t) => distortionPercent(t, DRIVEN, stated(t), 'out'),
    readings: CATHODE_AND_GRID,
  },
  {
    id: 'powerAt10PercentDistortion',
    title: 'Power at 10 % distortion',
    unit: 'W',
    step: DRIVEN,
    what: 'Power output at the drive that gives 10 % distortion.',
    of: (t) => whereDistorted(t, (i) => power(t, i)),
    readings: CATHODE_AND_GRID,
  },
  {
    id: 'driveAt10PercentDistortion',
    title: 'Drive at 10 % distortion',
    unit: 'V',
    step: DRIVEN,
    what: 'Peak drive of each grid that gives 10 % distortion; with feedback the sources stand that much higher.',
    of: (t) => whereDistorted(t, (i) => t.settings(DRIVEN)[i]!.drive / feedbackFactor(t.values)),
    readings: CATHODE_AND_GRID,
  },
  LOW,
  ...HUM,
];
