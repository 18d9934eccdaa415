import { firstCrossing } from '../numerics/crossings.ts';
import { cycleHarmonics, meanOf, type CycleHarmonics } from '../numerics/harmonics.ts';
import type { MeasureSpec, MeasureValue, Step, StageValues, Traces, View } from '../types.ts';
import { drives, fundamentalVolts, isNumber, meanVolts, noValue, gridShift } from './signals.ts';
import { numberOf } from './values.ts';

/** What is simulated of a grid-leak detector, and what is measured of it. */

const REST = 'rest';
const CARRIER = 'carrier';
const AUDIO = 'audio';
const OVERLOAD = 'overload';
/** Distortion that counts as overload, % (common practice, no source). */
const OVERLOAD_PERCENT = 10;
/** Smallest carrier tried for overload, V; the largest is a share of the supply: beyond it every triode is cut off. */
const TRY_FROM_V = 0.05;
const TRY_TO_SUPPLY = 1 / 6;
const TRY_COUNT = 20;
/** Carriers about the central case's overload, for draws: as far apart as those. */
const NEAR = { from: 0.55, to: 1.7, count: 4 };

/** kT/q of a hot cathode, V: the width of the grid's exponential. */
const THERMAL_V = 0.09;
/**
 * Phase copies for a carrier. K midpoints over half a cycle leave I_2K(z)/I_0(z), about exp(-2K^2/z), of the mean of
 * exp(z cos theta), z = amplitude / (kT/q): here a part in 10^4, tested against twice as many.
 */
function phasesFor(amplitude_V: number): number {
  return Math.min(20, Math.max(4, Math.ceil(Math.sqrt((amplitude_V / THERMAL_V) * 4.6))));
}
/** The same where the carrier is not known beforehand: distortion to a few hundredths of itself up to 3 V, tested. */
const PHASES_OF_OVERLOAD = 8;
/** Moments of the audio cycle: odd; harmonics up to half of it. Deep modulation makes more of them. */
const momentsFor = (depth: number): number => (depth > 0.4 ? 11 : 7);

const depthOf = (v: StageValues): number => numberOf(v, 'modulation') / 100;

type Envelope = Extract<View, { as: 'envelope' }>;

const envelopeView = (v: StageValues, count: number, depth: number): Envelope => ({
  as: 'envelope',
  count,
  moments: momentsFor(depth),
  tone: { frequency_Hz: numberOf(v, 'audioFrequency'), depth },
});
const audioView = (v: StageValues): Envelope =>
  envelopeView(v, phasesFor(numberOf(v, 'carrier') * (1 + depthOf(v))), depthOf(v));
/** Deeper, and the square law of a small carrier alone passes the bound. Receivers are tested at 30 % (common practice). */
const TEST_DEPTH = 0.3;
const overloadView = (v: StageValues): Envelope =>
  envelopeView(v, PHASES_OF_OVERLOAD, Math.min(TEST_DEPTH, depthOf(v)));

export const GRID_LEAK_DETECTOR_STEPS: readonly Step[] = [
  { id: REST, view: () => ({ as: 'quiescent' }), settings: () => [{ drive: 0 }] },
  {
    id: CARRIER,
    view: (v) => ({ as: 'phases', count: phasesFor(numberOf(v, 'carrier')) }),
    settings: (v) => [{ drive: numberOf(v, 'carrier') }],
  },
  {
    id: AUDIO,
    view: audioView,
    // a request that begins with a large carrier makes the engine search
    settings: (v) => {
      const carrier = numberOf(v, 'carrier');
      return carrier > 0.4 ? [{ drive: 0.3 * carrier }, { drive: carrier }] : [{ drive: carrier }];
    },
  },
  {
    id: OVERLOAD,
    view: overloadView,
    settings: (v, _own, central) => {
      const around = central?.['overloadCarrier'];
      return isNumber(around)
        ? drives(NEAR.from * around, NEAR.to * around, NEAR.count)
        : drives(TRY_FROM_V, TRY_TO_SUPPLY * numberOf(v, 'supply') + 1, TRY_COUNT);
    },
  },
];

/** Harmonics of the output over the audio cycle, V peak. */
function audio(
  t: Traces,
  step: string,
  setting: number,
  { count, moments }: Envelope,
): CycleHarmonics {
  const samples = t.volts(step, setting, 'o');
  return cycleHarmonics(
    Array.from({ length: moments }, (_, m) => meanOf(samples.subarray(m * count, (m + 1) * count))),
  );
}

/** At the carrier that the socket has. */
const nominal = (t: Traces): CycleHarmonics =>
  audio(t, AUDIO, t.settings(AUDIO).length - 1, audioView(t.values));

/**
 * The carrier at which distortion rises through its bound, or the audio stops rising, whichever comes first. Distortion
 * that falls through the bound is no overload.
 */
