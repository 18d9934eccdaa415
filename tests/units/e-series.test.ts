import { describe, expect, test } from 'vitest';
import {
  nearestE12,
  nearestE24,
  nextAboveE12,
  nextAboveE24,
  nextBelowE12,
  nextBelowE24,
} from '../../src/units/e-series.ts';

/** Walks a series through one decade. */
const walk = (step: (value: number) => number, from: number, count: number): number[] => {
  const seen = [from];
  while (seen.length < count) seen.push(step(seen.at(-1) as number));
  return seen;
};

describe('preferred values', () => {
  test('walked up and down are those of IEC 60063', () => {
    // IEC 60063:2015, table of the E12 and E24 series.
    const e12 = [1, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2, 10];
    const e24 = [
      1, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2, 2.2, 2.4, 2.7, 3, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2,
      6.8, 7.5, 8.2, 9.1, 10,
    ];
    expect(walk(nextAboveE12, 1, 13)).toEqual(e12);
    expect(walk(nextBelowE12, 10, 13)).toEqual(e12.toReversed());
    expect(walk(nextAboveE24, 1, 25)).toEqual(e24);
    expect(walk(nextBelowE24, 10, 25)).toEqual(e24.toReversed());
  });

  test('are exact in every decade', () => {
    expect(nextBelowE12(500e3)).toBe(470e3);
    expect(nextBelowE12(470e3)).toBe(390e3);
    expect(nextBelowE12(1e6)).toBe(820e3);
    expect(nextAboveE12(9e6)).toBe(10e6);
    expect(nextAboveE12(4.6e-8)).toBe(47e-9);
  });

  test('the nearest is nearest by ratio', () => {
    expect(nearestE12(500e3)).toBe(470e3);
    expect(nearestE24(500e3)).toBe(510e3);
    expect(nearestE12(9.6)).toBe(10);
    expect(nearestE12(1)).toBe(1);
  });

  test('a value that only rounding keeps from a preferred one counts as it', () => {
    expect(nextBelowE12(470e3 * (1 + 1e-12))).toBe(390e3);
    expect(nextAboveE12(0.1 + 0.2)).toBe(0.33);
    expect(nextAboveE24(0.1 + 0.2)).toBe(0.33);
  });

  test('there is none for zero, a negative value or infinity', () => {
    for (const value of [0, -1, NaN, Infinity]) expect(() => nearestE12(value)).toThrow(RangeError);
  });
});
