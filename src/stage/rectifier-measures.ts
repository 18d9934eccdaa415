import { findRoot } from '../numerics/root.ts';
import type { MeasureSpec, MeasureValue, StageValues, Step, Traces, View } from '../types.ts';
import { noValue } from './signals.ts';
import { numberOf } from './values.ts';

/** What is simulated of a rectifier, and what is measured of it. */

const LINE_CYCLE = 'cycle';
/** Moments of a cycle: 7.5 degrees apart, where the plates conduct for some 60. */
export const CYCLE_POINTS = 48;

export const isFullWave = (v: StageValues): boolean => v['plates']?.value !== 'half wave';

export const RECTIFIER_STEPS: readonly Step[] = [
  {
    id: LINE_CYCLE,
    view: (v): View => ({
      as: 'cycle',
      points: CYCLE_POINTS,
      frequency_Hz: numberOf(v, 'lineFrequency'),
    }),
    settings: () => [{ drive: 1 }],
  },
];

const mean = (samples: ArrayLike<number>): number =>
  Array.from(samples).reduce((sum, x) => sum + x, 0) / samples.length;

const rms = (samples: ArrayLike<number>): number => {
  const middle = mean(samples);
  return Math.sqrt(mean(Array.from(samples, (x) => (x - middle) ** 2)));
};

/** Volts of a node over the cycle, from the winding's positive peak on. */
const over = (t: Traces, node: string): Float64Array =>
  t.volts(LINE_CYCLE, t.settings(LINE_CYCLE).length - 1, node);

/** Current into the first plate over the cycle, A. */
function plateCurrents(t: Traces): number[] {
  const resistance = t.knob('sourceResistance');
  const [winding, plate] = [over(t, 'a1'), over(t, 'p1')];
  return Array.from(winding, (volts, i) => (volts - plate[i]!) / resistance);
}

/** The largest of periodic samples: the top of the parabola through it and its neighbours. */
export function periodicPeak(samples: readonly number[]): number {
  const n = samples.length;
  const top = samples.indexOf(Math.max(...samples));
  const [before, here, after] = [
    samples[(top - 1 + n) % n]!,
    samples[top]!,
    samples[(top + 1) % n]!,
  ];
  const bend = before - 2 * here + after;
  return bend < 0 ? here - (before - after) ** 2 / (8 * bend) : here;
}

/** The current that the winding's peak drives through its resistance and this tube into an empty capacitor, A. */
function hotSwitching(t: Traces): MeasureValue {
  const peak = t.knob('windingPeak');
  const resistance = t.knob('sourceResistance');
  const root = findRoot(
    (plate_V) =>
      (t.models[0]!.currents({ plate: plate_V, cathode: 0 }, t.states[0]!).plate ?? 0) -
      (peak - plate_V) / resistance,
    0,
    peak,
    1e-6,
  );
  return root.status === 'found'
    ? (peak - root.x) / resistance
    : noValue('the tube takes no current from this winding');
}

const rated = (t: Traces, of: 'platePeak_A' | 'inverse_V'): MeasureValue =>
  t.models[0]!.ratings?.[of] ?? noValue('the rating of this type is not known');

export const RECTIFIER_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'supplyVoltage',
    title: 'B+',
    unit: 'V',
    step: LINE_CYCLE,
    what: 'Mean at the load, after the filter.',
    of: (t) => mean(over(t, 'o')),
    readings: ['emission'],
  },
  {
    id: 'filterInput',
    title: 'Voltage at the filter’s input',
    unit: 'V',
    step: LINE_CYCLE,
    what: 'Mean at the cathode, as published output curves have it.',
    of: (t) => mean(over(t, 'k')),
    readings: ['emission'],
  },
  {
    id: 'outputCurrent',
    title: 'Output current',
    unit: 'A',
    step: LINE_CYCLE,
    what: 'Mean into the load.',
    of: (t) => mean(over(t, 'o')) / t.knob('loadResistance'),
    readings: ['emission'],
  },
  {
    id: 'ripple',
    title: 'Ripple of B+',
    unit: 'V',
    alternating: true,
    step: LINE_CYCLE,
    what: 'At the load, rms.',
    of: (t) => rms(over(t, 'o')),
    readings: ['leakage'],
  },
  {
    id: 'peakPlateCurrent',
    title: 'Peak plate current',
    unit: 'A',
    step: LINE_CYCLE,
    what: 'Largest current into one plate over the cycle.',
    of: (t) => periodicPeak(plateCurrents(t)),
    readings: ['emission'],
  },
  {
    id: 'peakPlateCurrentRating',
    title: 'Rated peak plate current',
    unit: 'A',
    step: LINE_CYCLE,
    what: 'The type’s published maximum.',
    of: (t) => rated(t, 'platePeak_A'),
    readings: [],
  },
  {
    id: 'saturationUsed',
    title: 'Peak over saturation current',
    unit: '%',
    step: LINE_CYCLE,
    what: 'How much of what the cathode can give the peaks ask for; at 100 % they are cut to 70 %.',
    of: (t) => {
      // what the plate's voltage would draw, not what saturation leaves of it
      const plate = over(t, 'p1');
      const cathode = over(t, 'k');
      const open = { ...t.states[0]!, saturation_A: 1e6 };
      const wanted = Array.from(
        plate,
        (volts, i) =>
          t.models[0]!.currents({ plate: volts, cathode: cathode[i]! }, open).plate ?? 0,
      );
      return (100 * periodicPeak(wanted)) / t.states[0]!.saturation_A;
    },
    readings: ['starvedHeater'],
  },
  {
    id: 'plateDissipation',
    title: 'Plate dissipation',
    unit: 'W',
    step: LINE_CYCLE,
    what: 'Mean of current times drop, one plate.',
    of: (t) => {
      const [plate, cathode] = [over(t, 'p1'), over(t, 'k')];
      return mean(plateCurrents(t).map((amps, i) => amps * (plate[i]! - cathode[i]!)));
    },
    readings: ['emission'],
  },
  {
    id: 'inverseVoltage',
    title: 'Inverse voltage',
    unit: 'V',
    step: LINE_CYCLE,
    what: 'Largest cathode-to-plate voltage over the cycle.',
    of: (t) => {
      const [plate, cathode] = [over(t, 'p1'), over(t, 'k')];
      return Math.max(...plate.map((volts, i) => cathode[i]! - volts));
    },
    readings: [],
  },
  {
    id: 'inverseVoltageRating',
    title: 'Rated inverse voltage',
    unit: 'V',
    step: LINE_CYCLE,
    what: 'The type’s published maximum.',
    of: (t) => rated(t, 'inverse_V'),
    readings: [],
  },
  {
    id: 'hotSwitchingCurrent',
    title: 'Hot-switching current',
    unit: 'A',
    step: LINE_CYCLE,
    what: 'Largest that can flow where a hot tube is switched onto an empty capacitor: the winding’s peak over its resistance and the tube’s.',
    of: (t) =>
      numberOf(t.values, 'reservoir') > 0
        ? hotSwitching(t)
        : noValue('the choke holds the current back'),
    readings: [],
  },
];
