import { describe, expect, test } from 'vitest';
import {
  areaFor,
  readingOf,
  saturationFor,
  split,
  starvedRatio,
  type SplitAssumptions,
} from '../../src/wear/split.ts';

/** n = 2, s0 = 5, phi = 1 eV, p = 0.4: the assumptions of the table below. */
const at = (v: number, q: number, n = 2): SplitAssumptions => ({
  n,
  q,
  s0: 5,
  r: starvedRatio(v, 1, 0.4),
  c: 1 - 0.1 * (1 - v),
  largestArea: 1.1,
});

/**
 * Area, saturation -> emission and drop at -10 % and -20 %, stiff test and q = 0.6.
 * Computed independently of this project's code: closed form, Richardson–Dushman and Longo/Vaughan synthesis, from memory.
 */
const TABLE = [
  { tube: 'new', a: 1, s: 5, stiff: [1, 0.047, 0.17], soft: [1, 0.025, 0.11] },
  { tube: 'used', a: 0.75, s: 3.5, stiff: [0.75, 0.052, 0.19], soft: [0.85, 0.04, 0.17] },
  { tube: 'worn', a: 0.9, s: 1.2, stiff: [0.73, 0.25, 0.55], soft: [0.82, 0.25, 0.57] },
  { tube: 'weak', a: 0.8, s: 0.6, stiff: [0.49, 0.35, 0.64], soft: [0.55, 0.39, 0.68] },
  { tube: 'nearly dead', a: 0.6, s: 0.25, stiff: [0.235, 0.4, 0.69], soft: [0.25, 0.42, 0.7] },
] as const;

describe('emission and drop, split into area and saturation', () => {
  test.each(TABLE)('a $tube tube reads as the table says', ({ a, s, stiff, soft }) => {
    for (const [q, [e, d10, d20]] of [
      [1, stiff],
      [0.6, soft],
    ] as const) {
      const ten = readingOf(a, s, at(0.9, q));
      expect(Math.abs(ten.e - e)).toBeLessThan(0.0075);
      expect(Math.abs(ten.d - d10)).toBeLessThan(0.0075);
      expect(Math.abs(readingOf(a, s, at(0.8, q)).d - d20)).toBeLessThan(0.0075);
    }
  });

  test.each(TABLE)('the readings of a $tube tube give its area and saturation back', ({ a, s }) => {
    for (const q of [1, 0.6, 0.4]) {
      const of = at(0.9, q);
      const { e, d } = readingOf(a, s, of);
      const back = split(e, d, of);
      expect(back.areaUndetermined).toBe(false);
      expect(back.area).toBeCloseTo(a, 3);
      expect(back.s).toBeCloseTo(s, 3);
    }
  });

  // The same source. The figures have two digits.
  test.each([
    { e: 0.5, d: 0.25, n: 1, a: 0.73, s: 0.98 },
    { e: 0.5, d: 0.25, n: 2, a: 0.61, s: 0.82 },
    { e: 0.5, d: 0.25, n: 4, a: 0.54, s: 0.71 },
    { e: 0.75, d: 0.12, n: 1, a: 0.75, s: 3.8 },
    { e: 0.75, d: 0.12, n: 2, a: 0.79, s: 2.05 },
    { e: 0.75, d: 0.12, n: 4, a: 0.76, s: 1.45 },
    { e: 1, d: 0.03, n: 2, a: 0.99, s: 6.9 },
  ])('sharpness $n: emission $e and drop $d give area $a, saturation $s', ({ e, d, n, a, s }) => {
    const back = split(e, d, { ...at(0.9, 1, n), largestArea: 2 });
    expect(Math.abs(back.area / a - 1)).toBeLessThan(0.02);
    expect(Math.abs(back.s / s - 1)).toBeLessThan(0.05);
  });

  // The same source: a compressing test makes bad tubes look good.
  test.each([
    { e: 0.9, a: 0.78 },
    { e: 0.75, a: 0.54 },
    { e: 0.5, a: 0.27 },
  ])('at q = 0.5 a reading of $e is an area of $a', ({ e, a }) => {
    expect(areaFor(e, 1e6, { ...at(0.9, 0.5), s0: 1e6 })).toBeCloseTo(a, 2);
  });

  test.each([
    { q: 1, a: 0.79 },
    { q: 0.6, a: 0.65 },
    { q: 0.4, a: 0.52 },
  ])('emission 0.75 and drop 0.12 at q = $q are an area of $a', ({ q, a }) => {
    expect(Math.abs(split(0.75, 0.12, at(0.9, q)).area - a)).toBeLessThan(0.011);
  });

  test('full saturation says the saturation and leaves the area open', () => {
    const back = split(0.235, 0.45, at(0.9, 1));
    expect(back.areaUndetermined).toBe(true);
    expect(back.area).toBe(1.1);
    // Only s = e·g0 or little more is left.
    expect(back.s / (0.235 * (1 + 5 ** -2) ** -0.5)).toBeGreaterThan(1);
    expect(back.s / (0.235 * (1 + 5 ** -2) ** -0.5)).toBeLessThan(1.05);
  });

  test('area and saturation for one emission are each other’s inverse', () => {
    const of = at(0.9, 0.7);
    expect(areaFor(0.6, saturationFor(0.6, 0.8, of), of)).toBeCloseTo(0.8, 9);
    expect(areaFor(0.6, 0.3, of)).toBe(Infinity);
    expect(saturationFor(0.6, 0.2, of)).toBe(Infinity);
  });
});

/** Richardson–Dushman at cathode temperatures of T0·v^p, T0 = 1050 K; computed independently, phi and p from memory. */
describe('saturation at a starved heater', () => {
  test.each([
    { phi: 0.95, r10: [0.61, 0.585], r15: [0.46, 0.43], r20: [0.34, 0.31] },
    { phi: 1.0, r10: [0.6, 0.57], r15: [0.45, 0.42], r20: [0.33, 0.3] },
    { phi: 1.1, r10: [0.57, 0.545], r15: [0.42, 0.39], r20: [0.3, 0.27] },
  ])('work function $phi eV', ({ phi, r10, r15, r20 }) => {
    for (const [v, [gentle, steep]] of [
      [0.9, r10],
      [0.85, r15],
      [0.8, r20],
    ] as const) {
      expect(Math.abs(starvedRatio(v, phi, 0.37) - (gentle ?? 0))).toBeLessThan(0.011);
      expect(Math.abs(starvedRatio(v, phi, 0.4) - (steep ?? 0))).toBeLessThan(0.011);
    }
  });
});
