import type { MeasureSpec, Measures, Step, StageValues, Traces } from '../types.ts';
import { numberOf } from './values.ts';
import {
  distortionPercent,
  drives,
  fundamentalVolts,
  isNumber,
  meanVolts,
  numberOr,
  outputWhere,
  peakVolts,
  gridShift,
} from './signals.ts';

/** What is simulated of a resistance-coupled amplifier, and what is measured of it. */

export const SMALL = 'small';
const LARGE = 'large';
/** Small against kT/q of a hot cathode (0.09 V), large against the engine's tolerance. */
const SMALL_DRIVE_V = 0.02;
/** Peak grid current that counts as "the onset", A: where the published "grid-current point" tables were read (common practice, no source). */
const ONSET_A = 1e-6;

export const hasCathodeResistor = (v: StageValues): boolean => numberOf(v, 'cathodeResistor') > 0;

const cathodeVolts = (t: Traces, step: string, i: number): number =>
  hasCathodeResistor(t.values) ? meanVolts(t, step, i, 'k') : 0;

/** Largest drive worth trying: the grid well into current, or the plate past both ends of its swing. */
function largestDrive(v: StageValues, own: Measures): number {
  const supply = numberOf(v, 'supply');
  const gain = Math.max(0.1, numberOr(own, 'gain', 1));
  const bias = Math.abs(numberOr(own, 'gridBias', 1));
  return Math.min(2.5 * bias + 2, (1.2 * supply) / gain + 0.5);
}

export const RC_AMPLIFIER_STEPS: readonly Step[] = [
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: () => [{ drive: SMALL_DRIVE_V }],
  },
  {
    id: LARGE,
    view: () => ({ as: 'phases', count: 8 }),
    settings: (v, own, central) => {
      const largest = largestDrive(v, own);
      if (central === undefined) return drives(0.015 * largest, largest, 12);
      // near the central answers only: their outputs over the gain are the drives that matter
      const gain = Math.max(0.1, numberOr(own, 'gain', 1));
      const targets = LARGE_MEASURES.map((id) => central[id])
        .filter(isNumber)
        .map((output) => output / gain);
      if (targets.length === 0) return drives(0.05 * largest, largest, 6);
      return drives(
        Math.max(0.01 * largest, 0.45 * Math.min(...targets)),
        Math.min(1.5 * largest, 1.9 * Math.max(...targets)),
        6,
      );
    },
  },
];

const LARGE_MEASURES = ['outputAt5PercentDistortion', 'outputAtBiasMove', 'outputAtGridCurrent'];

const output =
  (t: Traces) =>
  (i: number): number =>
    fundamentalVolts(t, LARGE, i, 'o');

/** Electron current into the grid at the positive peak of the drive, without gas or leakage. */
function peakGridCurrent(t: Traces, i: number): number {
  const model = t.models[0]!;
  const at = (node: string): number => peakVolts(t, LARGE, i, node);
  const cathode = hasCathodeResistor(t.values) ? at('k') : 0;
  const currents = model.currents(
    {
      plate: at('p'),
      grid: at('g'),
      cathode,
      ...(model.family === 'pentode' ? { screen: at('s') } : {}),
    },
    { ...t.states[0]!, gasRatio: 0, gridEmission_A: 0 },
  );
  return currents.grid ?? 0;
}

export const RC_AMPLIFIER_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'gain',
    title: 'Gain',
    unit: '×',
    step: SMALL,
    what: 'Output over source signal, small signal, all capacitors as shorts for it.',
    of: (t) => fundamentalVolts(t, SMALL, 0, 'o') / t.settings(SMALL)[0]!.drive,
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateVoltage',
    title: 'Plate voltage',
    unit: 'V',
    step: SMALL,
    what: 'Plate to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'p'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Plate current',
    unit: 'A',
    step: SMALL,
    what: 'Through the plate load, no signal.',
    of: (t) => (meanVolts(t, SMALL, 0, 'b') - meanVolts(t, SMALL, 0, 'p')) / t.knob('plateLoad'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gridVoltage',
    title: 'Grid voltage',
    unit: 'V',
    step: SMALL,
    what: 'Grid to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'g'),
    readings: ['leakage'],
  },
  {
    id: 'gridBias',
    title: 'Grid bias',
    unit: 'V',
    step: SMALL,
    what: 'Grid to cathode, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'g') - cathodeVolts(t, SMALL, 0),
    readings: ['leakage', 'emission'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: SMALL,
    what: 'How far the grid (to chassis) stands from where a new tube puts it.',
    of: (_, own, newTube) => gridShift(own, newTube),
    readings: ['leakage'],
  },
  {
    id: 'outputAt5PercentDistortion',
    title: 'Output at 5 % distortion',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at which the harmonics reach 5 % of the fundamental.',
    of: (t) =>
      outputWhere(
        t,
        LARGE,
        output(t),
        (i) => distortionPercent(t, LARGE, i, 'o'),
        5,
        '5 % distortion',
      ),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputAtBiasMove',
    title: 'Output when the bias moves',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at which mean grid current has moved the bias by 10 %.',
    of: (t, own) => {
      const bias = Math.abs(numberOr(own, 'gridBias', 0));
      const rest = numberOr(own, 'gridVoltage', 0);
      return outputWhere(
        t,
        LARGE,
        output(t),
        (i) => rest - meanVolts(t, LARGE, i, 'g'),
        0.1 * bias,
        'a bias move of 10 %',
      );
    },
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputAtGridCurrent',
    title: 'Output at grid current',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at the onset of grid current (1 µA at the positive peaks), as handbook tables have it.',
    of: (t) =>
      outputWhere(t, LARGE, output(t), (i) => peakGridCurrent(t, i), ONSET_A, 'grid current'),
    readings: ['leakage'],
  },
];
