/** The standard normal distribution: cumulative probability and its inverse. */

const ROOT_TWO_PI = Math.sqrt(2 * Math.PI);

/**
 * Probability that a standard normal lies below z; relative error below 1e-13 in the lower tail, down to z = −37.
 * Source: M. Abramowitz, I. Stegun, "Handbook of Mathematical Functions", 26.2.11 (series) and 26.2.14 (continued fraction).
 */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) return NaN;
  return z <= 0 ? lowerTail(-z) : 1 - lowerTail(z);
}

/**
 * z below which a standard normal lies with probability u; −∞ at 0, ∞ at 1, NaN outside. Absolute error below 1e-9 wherever
 * u itself resolves it (near 1 the spacing of floating-point numbers sets the limit).
 * Source: Handbook of Mathematical Functions 26.2.23 as a start, then Halley's iteration on `normalCdf`.
 */
export function normalQuantile(u: number): number {
  if (!(u >= 0 && u <= 1)) return NaN;
  const tail = Math.min(u, 1 - u);
  if (tail === 0) return u === 0 ? -Infinity : Infinity;
  if (tail === 0.5) return 0;
  const t = Math.sqrt(-2 * Math.log(tail));
  let z =
    t -
    (2.515517 + t * (0.802853 + t * 0.010328)) /
      (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
  for (let round = 0; round < 3; round++) {
    const probability = z >= 0 ? lowerTail(z) : 1 - lowerTail(-z);
    const newton = (probability - tail) / density(z);
    z += newton / (1 + (z * newton) / 2);
  }
  return u < 0.5 ? -z : z;
}

/** Half-width of the central 90 % interval. */
export const Z90 = normalQuantile(0.95);

function density(z: number): number {
  return Math.exp((-z * z) / 2) / ROOT_TWO_PI;
}

/** Probability beyond z ≥ 0. */
function lowerTail(z: number): number {
  if (z > 2) return density(z) * millsRatio(z);
  let term = z;
  let sum = z;
  for (let odd = 3; Math.abs(term) > 1e-17 * sum; odd += 2) {
    term *= (z * z) / odd;
    sum += term;
  }
  return 0.5 - density(z) * sum;
}

/** (1 − Φ(z)) / φ(z) = 1/(z + 1/(z + 2/(z + 3/(z + …)))), taken from the far end. */
function millsRatio(z: number): number {
  let rest = z;
  for (let k = Math.ceil(20 + 600 / (z * z)); k >= 1; k--) rest = z + k / rest;
  return 1 / rest;
}
