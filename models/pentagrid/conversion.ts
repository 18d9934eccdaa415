import type { PinVolts, TubeModel, TubeState } from '../../src/types.ts';
import { newTubeState } from '../cathode.ts';
import { rootOfRising } from '../root.ts';

export interface ConversionVolts {
  readonly plate_V: number;
  readonly screen_V: number;
  readonly signalGrid_V: number;
  /** Resistor from the oscillator grid to the cathode, ohm, and its mean current, A: what data sheets state of the oscillation. */
  readonly oscillatorGrid_ohm: number;
  readonly oscillatorGrid_A: number;
}

export interface Conversion {
  /** Means over one cycle of the oscillator, A. */
  readonly plate_A: number;
  readonly screen_A: number;
  /** Conversion transconductance: half the fundamental of the signal grid's transconductance, S. */
  readonly conversion_S: number;
  /** Plate resistance of the mean current, ohm. */
  readonly plate_ohm: number;
  /** Peak oscillator voltage that drives the stated grid current, V. */
  readonly oscillator_V: number;
}

/** Of one cycle; the cosine is even, so half of them tell the whole. */
const PHASES = 32;
const COSINES = Array.from({ length: PHASES / 2 }, (_, k) =>
  Math.cos(((k + 0.5) * 2 * Math.PI) / PHASES),
);

/** Peak oscillator voltage that drives the stated grid current, V; NaN where none up to 200 V does. */
export function oscillatorPeak_V(
  model: TubeModel,
  at: ConversionVolts,
  state: TubeState = newTubeState(model),
): number {
  const bias_V = -at.oscillatorGrid_ohm * at.oscillatorGrid_A;
  const excess_A = (peak_V: number) =>
    mean((cos) => {
      const pins = pinsAt(at, bias_V + peak_V * cos);
      return model.currents(pins, state).oscillatorGrid ?? 0;
    }) - at.oscillatorGrid_A;
  const most_V = 200 - bias_V;
  return excess_A(most_V) < 0 ? NaN : rootOfRising(excess_A, 0, most_V);
}

/**
 * Conversion with the oscillator's voltage taken as a cosine on its own grid bias and the tube as quasi-static: the
 * transconductance of the signal grid is averaged over the oscillator's phase, gc = ⟨gm3(θ) cos θ⟩. So a separately
 * driven oscillator grid at frequencies where transit time does not count; a tap at the cathode is not in it.
 *
 * @param at volts to the cathode
 * @param state what wear did; a bogey tube by default
 * @param oscillator_V the peak where it is known; otherwise what drives the stated grid current
 * @returns NaN figures where no amplitude drives the stated grid current
 */
export function conversion(
  model: TubeModel,
  at: ConversionVolts,
  state: TubeState = newTubeState(model),
  oscillator_V: number = oscillatorPeak_V(model, at, state),
): Conversion {
  const bias_V = -at.oscillatorGrid_ohm * at.oscillatorGrid_A;
  const currents = (cos: number, more: Partial<ConversionVolts> = {}) =>
    model.currents(pinsAt({ ...at, ...more }, bias_V + oscillator_V * cos), state);
  const plate_A = (cos: number, more: Partial<ConversionVolts>) => currents(cos, more).plate ?? 0;
  const dg = 1e-3;
  const dp = 0.02 + 1e-3 * Math.abs(at.plate_V);
  const [up, down] = [
    { signalGrid_V: at.signalGrid_V + dg },
    { signalGrid_V: at.signalGrid_V - dg },
  ];
  const [high, low] = [{ plate_V: at.plate_V + dp }, { plate_V: at.plate_V - dp }];
  return {
    plate_A: mean((cos) => currents(cos).plate ?? 0),
    screen_A: mean((cos) => currents(cos).screen ?? 0),
    conversion_S: mean((cos) => (cos * (plate_A(cos, up) - plate_A(cos, down))) / (2 * dg)),
    plate_ohm: (2 * dp) / mean((cos) => plate_A(cos, high) - plate_A(cos, low)),
    oscillator_V,
  };
}

/** Conversion transconductance alone, S: a third of the work. */
export function conversionTransconductance_S(
  model: TubeModel,
  at: ConversionVolts,
  oscillator_V: number,
  state: TubeState = newTubeState(model),
): number {
  const bias_V = -at.oscillatorGrid_ohm * at.oscillatorGrid_A;
  const dg = 1e-3;
  const plate_A = (cos: number, signalGrid_V: number) =>
    model.currents(pinsAt({ ...at, signalGrid_V }, bias_V + oscillator_V * cos), state).plate ?? 0;
  return mean(
    (cos) =>
      (cos * (plate_A(cos, at.signalGrid_V + dg) - plate_A(cos, at.signalGrid_V - dg))) / (2 * dg),
  );
}

function pinsAt(at: ConversionVolts, oscillatorGrid_V: number): PinVolts {
  return {
    plate: at.plate_V,
    screen: at.screen_V,
    oscillatorGrid: oscillatorGrid_V,
    signalGrid: at.signalGrid_V,
    cathode: 0,
  };
}

function mean(of: (cos: number) => number): number {
  return COSINES.reduce((sum, cos) => sum + of(cos), 0) / COSINES.length;
}
