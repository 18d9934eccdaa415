/**
 * Multivariate normal distributions, by Cholesky decomposition (G. Golub, C. Van Loan, "Matrix Computations", 4th ed., 4.2).
 * A covariance is n rows of n values, symmetric and positive definite.
 */

/**
 * Log density of a multivariate normal distribution with mean 0.
 *
 * @param difference observed minus expected, n values
 * @throws RangeError where the covariance is not positive definite
 */
export function logNormalDensity(
  difference: readonly number[],
  covariance: readonly (readonly number[])[],
): number {
  const lower = factor(covariance);
  const logDeterminant = lower.reduce((sum, row, i) => sum + 2 * Math.log(row[i]!), 0);
  const white = whiten(lower, difference);
  return -0.5 * (dot(white, white) + logDeterminant + difference.length * Math.log(2 * Math.PI));
}

/**
 * A further variable of the same distribution, given what the others were observed to be.
 *
 * @param difference observed minus expected of the others
 * @param covariance of the others
 * @param cross covariance of the further variable with each of them
 * @param variance its own
 * @returns how far its mean moves, and the variance that is left
 * @throws RangeError where the covariance is not positive definite
 */
export function conditional(
  difference: readonly number[],
  covariance: readonly (readonly number[])[],
  cross: readonly number[],
  variance: number,
): { readonly shift: number; readonly variance: number } {
  const lower = factor(covariance);
  const along = whiten(lower, cross);
  return {
    shift: dot(along, whiten(lower, difference)),
    // never below 0, which rounding may give where the others tell it wholly
    variance: Math.max(0, variance - dot(along, along)),
  };
}

function factor(covariance: readonly (readonly number[])[]): number[][] {
  const lower: number[][] = [];
  for (let i = 0; i < covariance.length; i++) {
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
  }
  return lower;
}

/** Solves L x = b: independent, of variance 1, where L is the factor of b's covariance. */
function whiten(lower: readonly (readonly number[])[], values: readonly number[]): number[] {
  const white: number[] = [];
  values.forEach((value, i) => {
    const row = lower[i]!;
    white.push((value - white.reduce((sum, x, k) => sum + row[k]! * x, 0)) / row[i]!);
  });
  return white;
}

const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, x, i) => sum + x * b[i]!, 0);
