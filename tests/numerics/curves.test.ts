import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { firstCrossing } from '../../src/numerics/crossings.ts';
import { interpolateLinear, inverseAt, sampledCurve } from '../../src/numerics/interpolate.ts';
import { findRoot } from '../../src/numerics/root.ts';

const seeded = { seed: 7, numRuns: 200 };
/** Rising points: steps above 0 for x, at or above 0 for y. */
const risingPoints = fc
  .array(
    fc.tuple(
      fc.double({ min: 0.01, max: 10, noNaN: true }),
      fc.double({ min: 0, max: 10, noNaN: true }),
    ),
    { minLength: 2, maxLength: 12 },
  )
  .map((steps) => {
    let [x, y] = [0, 0];
    return steps.map(([dx, dy]): [number, number] => [(x += dx), (y += dy)]);
  });
const split = (points: readonly (readonly [number, number])[]): [number[], number[]] => [
  points.map(([x]) => x),
  points.map(([, y]) => y),
];

describe('interpolation', () => {
  test('the monotone cubic passes through its points and never turns between them', () => {
    fc.assert(
      fc.property(risingPoints, (points) => {
        const [x, y] = split(points);
        const curve = sampledCurve(x, y);
        x.forEach((place, k) => expect(curve.at(place)).toBe(y[k]));
        const [first, last] = [x[0] as number, x.at(-1) as number];
        let before = y[0] as number;
        for (let step = 0; step <= 200; step++) {
          const here = curve.at(Math.min(last, first + ((last - first) * step) / 200)) as number;
          expect(here).toBeGreaterThanOrEqual(before - 1e-12 * (1 + Math.abs(before)));
          before = here;
        }
      }),
      seeded,
    );
  });

  test('the slopes on a given set are those of the published algorithm, worked by hand', () => {
    // Fritsch & Carlson (1980): points (0,0) (1,1) (2,1.1) (3,5). Secants 1, 0.1, 3.9; slopes before limiting 1, 0.55, 2, 3.9.
    // Second interval: α = 5.5, β = 20, length √430.25, so both are cut to 3/√430.25 of themselves.
    const cut = 3 / Math.sqrt(5.5 ** 2 + 20 ** 2);
    const [m1, m2] = [0.55 * cut, 2 * cut];
    const curve = sampledCurve([0, 1, 2, 3], [0, 1, 1.1, 5]);
    expect(curve.at(1.5)).toBeCloseTo((1 + 1.1) / 2 + (m1 - m2) / 8, 12);
  });

  test('a straight line stays straight with either method, and there is no answer outside', () => {
    for (const method of ['linear', 'monotoneCubic'] as const) {
      const curve = sampledCurve([0, 1, 4], [1, 3, 9], method);
      expect(curve.at(2.5)).toBeCloseTo(6, 12);
      expect(curve.at(-0.1)).toBeUndefined();
      expect(curve.at(4.1)).toBeUndefined();
      expect(curve.at(NaN)).toBeUndefined();
    }
    expect(interpolateLinear([0, 2], [0, 1], 1)).toBe(0.5);
  });

  test('the inverse undoes the curve and refuses one that stands still', () => {
    fc.assert(
      fc.property(risingPoints, fc.double({ min: 0, max: 1, noNaN: true }), (points, share) => {
        const [x, y] = split(points.map(([px, py], k) => [px, py + k] as const));
        const curve = sampledCurve(x, y);
        const value = (y[0] as number) + share * ((y.at(-1) as number) - (y[0] as number));
        const place = inverseAt(curve, Math.min(value, y.at(-1) as number)) as number;
        expect(curve.at(place)).toBeCloseTo(value, 6);
        expect(inverseAt(curve, (y.at(-1) as number) + 1)).toBeUndefined();
        expect(inverseAt(curve, (y[0] as number) - 1)).toBeUndefined();
      }),
      seeded,
    );
    expect(() => inverseAt(sampledCurve([0, 1, 2], [0, 1, 1]), 0.5)).toThrow(RangeError);
    expect(inverseAt(sampledCurve([0, 1, 2], [4, 2, 1], 'linear'), 3)).toBeCloseTo(0.5, 12);
  });

  test('points that are no curve are refused', () => {
    expect(() => sampledCurve([0], [0])).toThrow(RangeError);
    expect(() => sampledCurve([0, 0], [0, 1])).toThrow(RangeError);
    expect(() => sampledCurve([0, 1], [0, NaN])).toThrow(RangeError);
    expect(() => sampledCurve([0, 1], [0])).toThrow(RangeError);
  });
});

