import { assess, type Case } from '../assess.ts';
import { zeroLines, type Point } from '../numerics/contour.ts';
import type { Judged, RunOptions, Simulator } from '../types.ts';
import { squeeze } from '../verdict/margins.ts';
import type { Margins } from './map-guess.ts';

/**
 * How far the 90 % intervals of a map's margins reach: known where cases were judged with draws, along the boundary and along where they
 * end, and taken from there for the rest, as the distance between an interval's end and its middle.
 */

/** A judged case on the map. */
export interface Reach {
  /** In shares of the map's sides. */
  readonly at: Point;
  /** Squeezed margin at the unsafe end of the interval less that at its middle, by limit; undefined without a number. */
  readonly low: readonly (number | undefined)[];
  readonly high: readonly (number | undefined)[];
}

/** Stands for a margin that has no number, squeezed: outside. */
const NONE = -1;

/** Least squeezed margin of a cell. */
export const leastOf = (margins: Margins): number =>
  Math.min(...margins.map((margin) => (margin === undefined ? NONE : squeeze(margin))));

/** Reach of each limit from the judged measures; a limit that failed or was not judged has none. */
export function reachOf(
  at: Point,
  limits: readonly { readonly spec: { readonly measure: string } }[],
  measures: readonly Judged[],
): Reach {
  const ends = limits.map(({ spec }) => {
    const found = measures.find(({ id }) => id === spec.measure);
    return found === undefined ? undefined : endsOf(found);
  });
  return { at, low: ends.map((one) => one?.[0]), high: ends.map((one) => one?.[1]) };
}

function endsOf({ limit, margin, low, high }: Judged): [number, number] | undefined {
  if (limit === null || margin === null || low === null || high === null) return undefined;
  const size = Math.max(Math.abs(limit.bound), 1e-12);
  const [unsafe, safe] =
    limit.sense === 'atLeast'
      ? [low - limit.bound, high - limit.bound]
      : [limit.bound - high, limit.bound - low];
  return [squeeze(unsafe / size) - squeeze(margin), squeeze(safe / size) - squeeze(margin)];
}

/** Least squeezed margins at the two ends of the intervals, over the map. */
export interface Band {
  readonly low: readonly (readonly number[])[];
  readonly high: readonly (readonly number[])[];
  /** Index of the limit that has the least one at the unsafe end. */
  readonly decides: readonly (readonly number[])[];
}

/**
 * A limit whose interval is known nowhere is not taken as kept at its unsafe end, nor as missed at the other beyond what its middle says.
 *
 * @param margins `margins[i][k]` on an even grid
 */
export function bandOf(margins: readonly (readonly Margins[])[], reaches: readonly Reach[]): Band {
  const ends = margins.map((column, i) =>
    column.map((cell, k) => {
      const at = [share(i, margins.length), share(k, column.length)] as const;
      const end = (side: 'low' | 'high'): number[] =>
        cell.map((margin, m) => {
          if (margin === undefined) return NONE;
          const reach = between(at, reaches, (one) => one[side][m]);
          if (reach === undefined) return side === 'low' ? NONE : squeeze(margin);
          return squeeze(margin) + reach;
        });
      const low = end('low');
      const least = Math.min(...low);
      return { low: least, high: Math.min(...end('high')), decides: low.indexOf(least) };
    }),
  );
  return {
    low: ends.map((column) => column.map(({ low }) => low)),
    high: ends.map((column) => column.map(({ high }) => high)),
    decides: ends.map((column) => column.map(({ decides }) => decides)),
  };
}

const share = (i: number, count: number): number => i / Math.max(1, count - 1);

/** Near ones count: weights of one over the squared distance. Source: D. Shepard, Proc. 23rd ACM National Conf. (1968) 517. */
function between(
  at: Point,
  reaches: readonly Reach[],
  of: (reach: Reach) => number | undefined,
): number | undefined {
  let [sum, weights] = [0, 0];
  for (const reach of reaches) {
    const value = of(reach);
    if (value === undefined) continue;
    const weight = 1 / (1e-6 + (reach.at[0] - at[0]) ** 2 + (reach.at[1] - at[1]) ** 2);
    sum += weight * value;
    weights += weight;
  }
  return weights === 0 ? undefined : sum / weights;
}

