import { firstCrossing } from '../numerics/crossings.ts';
import { sampledCurve } from '../numerics/interpolate.ts';
import type { MeasureValue } from '../types.ts';
import { noValue } from './signals.ts';

/**
 * Bias runaway: reverse grid current lifts the grid, the tube draws more, gas makes more reverse current.
 *
 * With the grid held at a voltage by a stiff source the circuit has one state only. What its own circuit would need to hold
 * it there, over the reverse current that the tube gives there, is how many times more reverse current that state asks
 * for. Along the grid's way up from the healthy side that factor rises; where it turns there is no stable point beyond (a
 * fold), and where the dissipation passes what is allowed there is none within the rating.
 */

/** One state with the grid held, from the most negative up. */
export interface HeldPoint {
  readonly grid_V: number;
  /** What the grid's circuit takes at this voltage, electrons included, A. */
  readonly needed_A: number;
  /** Gas, grid emission and leak, A. */
  readonly reverse_A: number;
  readonly plate_W: number;
  readonly screen_W: number;
}

export interface AllowedWatts {
  readonly plate_W: number;
  readonly screen_W: number;
}

/** Factors beyond this are not told: no tube lives to see them. */
const LARGEST = 1000;

/** Times more reverse grid current before there is no stable point within what is allowed. */
export function runawayMargin(points: readonly HeldPoint[], allowed: AllowedWatts): MeasureValue {
  // below its return voltage the grid is pulled up by its own resistor, and nothing is asked of the tube
  const from = points.findIndex((point) => point.needed_A > 0);
  const up = points.slice(Math.max(0, from - 1));
  if (from < 0 || up.length < 3) return noValue('the grid voltages tried do not reach a balance');
  const grid = up.map((point) => point.grid_V);
  const end = Math.min(
    ...(['plate_W', 'screen_W'] as const).map(
      (of) =>
        firstCrossing(
          grid,
          up.map((point) => point[of]),
          allowed[of],
          { method: 'monotoneCubic' },
        ) ?? Infinity,
    ),
  );
  if (up[0]!.plate_W > allowed.plate_W || up[0]!.screen_W > allowed.screen_W) return 0;
  // the inverse is finite where the tube gives next to nothing
  const share = up.map((point) => point.reverse_A / Math.max(point.needed_A, 1e-15));
  const inside = up.flatMap((point, i) => (point.grid_V < end && point.needed_A > 0 ? [i] : []));
  const factorAt = (i: number): number => 1 / Math.max(share[i]!, 1 / LARGEST);
  const atEnd = end === Infinity ? undefined : between(up, end);
  const peak = inside.reduce(
    (best, i) => (factorAt(i) > factorAt(best) ? i : best),
    inside[0] ?? 0,
  );
  const top =
    inside.length === 0 ? 0 : peakNear(grid, inside.map(factorAt), peak - inside[0]!, inside[0]!);
  const factor = Math.max(top, atEnd ?? 0);
  if (factor >= LARGEST) return noValue('far more reverse grid current than any tube has', LARGEST);
  if (atEnd === undefined && peak === up.length - 1)
    return noValue('no runaway up to the grid voltages tried', factor);
  return factor;
}

/** The factor at a grid voltage between points. */
function between(points: readonly HeldPoint[], grid_V: number): number {
  const grid = points.map((point) => point.grid_V);
  const at = (of: 'needed_A' | 'reverse_A'): number =>
    sampledCurve(
      grid,
      points.map((point) => point[of] * 1e6),
    ).at(grid_V)!;
  return Math.min(LARGEST, at('needed_A') / Math.max(at('reverse_A'), 1e-9));
}

/** The height of a parabola through the highest point and its neighbours. */
function peakNear(
  grid: readonly number[],
  factors: readonly number[],
  i: number,
  offset: number,
): number {
  const y = factors[i]!;
  if (i === 0 || i === factors.length - 1 || y >= LARGEST) return y;
  const [x0, x1, x2] = [grid[offset + i - 1]!, grid[offset + i]!, grid[offset + i + 1]!];
  const [y0, y2] = [factors[i - 1]!, factors[i + 1]!];
  const rise = (y - y0) / (x1 - x0);
  const bend = ((y2 - y) / (x2 - x1) - rise) / (x2 - x0);
  if (bend >= 0) return y;
  const x = (x0 + x1) / 2 - rise / (2 * bend);
  return Math.max(y, y0 + rise * (x - x0) + bend * (x - x0) * (x - x1));
}

/** Plate dissipation's slope over the held grid's voltage at a grid voltage, W/V; undefined outside the points. */
export function dissipationSlope(points: readonly HeldPoint[], grid_V: number): number | undefined {
  const i = points.findIndex((point) => point.grid_V >= grid_V);
  if (i < 1) return undefined;
  const [a, b] = [points[i - 1]!, points[i]!];
  return (b.plate_W - a.plate_W) / (b.grid_V - a.grid_V);
}
