/**
 * Householder QR for small least-squares problems: columns in, triangle out. Used instead of normal equations because
 * those square the condition number (G. Golub, C. Van Loan, "Matrix Computations", 4th ed., 5.2 and 5.3).
 */
export interface Triangle {
  /** `columns[k]` holds column k of R, rows 0…k, in the order of `order`. */
  readonly columns: readonly Float64Array[];
  /** Qᵀ times the right-hand side, all rows. */
  readonly rhs: Float64Array;
  /** `order[k]`: which given column stands at place k (0, 1, … without pivoting). */
  readonly order: readonly number[];
}

/**
 * Reduces columns of equal length (at least as many rows as columns) together with a right-hand side.
 * With `pivot`, the largest remaining column comes next, so the diagonal of R falls and shows the rank.
 */
export function triangulate(
  columns: readonly ArrayLike<number>[],
  rhs: ArrayLike<number>,
  pivot = false,
): Triangle {
  const work = columns.map((column) => Float64Array.from(column));
  const right = Float64Array.from(rhs);
  const order = work.map((_, index) => index);
  for (let step = 0; step < Math.min(work.length, right.length); step++) {
    if (pivot) bringLargestForward(work, order, step);
    const head = work[step] as Float64Array;
    const length = norm(head, step);
    if (length === 0) continue;
    const pivotValue = (head[step] as number) > 0 ? -length : length;
    const mirror = head.slice(step);
    mirror[0] = (head[step] as number) - pivotValue;
    const mirrorSquare = dot(mirror, mirror, 0, 0);
    for (const target of [...work.slice(step + 1), right])
      reflect(target, mirror, mirrorSquare, step);
    head.fill(0, step);
    head[step] = pivotValue;
  }
  return { columns: work, rhs: right, order };
}

/** Solves R x = rhs for the first `rank` places; x comes in the order of the given columns, zero beyond the rank. */
export function backSubstitute(triangle: Triangle, rhs: ArrayLike<number>, rank: number): number[] {
  const placed = zeros(triangle.columns.length);
  for (let row = rank - 1; row >= 0; row--) {
    let sum = rhs[row] as number;
    for (let col = row + 1; col < rank; col++)
      sum -= at(triangle, row, col) * (placed[col] as number);
    placed[row] = sum / at(triangle, row, row);
  }
  const solution = zeros(placed.length);
  triangle.order.forEach((given, place) => (solution[given] = placed[place] as number));
  return solution;
}

/** Element of R at a row and a place. */
export function at(triangle: Triangle, row: number, place: number): number {
  return triangle.columns[place]?.[row] ?? 0;
}

/** Number of leading places whose diagonal is above `tolerance` times the first (pivoted triangles only). */
export function rankOf(triangle: Triangle, tolerance: number): number {
  const largest = Math.abs(at(triangle, 0, 0));
  let rank = 0;
  const limit = Math.min(triangle.columns.length, triangle.rhs.length);
  while (rank < limit && Math.abs(at(triangle, rank, rank)) > tolerance * largest) rank++;
  return rank;
}

/** Euclidean length of a vector from an index on, safe from overflow. */
export function norm(vector: ArrayLike<number>, from = 0): number {
  let largest = 0;
  for (let index = from; index < vector.length; index++)
    largest = Math.max(largest, Math.abs(vector[index] as number));
  if (largest === 0 || !Number.isFinite(largest)) return largest;
  let sum = 0;
  for (let index = from; index < vector.length; index++)
    sum += ((vector[index] as number) / largest) ** 2;
  return largest * Math.sqrt(sum);
}

function dot(a: ArrayLike<number>, b: ArrayLike<number>, fromA: number, fromB: number): number {
  let sum = 0;
  for (let index = fromA; index < a.length; index++) {
    sum += (a[index] as number) * (b[index - fromA + fromB] as number);
  }
  return sum;
}

function reflect(
  target: Float64Array,
  mirror: Float64Array,
  mirrorSquare: number,
  from: number,
): void {
  const factor = (2 * dot(target, mirror, from, 0)) / mirrorSquare;
  for (let index = 0; index < mirror.length; index++) {
    target[from + index] = (target[from + index] as number) - factor * (mirror[index] as number);
  }
}

function bringLargestForward(work: Float64Array[], order: number[], step: number): void {
  let best = step;
  for (let index = step + 1; index < work.length; index++) {
    if (norm(work[index] as Float64Array, step) > norm(work[best] as Float64Array, step))
      best = index;
  }
  [work[step], work[best]] = [work[best] as Float64Array, work[step] as Float64Array];
  [order[step], order[best]] = [order[best] as number, order[step] as number];
}

/** A row of zeros. */
export function zeros(count: number): number[] {
  return Array.from({ length: count }, () => 0);
}
