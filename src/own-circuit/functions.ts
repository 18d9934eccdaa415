import { firstCrossing } from '../numerics/crossings.ts';
import { interpolateLinear } from '../numerics/interpolate.ts';
import { lastCycle, type Complex, type LastCycle } from './answers.ts';

/** A measure that has no number, with the reason; caught where the measure is told. */
export class NoNumber extends Error {}

/** Functions of numbers. */
export const NUMBER_FUNCTIONS: Readonly<Record<string, (...x: number[]) => number>> = {
  abs: Math.abs,
  min: Math.min,
  max: Math.max,
  sqrt: Math.sqrt,
  log10: Math.log10,
  exp: Math.exp,
  dB: (x) => 20 * Math.log10(Math.abs(x)),
};

/** An expression along the sweep: the swept values rising, and the expression at each. */
export interface Curve {
  readonly x: readonly number[];
  readonly y: readonly number[];
}

/** Functions of an expression along the `.dc` sweep and a number. `max` and `min` with one argument belong here too. */
export const SWEEP_FUNCTIONS: Readonly<
  Record<string, { readonly numbers: number; of(curve: Curve, ...numbers: number[]): number }>
> = {
  max: { numbers: 0, of: ({ y }) => Math.max(...y) },
  min: { numbers: 0, of: ({ y }) => Math.min(...y) },
  at: { numbers: 1, of: ({ x, y }, place) => valueOn(x, y, place!) },
  slope: { numbers: 1, of: slopeAt },
  where: {
    numbers: 1,
    of({ x, y }, level) {
      const place = firstCrossing(x, y, level!);
      if (place === undefined) throw new NoNumber(`it never is ${level} within the sweep`);
      return place;
    },
  },
};

function valueOn(x: readonly number[], y: readonly number[], place: number): number {
  const value = interpolateLinear(x, y, place);
  if (value === undefined)
    throw new NoNumber(`${place} lies outside the sweep, ${x[0]} to ${x.at(-1)}`);
  return value;
}

/** Through the neighbours of the nearest point within the sweep. */
function slopeAt({ x, y }: Curve, place: number): number {
  valueOn(x, y, place);
  const step = (x.at(-1)! - x[0]!) / (x.length - 1);
  const low = Math.max(x[0]!, place - step);
  const high = Math.min(x.at(-1)!, place + step);
  return (valueOn(x, y, high) - valueOn(x, y, low)) / (high - low);
}

/** Functions of an expression under a small signal at a frequency. */
export const SIGNAL_FUNCTIONS: Readonly<Record<string, (x: Complex) => number>> = {
  gain: ({ re, im }) => Math.hypot(re, im),
  phase: ({ re, im }) => (Math.atan2(im, re) * 180) / Math.PI,
};

/** Functions of an expression over the last cycle of the transient. */
export const CYCLE_FUNCTIONS: Readonly<Record<string, (cycle: LastCycle) => number>> = {
  mean: ({ mean }) => mean,
  swing: ({ swing }) => swing,
  fundamental: ({ amplitudes }) => amplitudes[0]!,
  thd: ({ thdPercent }) => thdPercent,
};

export function settledCycle(
  time_s: Float64Array,
  values: Float64Array,
  frequency_Hz: number,
): LastCycle {
  const cycle = lastCycle(time_s, values, frequency_Hz);
  if (cycle.unsettled !== undefined)
    throw new NoNumber(`the transient has not settled: ${cycle.unsettled}`);
  return cycle;
}

/** Words that the formula language reads as something else; a measure of such a name could not be named in a limit. */
export const RESERVED: ReadonlySet<string> = new Set([
  'newTube',
  'in',
  'to',
  'mod',
  'and',
  'or',
  'not',
  'xor',
  'end',
  'true',
  'false',
  'null',
  'undefined',
  'NaN',
  'Infinity',
]);