function overload(t: Traces): MeasureValue {
  const carriers = t.settings(OVERLOAD).map((setting) => setting.drive);
  const found = carriers.map((_, i) => audio(t, OVERLOAD, i, overloadView(t.values)));
  const percent = found.map((one) => one.thdPercent);
  const volts = found.map((one) => one.amplitudes[0]!);
  const rise = percent.findIndex(
    (here, i) => i > 0 && here >= OVERLOAD_PERCENT && percent[i - 1]! < OVERLOAD_PERCENT,
  );
  // one point more on either side for the curve, unless it lies above the bound too
  const from = rise > 1 && percent[rise - 2]! < OVERLOAD_PERCENT ? rise - 2 : rise - 1;
  const log = (values: readonly number[]): number[] => values.slice(from, rise + 2).map(Math.log);
  const bound =
    rise < 0
      ? undefined
      : firstCrossing(log(carriers), log(percent), Math.log(OVERLOAD_PERCENT), {
          method: 'monotoneCubic',
        });
  const places = [bound, turnOf(carriers.map(Math.log), volts)].filter(
    (place) => place !== undefined,
  );
  if (places.length > 0) return Math.exp(Math.min(...places));
  const last = volts.length - 1;
  return volts[0]! > volts[last]! || Math.min(...percent) >= OVERLOAD_PERCENT
    ? noValue('already overloaded at the smallest carrier tried')
    : noValue('not overloaded at the largest carrier tried', carriers[last]!);
}

/** Where a sampled curve has its first inner maximum: the top of the parabola through it and its neighbours. */
function turnOf(x: readonly number[], y: readonly number[]): number | undefined {
  const top = y.findIndex(
    (here, i) => i > 0 && i < y.length - 1 && here > y[i - 1]! && here >= y[i + 1]!,
  );
  if (top < 0) return undefined;
  const [h, k] = [x[top]! - x[top - 1]!, x[top + 1]! - x[top]!];
  const [before, after] = [(y[top]! - y[top - 1]!) / h, (y[top]! - y[top + 1]!) / k];
  // slopes of the two sides, at their middles: the top is where the slope between them is 0
  return x[top]! - h / 2 + ((h + k) / 2) * (before / (before + after));
}

export const GRID_LEAK_DETECTOR_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'gridBiasNoCarrier',
    title: 'Grid voltage, no carrier',
    unit: 'V',
    step: REST,
    what: 'Grid to cathode without a signal.',
    of: (t) => meanVolts(t, REST, 0, 'g'),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'gridVoltage',
    title: 'Grid voltage, with carrier',
    unit: 'V',
    step: CARRIER,
    what: 'Mean of grid to cathode with the carrier, not modulated.',
    of: (t) => meanVolts(t, CARRIER, 0, 'g'),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: CARRIER,
    what: 'How far the grid, with the carrier, stands from where a new tube puts it.',
    of: (_, own, newTube) => gridShift(own, newTube),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'carrierKept',
    title: 'Carrier left by the grid',
    unit: '%',
    step: CARRIER,
    what: 'Carrier at the tuned circuit, loaded by grid current, of what it is without.',
    of: (t) => (100 * fundamentalVolts(t, CARRIER, 0, 'a')) / t.settings(CARRIER)[0]!.drive,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'plateVoltage',
    title: 'Plate voltage',
    unit: 'V',
    step: CARRIER,
    what: 'Mean of plate to chassis with the carrier.',
    of: (t) => meanVolts(t, CARRIER, 0, 'p'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Plate current',
    unit: 'A',
    step: CARRIER,
    what: 'Mean through the plate load with the carrier.',
    of: (t) =>
      (meanVolts(t, CARRIER, 0, 'b') - meanVolts(t, CARRIER, 0, 'p')) / t.knob('plateLoad'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'audioOutput',
    title: 'Audio output',
    unit: 'V',
    alternating: true,
    step: AUDIO,
    what: 'Peak audio at the next grid resistor, at the carrier, modulation and audio frequency given.',
    of: (t) => nominal(t).amplitudes[0]!,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'detectionGain',
    title: 'Detection gain',
    unit: '×',
    step: AUDIO,
    what: 'Audio output over the swing of the carrier’s envelope.',
    of: (t) => nominal(t).amplitudes[0]! / (depthOf(t.values) * numberOf(t.values, 'carrier')),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'distortion',
    title: 'Distortion',
    unit: '%',
    step: AUDIO,
    what: 'Harmonics of the audio output, of its fundamental.',
    of: (t) => nominal(t).thdPercent,
    readings: ['leakage', 'gridCurrent', 'emission'],
  },
  {
    id: 'overloadCarrier',
    title: 'Overload',
    unit: 'V',
    alternating: true,
    step: OVERLOAD,
    what: 'Peak carrier at which, modulated 30 % or less, distortion reaches 10 % or the audio stops rising.',
    of: (t) => overload(t),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
];
