import { cycleHarmonics, meanOf, type CycleHarmonics } from '../numerics/harmonics.ts';
import type { MeasureSpec, Setting, StageValues, Step, Traces, View } from '../types.ts';
import { gridShift, meanVolts } from './signals.ts';
import { numberOf } from './values.ts';

/** What is simulated of a diode detector with its first audio triode, and what is measured of them. */

const REST = 'rest';
const CARRIER = 'carrier';
const AUDIO = 'audio';

/** kT/q of a hot cathode, V: the width of the diode's exponential. */
const THERMAL_V = 0.09;
/**
 * K midpoints over half a cycle leave I_2K(z)/I_0(z), about exp(-2K^2/z), of an exponential's mean, z = amplitude / (kT/q).
 * A diode in its 3/2-power range is smoother: this many tell the audio to three parts in a thousand, tested to 10 V.
 */
const phasesFor = (amplitude_V: number): number =>
  Math.min(24, Math.max(4, Math.ceil(Math.sqrt((amplitude_V / THERMAL_V) * 1.2))));
/** Moments of the audio cycle: odd; harmonics up to half of it. */
const momentsFor = (depth: number): number => (depth > 0.5 ? 9 : 7);

const depthOf = (v: StageValues): number => numberOf(v, 'modulation') / 100;

type Envelope = Extract<View, { as: 'envelope' }>;

export const audioView = (v: StageValues): Envelope => ({
  as: 'envelope',
  count: phasesFor(numberOf(v, 'carrier') * (1 + depthOf(v))),
  moments: momentsFor(depthOf(v)),
  tone: { frequency_Hz: numberOf(v, 'audioFrequency'), depth: depthOf(v) },
});

/** Straight at the carrier: the engine finds it from rest, and not from a smaller one. */
const atCarrier = (v: StageValues): Setting[] => [{ drive: numberOf(v, 'carrier') }];

export const DIODE_DETECTOR_AGC_STEPS: readonly Step[] = [
  { id: REST, view: () => ({ as: 'quiescent' }), settings: () => [{ drive: 0 }] },
  {
    id: CARRIER,
    view: (v) => ({ as: 'phases', count: phasesFor(numberOf(v, 'carrier')) }),
    settings: atCarrier,
  },
  {
    id: AUDIO,
    view: audioView,
    settings: atCarrier,
  },
];

/** Harmonics of a node over the audio cycle, V peak. */
function audio(t: Traces, node: string): CycleHarmonics {
  const { count, moments } = audioView(t.values);
  const samples = t.volts(AUDIO, 0, node);
  return cycleHarmonics(
    Array.from({ length: moments }, (_, m) => meanOf(samples.subarray(m * count, (m + 1) * count))),
  );
}

const carrierVolts = (t: Traces, node: string): number => meanVolts(t, CARRIER, 0, node);

export const DIODE_DETECTOR_AGC_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'gridVoltage',
    title: 'Grid voltage',
    unit: 'V',
    step: REST,
    what: 'Grid to cathode without a signal: the contact bias.',
    of: (t) => meanVolts(t, REST, 0, 'g'),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: REST,
    what: 'How far the grid stands from where a new tube puts it.',
    of: (_, own, newTube) => gridShift(own, newTube),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'plateVoltage',
    title: 'Plate voltage',
    unit: 'V',
    step: REST,
    what: 'Plate to chassis, no signal.',
    of: (t) => meanVolts(t, REST, 0, 'p'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Plate current',
    unit: 'A',
    step: REST,
    what: 'Through the plate load, no signal.',
    of: (t) => (meanVolts(t, REST, 0, 'b') - meanVolts(t, REST, 0, 'p')) / t.knob('plateLoad'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'agcAtRest',
    title: 'AGC line without a signal',
    unit: 'V',
    step: REST,
    what: 'To chassis; the diode’s own electrons hold it a few tenths of a volt below.',
    of: (t) => meanVolts(t, REST, 0, 'l'),
    readings: [],
  },
  {
    id: 'agcVoltage',
    title: 'AGC line with the carrier',
    unit: 'V',
    step: CARRIER,
    what: 'To chassis, the carrier as it would be without the detector as given.',
    of: (t) => carrierVolts(t, 'l'),
    readings: [],
  },
  {
    id: 'agcDelivered',
    title: 'AGC volts over the carrier',
    unit: '%',
    step: CARRIER,
    what: 'Negative volts of the line, of the carrier’s peak as given.',
    of: (t) => (-100 * carrierVolts(t, 'l')) / numberOf(t.values, 'carrier'),
    readings: [],
  },
  {
    id: 'detectedAudio',
    title: 'Audio at the volume control',
    unit: 'V',
    alternating: true,
    step: AUDIO,
    what: 'Peak, across the whole track.',
    of: (t) => audio(t, 'v').amplitudes[0]!,
    readings: [],
  },
  {
    id: 'audioOutput',
    title: 'Audio output',
    unit: 'V',
    alternating: true,
    step: AUDIO,
    what: 'Peak at the next grid resistor, at the volume setting given.',
    of: (t) => audio(t, 'o').amplitudes[0]!,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'gain',
    title: 'Gain of the triode',
    unit: '×',
    step: AUDIO,
    what: 'Audio output over audio at the slider of the volume control.',
    of: (t) => audio(t, 'o').amplitudes[0]! / audio(t, 'w').amplitudes[0]!,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'distortion',
    title: 'Distortion',
    unit: '%',
    step: AUDIO,
    what: 'Harmonics of the audio output, of its fundamental.',
    of: (t) => audio(t, 'o').thdPercent,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
];
