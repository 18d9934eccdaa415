import { firstCrossing } from '../numerics/crossings.ts';
import { interpolateLinear } from '../numerics/interpolate.ts';
import type { MeasureSpec, MeasureValue, Step, Traces, View } from '../types.ts';
import { gridShift, noValue } from './signals.ts';
import { numberOf } from './values.ts';

/** What is simulated of a sync separator, and what is measured of it. */

const SIGNAL = 'signal';

/**
 * One line of the picture by levels, in sync heights over black, and the share of the line that each takes: tip, the two
 * edges in steps, blanking, a dark, a grey and a white part of a picture. Shares of the 525-line standard (tip 4.7, blanking
 * 10.9 of 63.5 µs; from memory); the picture is an invented average.
 */
export const LINE_LEVELS: readonly { readonly level: number; readonly share: number }[] = [
  { level: 1, share: 0.072 },
  { level: 0.8, share: 0.0015 },
  { level: 0.6, share: 0.0015 },
  { level: 0.4, share: 0.0015 },
  { level: 0.2, share: 0.0015 },
  { level: 0, share: 0.092 },
  { level: -0.6, share: 0.28 },
  { level: -1.5, share: 0.3 },
  { level: -2.8, share: 0.25 },
];
const TIP = 0;
const BLACK = 5;
const WHITE = LINE_LEVELS.length - 1;

export const LINE_VIEW: View = {
  as: 'levels',
  shares: LINE_LEVELS.map(({ share }) => share),
  substeps: 2,
};

const WEAK = 0;
const STRONG = 1;

export const SYNC_SEPARATOR_STEPS: readonly Step[] = [
  {
    id: SIGNAL,
    view: () => LINE_VIEW,
    settings: (v) => {
      const sync = numberOf(v, 'syncAmplitude');
      return [{ drive: (numberOf(v, 'weakSignal') / 100) * sync }, { drive: sync }];
    },
  },
];

const meanOver = (samples: Float64Array): number =>
  LINE_LEVELS.reduce((sum, { share }, j) => sum + share * samples[j]!, 0);

const plate = (t: Traces, setting: number): Float64Array => t.volts(SIGNAL, setting, 'p');

/** Plate pulse: from blanking to the tip, V. */
function pulse(t: Traces, setting: number): number {
  const volts = plate(t, setting);
  return volts[BLACK]! - volts[TIP]!;
}

/** Picture left on the plate, of its whole swing, %. */
function picture(t: Traces, setting: number): number {
  const volts = plate(t, setting);
  const left = Math.abs(volts[WHITE]! - volts[BLACK]!);
  return (100 * left) / Math.max(left + Math.abs(pulse(t, setting)), 1e-6);
}

/** Height between black (0 %) and tip (100 %) at which the plate stands halfway. */
function slice(t: Traces): MeasureValue {
  const volts = plate(t, STRONG);
  const edge = LINE_LEVELS.slice(TIP, BLACK + 1);
  const half = (volts[TIP]! + volts[BLACK]!) / 2;
  const falls = edge.map((_, j) => volts[j]!);
  const at =
    pulse(t, STRONG) > 1e-3
      ? firstCrossing(
          edge.map((_, j) => j),
          falls,
          half,
        )
      : undefined;
  const level =
    at === undefined
      ? undefined
      : interpolateLinear(
          edge.map((_, j) => j),
          edge.map((one) => one.level),
          at,
        );
  return level === undefined ? noValue('there is no pulse') : 100 * level;
}

export const SYNC_SEPARATOR_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'pulse',
    title: 'Sync pulse at the plate',
    unit: 'V',
    step: SIGNAL,
    what: 'Plate from blanking to sync tip, at the signal given.',
    of: (t) => pulse(t, STRONG),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'weakPulse',
    title: 'Sync pulse, weak station',
    unit: 'V',
    step: SIGNAL,
    what: 'Plate from blanking to sync tip, at the weak signal given.',
    of: (t) => pulse(t, WEAK),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'picture',
    title: 'Picture left in the sync',
    unit: '%',
    step: SIGNAL,
    what: 'How far the plate still follows from blanking to white, of its whole swing.',
    of: (t) => picture(t, STRONG),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'weakPicture',
    title: 'Picture left in the sync, weak station',
    unit: '%',
    step: SIGNAL,
    what: 'How far the plate still follows from blanking to white, of its whole swing, at the weak signal.',
    of: (t) => picture(t, WEAK),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'sliceLevel',
    title: 'Slicing level',
    unit: '%',
    step: SIGNAL,
    what: 'Where between black (0) and sync tip (100) the plate stands halfway.',
    of: slice,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'gridVoltage',
    title: 'Grid voltage',
    unit: 'V',
    step: SIGNAL,
    what: 'Mean of grid to cathode over a line, at the signal given: what a meter reads.',
    of: (t) => meanOver(t.volts(SIGNAL, STRONG, 'g')),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'tipGridVoltage',
    title: 'Grid at the tips',
    unit: 'V',
    step: SIGNAL,
    what: 'Where the grid’s own current holds the sync tips.',
    of: (t) => t.volts(SIGNAL, STRONG, 'g')[TIP]!,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: SIGNAL,
    what: 'How far the grid stands, on the mean, from where a new tube puts it.',
    of: (_, own, newTube) => gridShift(own, newTube),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'tipPlateVoltage',
    title: 'Plate at the tips',
    unit: 'V',
    step: SIGNAL,
    what: 'Plate to chassis at the sync tips.',
    of: (t) => plate(t, STRONG)[TIP]!,
    readings: ['emission'],
  },
];
