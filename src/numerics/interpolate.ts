/** Curves through sampled points, their x rising strictly. Outside the samples there is no answer, not an extrapolation. */
import { findRoot } from './root.ts';

export type Method = 'linear' | 'monotoneCubic';

export interface SampledCurve {
  readonly x: readonly number[];
  readonly y: readonly number[];
  /** Value at a place; undefined outside the samples. */
  at(place: number): number | undefined;
}

/**
 * A curve through the points. `monotoneCubic` is smooth in the first derivative and rises or falls only where the points do.
 * Source: F. Fritsch, R. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980) 238.
 * @throws RangeError unless there are at least two points, as many x as y, x strictly rising, all finite.
 */
export function sampledCurve(
  xs: ArrayLike<number>,
  ys: ArrayLike<number>,
  method: Method = 'monotoneCubic',
): SampledCurve {
  const x = Array.from(xs);
  const y = Array.from(ys);
  checkPoints(x, y);
  const slopes = method === 'linear' ? undefined : monotoneSlopes(x, y);
  return {
    x,
    y,
    at: (place) => {
      const left = segmentOf(x, place);
      return left === undefined ? undefined : within(x, y, slopes, left, place);
    },
  };
}

/** Straight lines between the points; undefined outside them. */
export function interpolateLinear(
  xs: ArrayLike<number>,
  ys: ArrayLike<number>,
  place: number,
): number | undefined {
  return sampledCurve(xs, ys, 'linear').at(place);
}

/**
 * Where a strictly rising or falling curve has a value; undefined beyond its ends.
 * @throws RangeError where y turns or stands still: then the place is not unique.
 */
export function inverseAt(curve: SampledCurve, value: number): number | undefined {
  const { x, y } = curve;
  const rises = (y[1] as number) > (y[0] as number);
  const turn = y.findIndex(
    (here, index) =>
      index > 0 && !(rises ? here > (y[index - 1] as number) : here < (y[index - 1] as number)),
  );
  if (turn > 0)
    throw new RangeError(`The curve turns or stands still at x = ${x[turn - 1]} … ${x[turn]}.`);
  const place = y.findIndex((here) => (rises ? here >= value : here <= value));
  if (place < 0) return undefined;
  if (y[place] === value) return x[place];
  return place === 0 ? undefined : solveSegment(curve, place - 1, value);
}

/** Where a curve has a value between point `left` and the next, whose y lie on both sides of it. */
export function solveSegment(curve: SampledCurve, left: number, value: number): number | undefined {
  const root = findRoot(
    (place) => (curve.at(place) as number) - value,
    curve.x[left] as number,
    curve.x[left + 1] as number,
  );
  return root.status === 'found' ? root.x : undefined;
}

function checkPoints(x: readonly number[], y: readonly number[]): void {
  if (x.length < 2 || x.length !== y.length) {
    throw new RangeError(
      `${x.length} x and ${y.length} y: as many of each expected, at least two.`,
    );
  }
  x.forEach((place, index) => {
    if (!Number.isFinite(place) || !Number.isFinite(y[index]))
      throw new RangeError(`Point ${index} is not finite.`);
    if (index > 0 && place <= (x[index - 1] as number))
      throw new RangeError(`x does not rise at point ${index}.`);
  });
}

function segmentOf(x: readonly number[], place: number): number | undefined {
  if (!(place >= (x[0] as number) && place <= (x[x.length - 1] as number))) return undefined;
  let low = 0;
  let high = x.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((x[middle] as number) <= place) low = middle;
    else high = middle;
  }
  return low;
}

function within(
  x: readonly number[],
  y: readonly number[],
  slopes: readonly number[] | undefined,
  left: number,
  place: number,
): number {
  const [x0, x1] = [x[left] as number, x[left + 1] as number];
  const [y0, y1] = [y[left] as number, y[left + 1] as number];
  if (place === x1) return y1;
  const width = x1 - x0;
  const t = (place - x0) / width;
  if (slopes === undefined) return y0 + t * (y1 - y0);
  const bend0 = width * (slopes[left] as number);
  const bend1 = width * (slopes[left + 1] as number);
  // Hermite form about y0, so that a flat segment stays exactly flat.
  return y0 + t * t * (3 - 2 * t) * (y1 - y0) + t * (1 - t) ** 2 * bend0 - t * t * (1 - t) * bend1;
}

function monotoneSlopes(x: readonly number[], y: readonly number[]): number[] {
  const secants = x
    .slice(1)
    .map((right, k) => ((y[k + 1] as number) - (y[k] as number)) / (right - (x[k] as number)));
  const slopes = x.map((_, k) => {
    const before = secants[k - 1] ?? (secants[k] as number);
    const after = secants[k] ?? before;
    return before * after <= 0 ? 0 : (before + after) / 2;
  });
  secants.forEach((secant, k) => {
    if (secant === 0) {
      slopes[k] = 0;
      slopes[k + 1] = 0;
      return;
    }
    const size = Math.hypot((slopes[k] as number) / secant, (slopes[k + 1] as number) / secant);
    if (size <= 3) return;
    slopes[k] = ((slopes[k] as number) * 3) / size;
    slopes[k + 1] = ((slopes[k + 1] as number) * 3) / size;
  });
  return slopes;
}
