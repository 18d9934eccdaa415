/** How well a fit knows its parameters: standard errors and correlations from the triangle of its Jacobian. */
import type { Axis } from './fit-axes.ts';
import { at, backSubstitute, norm, rankOf, triangulate, zeros } from './qr.ts';
import type { Triangle } from './qr.ts';

export interface Correlation {
  readonly between: readonly [string, string];
  readonly value: number;
}

export interface Precision {
  readonly standardErrors: Readonly<Record<string, number>>;
  readonly correlations: readonly Correlation[];
}

/** Below this share of its own length, a column counts as a mixture of the others (numerical slopes carry about 1e-10). */
const INDEPENDENT = 1e-9;

/**
 * Linear-theory precision: s² (JᵀJ)⁻¹ with s² = sum / (residuals − parameters), over the parameters not at a bound.
 * Parameters that the data do not determine are left out, as is everything when no degree of freedom remains.
 */
export function describePrecision(
  axes: readonly Axis[],
  triangle: Triangle,
  atBound: readonly Axis[],
  values: readonly number[],
  sum: number,
): Precision {
  const length = (index: number): number => norm(triangle.columns[index] as Float64Array);
  const used = axes
    .map((_, index) => index)
    .filter((index) => !atBound.includes(axes[index] as Axis) && length(index) > 0);
  const freedom = triangle.rhs.length - used.length;
  if (used.length === 0 || freedom <= 0) return { standardErrors: {}, correlations: [] };
  const columns = used.map((index) =>
    (triangle.columns[index] as Float64Array).map((value) => value / length(index)),
  );
  const reduced = triangulate(columns, triangle.rhs, true);
  const rank = rankOf(reduced, INDEPENDENT);
  const doubtful = undetermined(reduced, rank);
  const rows = inverseRows(reduced, rank);
  const told = used.map((_, k) => k).filter((k) => !doubtful.has(k));
  const deviation = Math.sqrt(sum / freedom);
  const standardErrors = Object.fromEntries(
    told.map((k) => {
      const axis = axes[used[k] as number] as Axis;
      const own = axis.log ? (values[axis.column] as number) : 1;
      return [axis.name, (own * deviation * norm(rows[k] as number[])) / length(used[k] as number)];
    }),
  );
  const name = (k: number): string => (axes[used[k] as number] as Axis).name;
  const correlations = told.flatMap((a, place) =>
    told
      .slice(place + 1)
      .map((b) => ({ between: [name(a), name(b)] as const, value: cosine(rows[a], rows[b]) })),
  );
  return { standardErrors, correlations };
}

/** Row k of R⁻¹ for given column k: covariances are their inner products. */
function inverseRows(reduced: Triangle, rank: number): number[][] {
  const rows = reduced.columns.map(() => zeros(rank));
  for (let unit = 0; unit < rank; unit++) {
    const rhs = Array.from({ length: rank }, (_, row) => (row === unit ? 1 : 0));
    backSubstitute(reduced, rhs, rank).forEach((value, k) => ((rows[k] as number[])[unit] = value));
  }
  return rows;
}

/** Given columns that take part in a combination which the residuals do not feel. */
function undetermined(reduced: Triangle, rank: number): Set<number> {
  const found = new Set<number>();
  for (let place = rank; place < reduced.columns.length; place++) {
    found.add(reduced.order[place] as number);
    const rhs = Array.from({ length: rank }, (_, row) => at(reduced, row, place));
    backSubstitute(reduced, rhs, rank).forEach((value, k) => {
      if (Math.abs(value) > 1e-6) found.add(k);
    });
  }
  return found;
}

function cosine(a: readonly number[] = [], b: readonly number[] = []): number {
  const dot = a.reduce((sum, value, index) => sum + value * (b[index] as number), 0);
  return dot / (norm(a) * norm(b));
}
