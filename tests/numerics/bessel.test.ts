import { describe, expect, test } from 'vitest';
import { logBesselI0 } from '../../src/numerics/bessel.ts';

/** I₀(x) as its integral, (1/π)∫exp(x cos θ)dθ, by the midpoint rule: for a periodic function that converges at once. */
function integral(x: number): number {
  const n = 4000;
  let sum = 0;
  for (let k = 0; k < n; k++) sum += Math.exp(x * (Math.cos(((k + 0.5) * Math.PI) / n) - 1));
  return Math.log(sum / n) + x;
}

describe('ln of the modified Bessel function I₀', () => {
  test.for([0, 0.1, 1, 3.7, 3.8, 10, 50, 400, 5000])('is its integral at %s', (x) => {
    expect(logBesselI0(x)).toBeCloseTo(integral(x), 6);
    expect(logBesselI0(-x)).toBe(logBesselI0(x));
  });

  test('has the tabled values (Abramowitz & Stegun, table 9.8, from memory)', () => {
    expect(Math.exp(logBesselI0(1))).toBeCloseTo(1.2660659, 6);
    expect(Math.exp(logBesselI0(5))).toBeCloseTo(27.239872, 4);
  });
});
