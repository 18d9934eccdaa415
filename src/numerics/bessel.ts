/**
 * ln I₀(x), the modified Bessel function of order zero, for any real x, without overflow; relative error of I₀ below 2e-7.
 * Source: M. Abramowitz, I. Stegun, "Handbook of Mathematical Functions" (1964), 9.8.1 and 9.8.2.
 */
export function logBesselI0(x: number): number {
  const size = Math.abs(x);
  const t = size / 3.75;
  if (t <= 1) return Math.log(polynomial(t * t, SMALL));
  return size - 0.5 * Math.log(size) + Math.log(polynomial(1 / t, LARGE));
}

const SMALL = [1, 3.5156229, 3.0899424, 1.2067492, 0.2659732, 0.0360768, 0.0045813];
const LARGE = [
  0.39894228, 0.01328592, 0.00225319, -0.00157565, 0.00916281, -0.02057706, 0.02635537, -0.01647633,
  0.00392377,
];

const polynomial = (x: number, coefficients: readonly number[]): number =>
  coefficients.reduceRight((sum, coefficient) => sum * x + coefficient, 0);
