import { describe, expect, test } from 'vitest';
import { firstOrderEnd, steadyState } from '../../src/wear/warm-up.ts';

const K = 8.617333e-5;
/** Truths of 2.5 units hot: an Arrhenius law on a first-order temperature (0.5 eV, 180 s, 5 % independent), and a first-order rise. */
const arrhenius = (t: number): number => {
  const kelvin = 310 + 140 * (1 - Math.exp(-t / 180));
  return 2.5 * (0.05 + 0.95 * Math.exp((-0.5 / K) * (1 / kelvin - 1 / 450)));
};
const firstOrder = (t: number): number => 2.5 * (0.1 + 0.9 * (1 - Math.exp(-t / 180)));
const read = (of: (t: number) => number, times: readonly number[]) =>
  times.map((seconds) => ({ seconds, siemens: of(seconds) }));

describe('leakage that rises over minutes', () => {
  // The method's published kind of check: known laws, computed independently, ends within the intervals there.
  test.each([
    { law: 'Arrhenius', of: arrhenius, times: [60, 120, 240, 480] },
    { law: 'Arrhenius', of: arrhenius, times: [60, 180, 600] },
    { law: 'first-order', of: firstOrder, times: [60, 120, 240] },
    { law: 'first-order', of: firstOrder, times: [60, 180, 600] },
  ])('a $law rise read at $times s ends near its truth', ({ of, times }) => {
    const end = steadyState(read(of, times));
    expect(end?.stillSteepening).toBe(false);
    expect(Math.abs((end?.median ?? 0) / 2.5 - 1)).toBeLessThan(0.12);
  });

  test('a rise that still steepens is a lower bound with a wide end', () => {
    const times = [30, 60, 120];
    const end = steadyState(read(arrhenius, times));
    expect(end?.stillSteepening).toBe(true);
    expect(end?.early).toBe(true);
    expect((end?.high ?? 0) / (end?.low ?? 1)).toBeGreaterThan(2);
    expect(end?.high).toBeGreaterThan(arrhenius(120));
  });

  test('the three-reading formula alone is wrong on an Arrhenius curve', () => {
    expect(firstOrderEnd(firstOrder(60), firstOrder(120), firstOrder(180))).toBeCloseTo(2.5, 9);
    expect(firstOrderEnd(1, 2, 4)).toBeUndefined();
    expect(firstOrderEnd(2, 2, 1.9)).toBeUndefined();
    const wrong = firstOrderEnd(arrhenius(240), arrhenius(360), arrhenius(480)) ?? 0;
    expect(Math.abs(wrong / 2.5 - 1)).toBeGreaterThan(0.03);
  });

  test('one early reading leaves a wider end than a series', () => {
    const one = steadyState(read(arrhenius, [120]));
    const series = steadyState(read(arrhenius, [60, 120, 240, 480]));
    const width = (end: typeof one): number => Math.log((end?.high ?? 1) / (end?.low ?? 1));
    expect(width(one)).toBeGreaterThan(3 * width(series));
  });

  test('a leak that falls ends at its last value', () => {
    const end = steadyState([
      { seconds: 60, siemens: 5e-8 },
      { seconds: 600, siemens: 2e-8 },
    ]);
    expect(end?.median).toBe(2e-8);
  });

  test('a first reading beyond the scale bounds the start', () => {
    const without = steadyState(read(arrhenius, [240, 480]));
    const bounded = steadyState([
      { seconds: 60, belowSiemens: 1.2 * arrhenius(60) },
      ...read(arrhenius, [240, 480]),
    ]);
    const off = (end: typeof bounded): number => Math.abs(Math.log((end?.median ?? 1) / 2.5));
    expect(off(bounded)).toBeLessThan(off(without) + 0.02);
    expect(steadyState([{ seconds: 60, belowSiemens: 1e-9 }])).toBeUndefined();
  });
});
