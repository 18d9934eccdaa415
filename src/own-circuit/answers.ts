import { cycleHarmonics, meanOf, type CycleHarmonics } from '../numerics/harmonics.ts';
import { lastCycles } from '../measure/settled.ts';

/** Vectors of one answer of the engine, lower case: `v(n_out)`, `i(va_r1)`. */
export type Vectors = Readonly<Record<string, Float64Array>>;

/** What one row's analyses gave, by analysis: "rest", "sweep", "ac 1000", "transient". */
export type Answers = Readonly<Record<string, Vectors>>;

export const acId = (frequency_Hz: number): string => `ac ${frequency_Hz}`;

/** A complex number. Everything but a small signal has no imaginary part. */
export interface Complex {
  readonly re: number;
  readonly im: number;
}

/** A quantity of the circuit: the voltage of a node, the current into an element. */
export type Quantity =
  | { readonly of: 'node'; readonly node: string }
  | { readonly of: 'current'; readonly element: string; readonly electrode?: string };

/** All names of the user's carry a prefix: none of them can be one of ours, or a word of the engine's. */
export const nodeName = (node: string): string => (node === '0' ? '0' : `n_${node}`);
export const meterName = (element: string, electrode?: string): string =>
  `VA_${element}${electrode === undefined ? '' : `_${electrode}`}`;

export function vectorOf(quantity: Quantity): string {
  return quantity.of === 'node'
    ? `v(${nodeName(quantity.node)})`
    : `i(${meterName(quantity.element, quantity.electrode).toLowerCase()})`;
}

/** One value of a quantity: chassis is at 0. */
export function valueAt(
  vectors: Vectors,
  quantity: Quantity,
  index: number,
  complex: boolean,
): Complex {
  if (quantity.of === 'node' && quantity.node === '0') return { re: 0, im: 0 };
  const vector = vectors[vectorOf(quantity)];
  if (vector === undefined) throw new Error(`no vector ${vectorOf(quantity)}`);
  return complex
    ? { re: vector[2 * index]!, im: vector[2 * index + 1]! }
    : { re: vector[index]!, im: 0 };
}

/** The last two cycles may differ by this share of the swing or mean. */
const CYCLE_TOLERANCE = 5e-3;
/** What a mean still has to go, carried on as it went in the last cycles, may be this share. */
const DRIFT_TOLERANCE = 1e-2;
/** Smaller steps of the mean are the engine's rounding. */
const NOISE = 2e-4;
/** Cycles that are looked at; the vectors must hold one more. */
export const LAST_CYCLES = 3;

export interface LastCycle extends CycleHarmonics {
  readonly swing: number;
  /** Why it is not yet periodic; undefined where it is. */
  readonly unsettled: string | undefined;
}

/** Harmonics of the last whole cycle of a transient, and whether the cycles before lead there. */
export function lastCycle(
  time_s: Float64Array,
  values: Float64Array,
  frequency_Hz: number,
): LastCycle {
  const cycles = lastCycles(time_s, values, frequency_Hz, LAST_CYCLES);
  const [before, last] = cycles.slice(-2) as [Float64Array, Float64Array];
  const swing = Math.max(...last) - Math.min(...last);
  const harmonics = cycleHarmonics(last, 20);
  const size = Math.max(swing, 0.01 * Math.abs(harmonics.mean), 1e-9);
  const change = last.reduce((most, value, i) => Math.max(most, Math.abs(value - before[i]!)), 0);
  const toGo = remaining(cycles.map(meanOf), NOISE * size);
  const unsettled =
    change > CYCLE_TOLERANCE * size
      ? `its last two cycles differ by ${(100 * (change / size)).toPrecision(2)} %`
      : toGo > DRIFT_TOLERANCE * size
        ? 'its mean still drifts'
        : undefined;
  return { ...harmonics, swing, unsettled };
}

/** How far three means in geometric progression still have to go; a step below `noise` is none. */
function remaining(means: readonly number[], noise: number): number {
  const [first, second, third] = means as [number, number, number];
  const [earlier, later] = [Math.abs(second - first), Math.abs(third - second)];
  if (later <= noise) return 0;
  const ratio = later / earlier;
  return ratio < 1 ? (later * ratio) / (1 - ratio) : Infinity;
}