/** Points of a round that are judged with draws. */
const JUDGED = 8;
/** Along the boundary, and then along where the intervals seem to end: their width differs much from the one to the other. */
const ROUNDS = 2;
/** Fewer than a verdict's: the ends need not be finer than the map. */
export const MAP_DRAWS = 32;
/** One assessment alone leaves workers idle between its steps. */
const AT_ONCE = 2;

/** The band, and at how many points it was judged. Rejects when stopped. */
export async function bandAround(
  margins: readonly (readonly Margins[])[],
  x: readonly number[],
  y: readonly number[],
  simulator: Simulator,
  options: ReachOptions,
): Promise<{ readonly band: Band; readonly judged: number }> {
  const least = margins.map((column) => column.map(leastOf));
  const reaches: Reach[] = [];
  let band: Band = { low: least, high: least, decides: [] };
  for (let round = 0; round < ROUNDS; round++) {
    const ends = round === 0 ? [least] : [band.low, band.high];
    const lines = ends.flatMap((values) => zeroLines(x, y, values));
    // without a line it was the nearest cell, and would be again
    if (round > 0 && lines.length === 0) break;
    const points = whereToJudge(lines, x, y, least, options.toShares);
    const before = reaches.length;
    const found = await reachesAt(points, simulator, {
      ...options,
      onDone: (done) => options.onDone(before + done, ROUNDS * JUDGED),
    });
    reaches.push(...found);
    band = bandOf(margins, reaches);
  }
  return { band, judged: reaches.length };
}

/** Points of the lines; where there is none, the cell that is nearest to a limit. */
export function whereToJudge(
  boundary: readonly (readonly Point[])[],
  x: readonly number[],
  y: readonly number[],
  least: readonly (readonly number[])[],
  toShares: (point: Point) => Point,
): Point[] {
  const points = pointsAlong(boundary, toShares, JUDGED);
  if (points.length > 0) return points;
  const cells = least.flatMap((column, i) =>
    column.map((value, k) => ({ at: [x[i], y[k]] as Point, size: Math.abs(value) })),
  );
  return cells
    .sort((a, b) => a.size - b.size)
    .slice(0, 1)
    .map(({ at }) => at);
}

interface ReachOptions extends RunOptions {
  readonly limits: readonly { readonly spec: { readonly measure: string } }[];
  readonly toShares: (point: Point) => Point;
  readonly caseAt: (point: Point) => Case;
  readonly onDone: (judged: number, all: number) => void;
}

/** Judges the case at each point as `assess` does, with one seed. Rejects when stopped. */
export async function reachesAt(
  points: readonly Point[],
  simulator: Simulator,
  { limits, toShares, caseAt, onDone, signal, timeout_ms }: ReachOptions,
): Promise<Reach[]> {
  const reaches: Reach[] = [];
  const left = points.entries();
  let done = 0;
  const work = async (): Promise<void> => {
    for (const [i, point] of left) {
      const { measures } = await assess(caseAt(point), simulator, {
        ...(signal === undefined ? {} : { signal }),
        ...(timeout_ms === undefined ? {} : { timeout_ms }),
        draws: MAP_DRAWS,
        changes: false,
        explain: false,
        moreSeeds: false,
      });
      reaches[i] = reachOf(toShares(point), limits, measures);
      onDone(++done, points.length);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, work));
  return reaches;
}

/**
 * Points spread evenly along lines, by their length in shares of the map's sides: `toShares` gives those.
 * Without a line, none.
 */
export function pointsAlong(
  lines: readonly (readonly Point[])[],
  toShares: (point: Point) => Point,
  count: number,
): Point[] {
  const pieces = lines.flatMap((line) =>
    line.slice(1).map((to, i) => {
      const from = line[i] as Point;
      const [a, b] = [toShares(from), toShares(to)];
      return { from, to, length: Math.hypot(b[0] - a[0], b[1] - a[1]) };
    }),
  );
  const all = pieces.reduce((sum, { length }) => sum + length, 0);
  const points: Point[] = [];
  let passed = 0;
  for (const { from, to, length } of pieces) {
    for (; points.length < count;) {
      const wanted = ((points.length + 0.5) / count) * all;
      if (wanted > passed + length) break;
      const part = length === 0 ? 0 : (wanted - passed) / length;
      points.push([from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])]);
    }
    passed += length;
  }
  return points;
}
