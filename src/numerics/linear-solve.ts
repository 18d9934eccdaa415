/**
 * Small dense systems of linear equations, factored once and solved for many right-hand sides: Gaussian elimination with
 * partial pivoting (G. Golub, C. Van Loan, "Matrix Computations", 4th ed., 3.4). Own code because a factored matrix is
 * solved thousands of times in a row here.
 */
export type Solver = (rhs: Float64Array) => Float64Array;

/**
 * @param matrix n·n values, row by row; it is left as it is
 * @returns a function that solves for one right-hand side of n values
 * @throws RangeError where the matrix is singular
 */
export function factored(matrix: Float64Array, n: number): Solver {
  const lu = Float64Array.from(matrix);
  const order = Array.from({ length: n }, (_, i) => i);
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let i = k + 1; i < n; i++)
      if (Math.abs(lu[i * n + k]!) > Math.abs(lu[best * n + k]!)) best = i;
    if (!(Math.abs(lu[best * n + k]!) > 0)) throw new RangeError('the matrix is singular');
    if (best !== k) {
      for (let j = 0; j < n; j++)
        [lu[k * n + j], lu[best * n + j]] = [lu[best * n + j]!, lu[k * n + j]!];
      [order[k], order[best]] = [order[best]!, order[k]!];
    }
    for (let i = k + 1; i < n; i++) {
      const factor = lu[i * n + k]! / lu[k * n + k]!;
      lu[i * n + k] = factor;
      if (factor !== 0) for (let j = k + 1; j < n; j++) lu[i * n + j]! -= factor * lu[k * n + j]!;
    }
  }
  return (rhs) => {
    const x = Float64Array.from(order, (i) => rhs[i]!);
    for (let i = 1; i < n; i++) for (let j = 0; j < i; j++) x[i]! -= lu[i * n + j]! * x[j]!;
    for (let i = n - 1; i >= 0; i--) {
      for (let j = i + 1; j < n; j++) x[i]! -= lu[i * n + j]! * x[j]!;
      x[i]! /= lu[i * n + i]!;
    }
    return x;
  };
}
