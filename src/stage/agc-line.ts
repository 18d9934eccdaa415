import { sampledCurve, type SampledCurve } from '../numerics/interpolate.ts';
import { findRoot } from '../numerics/root.ts';
import type { LineCurve } from '../types.ts';
import { THERMAL_V } from './agc-detector.ts';

/** Where an AGC line settles: Kirchhoff's law on the curves of the tubes that hang on it. Arithmetic, no simulation. */

/** A tube on the line; volts of the line to chassis. Below the curve's lowest voltage everything stays as it is there. */
export interface LineTube {
  readonly low_V: number;
  readonly high_V: number;
  /** Current onto the line by gas, grid emission and leaks, A. */
  reverse_A(line_V: number): number;
  /** Electrons that the grid collects, A: they pull the line down. */
  electrons_A(line_V: number): number;
  /** Gain of the tube's stage, loaded by its grid. */
  gain(line_V: number): number;
}

const LEAST = 1e-18;

export function lineTube(curve: LineCurve): LineTube {
  const x = curve.line_V;
  const [low_V, high_V] = [x[0]!, x.at(-1)!];
  const logs = (values: readonly number[]): SampledCurve =>
    sampledCurve(
      x,
      values.map((value) => Math.log(Math.max(value, LEAST))),
    );
  const reverse = sampledCurve(x, curve.reverse_A);
  const electrons = logs(curve.electrons_A);
  const gain = logs(curve.gain);
  const load = logs(curve.load);
  const within = (of: SampledCurve, line_V: number): number =>
    of.at(Math.min(high_V, Math.max(low_V, line_V)))!;
  return {
    low_V,
    high_V,
    reverse_A: (line_V) => within(reverse, line_V),
    electrons_A: (line_V) => Math.exp(within(electrons, line_V)),
    gain: (line_V) => Math.exp(within(gain, line_V)) / (1 + Math.exp(within(load, line_V))),
  };
}

export interface Line {
  /** From the source to the line, ohm. */
  readonly resistance_ohm: number;
  /** From the line to chassis, ohm. */
  readonly leakage_ohm: number;
  /** A diode takes 1 µA from the line at this voltage; null: there is none. */
  readonly clamp_V: number | null;
  /** In the order in which the signal passes them. */
  readonly tubes: readonly LineTube[];
}

const CLAMP_A = 1e-6;
/** Ends of the search where the line is looked at before a root is told apart from another. */
const STRETCHES = 10;

/**
 * Volts of the line with a source behind its resistance, where the source may depend on the line (a closed loop).
 * Where there is more than one such voltage, the highest: it is the one that a set comes to from no signal.
 * Undefined where the line would lie above every curve.
 */
export function settledLine(line: Line, source_V: (line_V: number) => number): number | undefined {
  const high = Math.min(...line.tubes.map((tube) => tube.high_V));
  const low = Math.min(...line.tubes.map((tube) => tube.low_V));
  const surplus = (line_V: number): number =>
    taken_A(line, line_V) - source_V(line_V) / line.resistance_ohm;
  if (!(surplus(high) > 0)) return undefined;
  let above = high;
  for (let k = 1; k <= STRETCHES; k++) {
    // finer near the top, where grid current begins
    const below = high + (low - high) * (k / STRETCHES) ** 3;
    if (surplus(below) <= 0) {
      const root = findRoot(surplus, below, above, 1e-7);
      return root.status === 'found' || root.status === 'jump' ? root.x : undefined;
    }
    above = below;
  }
  return undefined;
}

/** What everything but the source's own volts takes off the line, A. */
const taken_A = (line: Line, line_V: number): number =>
  line_V / line.resistance_ohm +
  line_V / line.leakage_ohm +
  (line.clamp_V === null ? 0 : CLAMP_A * Math.exp((line_V - line.clamp_V) / THERMAL_V)) -
  line.tubes.reduce((sum, tube) => sum + ontoLine_A(tube, line_V), 0);

const SLOPE_STEP_V = 1e-3;

/** Conductance of the line to small changes, its source's resistance and its tubes included, S. */
export const lineSlope_S = (line: Line, line_V: number): number =>
  (taken_A(line, line_V + SLOPE_STEP_V) - taken_A(line, line_V - SLOPE_STEP_V)) /
  (2 * SLOPE_STEP_V);

/** What a tube puts onto the line at a voltage, A: above 0 it lifts the line. */
export const ontoLine_A = (tube: LineTube, line_V: number): number =>
  tube.reverse_A(line_V) - tube.electrons_A(line_V);
