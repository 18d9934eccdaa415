/** One step of a bounded fit: how much can still be gained, and where to go next. Works on the triangle of the Jacobian. */
import { clamp, reachOf, sizeOf } from './fit-axes.ts';
import type { Axis } from './fit-axes.ts';
import { at, backSubstitute, norm, rankOf, triangulate, zeros } from './qr.ts';
import type { Triangle } from './qr.ts';

const RANK_TOLERANCE = 1e-10;

/**
 * The convergence measure of D. Bates, D. Watts, Technometrics 23 (1981) 179: the share of the residual vector in the tangent
 * plane of the parameters that are free to move; and the largest relative change in an undamped step.
 */
export function whatIsLeft(
  axes: readonly Axis[],
  point: readonly number[],
  triangle: Triangle,
): { share: number; relativeStep: number } {
  const free = axes
    .map((_, index) => index)
    .filter((index) => !isHeld(axes, point, triangle, index));
  const used = free.filter((index) => norm(triangle.columns[index] as Float64Array) > 0);
  if (used.length === 0) return { share: 0, relativeStep: 0 };
  const lengths = used.map((index) => norm(triangle.columns[index] as Float64Array));
  const normalised = used.map((index, k) =>
    (triangle.columns[index] as Float64Array).map((value) => value / (lengths[k] as number)),
  );
  const reduced = triangulate(normalised, triangle.rhs, true);
  const rank = rankOf(reduced, RANK_TOLERANCE);
  const step = backSubstitute(reduced, reduced.rhs, rank);
  const relative = used.map(
    (index, k) =>
      Math.abs((step[k] as number) / (lengths[k] as number)) /
      sizeOf(axes[index] as Axis, point[index] as number),
  );
  return {
    share: norm(reduced.rhs.slice(0, rank)) / norm(triangle.rhs),
    relativeStep: Math.max(...relative),
  };
}

/** A parameter at a bound whose descent points outward. */
function isHeld(
  axes: readonly Axis[],
  point: readonly number[],
  triangle: Triangle,
  index: number,
): boolean {
  const axis = axes[index] as Axis;
  const column = triangle.columns[index] as Float64Array;
  let gradient = 0;
  for (let row = 0; row <= index; row++)
    gradient += (column[row] as number) * (triangle.rhs[row] as number);
  return (
    (point[index] === axis.low && gradient >= 0) || (point[index] === axis.high && gradient <= 0)
  );
}

/** The damped step inside the bounds: what would leave them is put on the bound, and the rest is solved again. */
export function boundedStep(
  axes: readonly Axis[],
  point: readonly number[],
  triangle: Triangle,
  damping: number,
  scale: readonly number[],
): number[] {
  const step = zeros(axes.length);
  const size = axes.length;
  const reach = axes.map((axis, index) => reachOf(axis, point[index] as number));
  let free = step.map((_, index) => index).filter((index) => (scale[index] as number) > 0);
  free = free.filter((index) => !isHeld(axes, point, triangle, index));
  const right = triangle.rhs.slice(0, size).map((value) => -value);
  while (free.length > 0) {
    const columns = free.map((index, k) => {
      const tall = new Float64Array(size + free.length);
      tall.set((triangle.columns[index] as Float64Array).subarray(0, size));
      tall[size + k] = Math.sqrt(damping) * (scale[index] as number);
      return tall;
    });
    const tallRight = new Float64Array(size + free.length);
    tallRight.set(right);
    const reduced = triangulate(columns, tallRight);
    const solution = backSubstitute(reduced, reduced.rhs, free.length);
    const outside = free.filter((index, k) => {
      const target = (point[index] as number) + (solution[k] as number);
      const { low, high } = reach[index] as Axis;
      return target < low || target > high;
    });
    free.forEach((index, k) => (step[index] = solution[k] as number));
    if (outside.length === 0) break;
    for (const index of outside) {
      const target = clamp(
        (point[index] as number) + (step[index] as number),
        reach[index] as Axis,
      );
      step[index] = target - (point[index] as number);
      for (let row = 0; row <= index; row++) {
        right[row] = (right[row] as number) - at(triangle, row, index) * (step[index] as number);
      }
    }
    free = free.filter((index) => !outside.includes(index));
  }
  return step;
}

export function predictedSum(triangle: Triangle, step: readonly number[], sum: number): number {
  let change = 0;
  for (let row = 0; row < step.length; row++) {
    let moved = 0;
    for (let col = row; col < step.length; col++)
      moved += at(triangle, row, col) * (step[col] as number);
    change += moved * (2 * (triangle.rhs[row] as number) + moved);
  }
  return sum + change;
}
