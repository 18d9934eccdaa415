/** Where a sampled curve first meets a level. */
import { sampledCurve, solveSegment } from './interpolate.ts';
import type { Method } from './interpolate.ts';

/**
 * The first x, coming from the low or the high end, at which the curve through the points meets `level`.
 * Undefined when it never does, and when a value that is not finite lies on the way: what happens there is not known.
 * @throws RangeError unless x rises strictly and has as many entries as y.
 */
export function firstCrossing(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  level: number,
  options: { readonly from?: 'low' | 'high'; readonly method?: Method } = {},
): number | undefined {
  const { from = 'low', method = 'linear' } = options;
  if (x.length !== y.length)
    throw new RangeError(`${x.length} x and ${y.length} y: as many of each expected.`);
  const steps = Array.from({ length: x.length }, (_, k) => (from === 'low' ? k : x.length - 1 - k));
  // Only the known stretch before the first gap takes part.
  const gap = steps.findIndex((k) => !Number.isFinite(y[k]));
  const known = gap < 0 ? steps : steps.slice(0, gap);
  const sign = (k: number): number => Math.sign((y[k] as number) - level);
  const meets = known.findIndex(
    (k, place) => sign(k) === 0 || (place > 0 && sign(k) !== sign(known[place - 1] as number)),
  );
  if (meets < 0) return undefined;
  const end = known[meets] as number;
  if (sign(end) === 0) return x[end];
  const rising = known.toSorted((a, b) => a - b);
  const curve = sampledCurve(
    rising.map((k) => x[k] as number),
    rising.map((k) => y[k] as number),
    method,
  );
  return solveSegment(curve, rising.indexOf(Math.min(end, known[meets - 1] as number)), level);
}
