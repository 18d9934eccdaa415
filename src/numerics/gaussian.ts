/**
 * Log density of a multivariate normal distribution with mean 0.
 *
 * @param difference observed minus expected, n values
 * @param covariance n rows of n values, symmetric and positive definite
 * @throws RangeError where the covariance is not positive definite
 *
 * By Cholesky decomposition (G. Golub, C. Van Loan, "Matrix Computations", 4th ed., 4.2).
 */
export function logNormalDensity(
  difference: readonly number[],
  covariance: readonly (readonly number[])[],
): number {
  const n = difference.length;
  const lower: number[][] = [];
  const white: number[] = [];
  let logDeterminant = 0;
  for (let i = 0; i < n; i++) {
    const row: number[] = [];
    for (let j = 0; j <= i; j++) {
      let sum = covariance[i]![j]!;
      for (let k = 0; k < j; k++) sum -= row[k]! * (lower[j]?.[k] ?? row[k]!);
      if (j < i) row.push(sum / lower[j]![j]!);
      else {
        if (!(sum > 0)) throw new RangeError('the covariance is not positive definite');
        row.push(Math.sqrt(sum));
      }
    }
    lower.push(row);
    logDeterminant += 2 * Math.log(row[i]!);
    white.push(
      (difference[i]! - white.reduce((sum, value, k) => sum + row[k]! * value, 0)) / row[i]!,
    );
  }
  const square = white.reduce((sum, value) => sum + value * value, 0);
  return -0.5 * (square + logDeterminant + n * Math.log(2 * Math.PI));
}