describe('the first crossing of a level', () => {
  const x = Array.from({ length: 41 }, (_, k) => k / 4);
  const wave = x.map((at) => Math.sin(at));

  test('is found from each side, closer with the cubic than with lines', () => {
    const lines = firstCrossing(x, wave, 0.5) as number;
    const cubic = firstCrossing(x, wave, 0.5, { method: 'monotoneCubic' }) as number;
    expect(lines).toBeCloseTo(Math.asin(0.5), 2);
    expect(Math.abs(cubic - Math.asin(0.5))).toBeLessThan(Math.abs(lines - Math.asin(0.5)));
    expect(firstCrossing(x, wave, 0.5, { from: 'high' })).toBeCloseTo(
      3 * Math.PI - Math.asin(0.5),
      2,
    );
  });

  test('is undefined where the level is never met', () => {
    expect(firstCrossing(x, wave, 1.5)).toBeUndefined();
    expect(firstCrossing([], [], 0)).toBeUndefined();
    expect(firstCrossing([1], [3], 2)).toBeUndefined();
  });

  test('is the sample itself where a sample lies on the level', () => {
    expect(firstCrossing([0, 1, 2, 3], [0, 2, 2, 5], 2)).toBe(1);
    expect(firstCrossing([0, 1, 2, 3], [0, 2, 2, 5], 2, { from: 'high' })).toBe(2);
    expect(firstCrossing([7], [2], 2)).toBe(7);
  });

  test('beyond a gap in the values is not known', () => {
    expect(firstCrossing([0, 1, 2, 3], [0, NaN, 1, 5], 3)).toBeUndefined();
    expect(firstCrossing([0, 1, 2, 3], [0, NaN, 1, 5], 3, { from: 'high' })).toBeCloseTo(2.5, 12);
    expect(firstCrossing([0, 1, 2, 3], [0, 4, Infinity, 5], 3)).toBeCloseTo(0.75, 12);
  });
});

describe('a root in a bracket', () => {
  test('is found to the tolerance for the usual hard cases, within the steps of a bisection', () => {
    const dottie = findRoot((x) => Math.cos(x) - x, 0, 1);
    // Fixed point of the cosine, OEIS A003957.
    expect(dottie.status === 'found' && dottie.x).toBeCloseTo(0.7390851332151607, 11);
    const steep = findRoot((x) => x ** 9 - 1e-6, 0, 10);
    expect(steep.status === 'found' && steep.x).toBeCloseTo(1e-6 ** (1 / 9), 10);
    expect(steep.status === 'found' && steep.evaluations).toBeLessThan(48);
    const smooth = findRoot((x) => Math.exp(x) - 2, 0, 3);
    expect(smooth.status === 'found' && smooth.x).toBeCloseTo(Math.LN2, 11);
    expect(smooth.status === 'found' && smooth.evaluations).toBeLessThan(15);
  });

  test('is found wherever it lies', () => {
    fc.assert(
      fc.property(fc.double({ min: -100, max: 100, noNaN: true }), (at) => {
        const result = findRoot((x) => Math.atan(x - at), -101, 101);
        expect(result.status).toBe('found');
        if (result.status === 'found') expect(Math.abs(result.x - at)).toBeLessThan(1e-9);
      }),
      seeded,
    );
  });

  test('an end that is the root is the root', () => {
    expect(findRoot((x) => x, 0, 1)).toMatchObject({ status: 'found', x: 0 });
    expect(findRoot((x) => x - 1, 0, 1)).toMatchObject({ status: 'found', x: 1 });
  });

  test('no change of sign, a pole, a step and a broken function are told apart', () => {
    expect(findRoot((x) => x * x + 1, -1, 1)).toEqual({ status: 'noBracket', atLow: 2, atHigh: 2 });
    expect(findRoot((x) => 1 / (x - 0.3), 0, 1).status).toBe('jump');
    expect(findRoot((x) => (x < 0.3 ? -1 : 1), 0, 1).status).toBe('jump');
    expect(findRoot((x) => Math.log(x), 0, 2)).toEqual({ status: 'notFinite', x: 0 });
    expect(() => findRoot((x) => x, 1, 1)).toThrow(RangeError);
  });
});
