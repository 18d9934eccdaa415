/** Slopes of residuals along each axis by differences of second order, never leaving the bounds. */
import { sizeOf } from './fit-axes.ts';
import type { Axis } from './fit-axes.ts';

/** Cube root of the machine epsilon: the best relative step of a central difference. */
const RELATIVE_STEP = Math.cbrt(Number.EPSILON);

/** One column for each axis, or a text that names the axis along which the residuals are not finite. */
export function differentiate(
  axes: readonly Axis[],
  point: readonly number[],
  here: Float64Array,
  evaluate: (point: readonly number[]) => Float64Array,
): Float64Array[] | string {
  const columns: Float64Array[] = [];
  for (const [index, axis] of axes.entries()) {
    const coordinate = point[index] as number;
    const reach = Math.min(RELATIVE_STEP * sizeOf(axis, coordinate), (axis.high - axis.low) / 4);
    // The step that the floating-point grid really makes.
    const step = coordinate + reach - coordinate;
    const sample = (steps: number): Float64Array | undefined => {
      const target = coordinate + steps * step;
      if (target < axis.low || target > axis.high) return undefined;
      const there = evaluate(point.map((value, other) => (other === index ? target : value)));
      return there.length === here.length && there.every(Number.isFinite) ? there : undefined;
    };
    const column = slope(here, sample, step);
    if (column === undefined)
      return `The residuals are not finite around "${axis.name}" = ${coordinate}${axis.log ? ' (log)' : ''}.`;
    columns.push(column);
  }
  return columns;
}

function slope(
  here: Float64Array,
  sample: (steps: number) => Float64Array | undefined,
  step: number,
): Float64Array | undefined {
  const ahead = sample(1);
  const behind = sample(-1);
  if (ahead && behind)
    return ahead.map((value, row) => (value - (behind[row] as number)) / (2 * step));
  const side = ahead ? 1 : -1;
  const near = ahead ?? behind;
  const far = sample(2 * side);
  if (near === undefined || far === undefined) return undefined;
  return near.map(
    (value, row) =>
      (side * (4 * value - 3 * (here[row] as number) - (far[row] as number))) / (2 * step),
  );
}
