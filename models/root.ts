import { findRoot } from '../src/numerics/root.ts';

/** The root of a rising function between two arguments, or the end that is nearer to one. */
export function rootOfRising(f: (x: number) => number, low: number, high: number): number {
  const root = findRoot(f, low, high, 1e-14 * (Math.abs(low) + Math.abs(high)));
  if (root.status === 'found' || root.status === 'jump') return root.x;
  if (root.status === 'noBracket') return root.atLow > 0 ? low : high;
  return NaN;
}
