import { describe, expect, test } from 'vitest';
import { densityQuantile } from '../../src/numerics/density.ts';

describe('a share of a density given at points', () => {
  test('of an even one is the share of the way, whatever its scale', () => {
    for (const share of [0, 0.2, 0.7, 1])
      expect(densityQuantile(2, 4, [3, 3, 3], share)).toBeCloseTo(2 + 2 * share, 12);
    expect(densityQuantile(2, 4, [0, 0], 0.25)).toBe(2.5);
  });

  test('of a triangle is a root: ∫2x dx = x²', () => {
    for (const share of [0.04, 0.25, 0.81])
      expect(densityQuantile(0, 1, [0, 1, 2, 3], share)).toBeCloseTo(Math.sqrt(share), 12);
    expect(densityQuantile(0, 1, [2, 1, 0], 0.75)).toBeCloseTo(0.5, 12);
  });

  test('keeps off where there is none', () => {
    expect(densityQuantile(0, 4, [0, 0, 1, 0, 0], 0.5)).toBeCloseTo(2, 12);
    expect(densityQuantile(0, 4, [0, 0, 1, 0, 0], 1)).toBeCloseTo(3, 6);
  });
});
