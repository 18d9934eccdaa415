import { all, create } from 'mathjs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { normalCdf, normalQuantile, Z90 } from '../../src/numerics/normal.ts';
import { quantile, weightedQuantile } from '../../src/numerics/quantiles.ts';
import { seededRandom, xoshiro128ss } from '../../src/numerics/random.ts';

const mathjs = create(all ?? {}, {});
const seeded = { seed: 11, numRuns: 200 };

describe('the standard normal', () => {
  test('has the probabilities of the printed table', () => {
    // Abramowitz & Stegun, Handbook of Mathematical Functions, table 26.1 (15 decimals).
    const table: [number, number][] = [
      [0, 0.5],
      [0.5, 0.691462461274013],
      [1, 0.841344746068543],
      [1.5, 0.933192798731142],
      [2, 0.977249868051821],
      [3, 0.99865010196837],
    ];
    for (const [z, p] of table) {
      expect(Math.abs(normalCdf(z) - p)).toBeLessThan(1e-14);
      expect(Math.abs(normalCdf(-z) - (1 - p))).toBeLessThan(1e-14);
    }
    // Ibid., table 26.2 gives −log10 Q(x): Q(5) = 10^−6.54265, Q(10) = 10^−23.11805.
    expect(-Math.log10(normalCdf(-5))).toBeCloseTo(6.54265, 5);
    expect(-Math.log10(normalCdf(-10))).toBeCloseTo(23.11805, 5);
  });

  test('agrees with the error function of mathjs', () => {
    for (let z = -5; z <= 5; z += 0.037) {
      expect(Math.abs(normalCdf(z) - (1 + mathjs.erf(z / Math.SQRT2)) / 2)).toBeLessThan(1e-14);
    }
  });

  test('has the published percentage points', () => {
    // NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.1; digits beyond three from memory.
    const points: [number, number][] = [
      [0.9, 1.2815515655],
      [0.95, 1.644853627],
      [0.975, 1.9599639845],
      [0.99, 2.326347874],
      [0.995, 2.5758293035],
    ];
    for (const [u, z] of points) {
      expect(Math.abs(normalQuantile(u) - z)).toBeLessThan(1e-9);
      expect(Math.abs(normalQuantile(1 - u) + z)).toBeLessThan(1e-9);
    }
    expect(Z90).toBeCloseTo(1.644853627, 9);
  });

  test('quantile and probability undo each other over the whole range', () => {
    for (let z = -8; z <= 5; z += 0.05) {
      expect(Math.abs(normalQuantile(normalCdf(z)) - z)).toBeLessThan(1e-9);
    }
    expect(normalCdf(normalQuantile(1e-200)) / 1e-200).toBeCloseTo(1, 9);
    expect([normalQuantile(0), normalQuantile(0.5), normalQuantile(1)]).toEqual([
      -Infinity,
      0,
      Infinity,
    ]);
    expect(normalQuantile(1.1)).toBeNaN();
    expect([normalCdf(-Infinity), normalCdf(Infinity)]).toEqual([0, 1]);
    expect(normalCdf(NaN)).toBeNaN();
  });
});

describe('quantiles', () => {
  test('agree with those of mathjs', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 1, maxLength: 30 }),
        fc.integer({ min: 1, max: 99 }).map((percent) => percent / 100),
        (values, share) => {
          const theirs = mathjs.quantileSeq(values, share) as unknown as number;
          expect(quantile(values, share)).toBeCloseTo(theirs, 6);
        },
      ),
      seeded,
    );
  });

  test('with equal weights are those of Hyndman and Fan, type 5', () => {
    // Type 5 places sample k of n at (k − ½)/n: of 10, 20, 30, 40 the quarter lies at 15 and the 0.9 at the top.
    const equal = [2, 2, 2, 2];
    expect(weightedQuantile([40, 10, 30, 20], equal, 0.25)).toBeCloseTo(15, 12);
    expect(weightedQuantile([40, 10, 30, 20], equal, 0.5)).toBeCloseTo(25, 12);
    expect(weightedQuantile([40, 10, 30, 20], equal, 0.9)).toBe(40);
    expect(weightedQuantile([40, 10, 30, 20], equal, 0)).toBe(10);
  });

  test('follow the weights: the heavy sample takes its share, weight 0 none', () => {
    expect(weightedQuantile([1, 2], [9, 1], 0.45)).toBe(1);
    expect(weightedQuantile([1, 2], [9, 1], 0.95)).toBe(2);
    expect(weightedQuantile([1, 2], [9, 1], 0.7)).toBeCloseTo(1.5, 12);
    expect(weightedQuantile([1, 2, 99], [1, 1, 0], 1)).toBe(2);
  });

  test('refuse what has no quantile', () => {
    expect(() => quantile([], 0.5)).toThrow(RangeError);
    expect(() => quantile([1, NaN], 0.5)).toThrow(RangeError);
    expect(() => quantile([1], 1.5)).toThrow(RangeError);
    expect(() => weightedQuantile([1], [0], 0.5)).toThrow(RangeError);
    expect(() => weightedQuantile([1, 2], [1], 0.5)).toThrow(RangeError);
    expect(quantile([1, Infinity, Infinity], 0.9)).toBe(Infinity);
  });
});

describe('the seeded generator', () => {
  test('gives the reference output of xoshiro128** from the state 1, 2, 3, 4', () => {
    // Output of the authors' C code 1.1, as the Rust crate rand_xoshiro checks it. The first two by hand:
    // rotl(2 · 5, 7) · 9 = 11520; the second state has 0 in that word.
    const next = xoshiro128ss([1, 2, 3, 4]);
    expect(Array.from({ length: 10 }, next)).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597,
      4258142804,
    ]);
  });

  test('repeats itself for a seed and differs between seeds, texts and numbers', () => {
    const take = (seed: string | number): number[] => {
      const random = seededRandom(seed);
      return Array.from({ length: 5 }, () => random.next());
    };
    expect(take('a')).toEqual(take('a'));
    const seeds = ['a', 'b', '1', 1, 2, 1.5, -1, '', 0];
    expect(new Set(seeds.map((seed) => take(seed).join())).size).toBe(seeds.length);
  });

  test('is even: mean, variance, chi-square of 16 cells and neighbours as they should be', () => {
    const random = seededRandom('even');
    const draws = Array.from({ length: 40_000 }, () => random.next());
    const mean = draws.reduce((sum, u) => sum + u, 0) / draws.length;
    const variance = draws.reduce((sum, u) => sum + (u - mean) ** 2, 0) / draws.length;
    expect(Math.abs(mean - 0.5)).toBeLessThan(4 * Math.sqrt(1 / 12 / draws.length));
    expect(variance).toBeCloseTo(1 / 12, 3);
    const cells = Array.from({ length: 16 }, () => 0);
    draws.forEach((u) => (cells[Math.floor(u * 16)] = (cells[Math.floor(u * 16)] ?? 0) + 1));
    const chiSquare = cells.reduce((sum, n) => sum + (n - 2500) ** 2 / 2500, 0);
    // 99.9 % point of chi-square with 15 degrees of freedom: 37.70 (NIST/SEMATECH e-Handbook 1.3.6.7.4).
    expect(chiSquare).toBeLessThan(37.7);
    const along = draws
      .slice(1)
      .reduce((sum, u, k) => sum + (u - 0.5) * ((draws[k] as number) - 0.5), 0);
    expect(Math.abs(along / draws.length / variance)).toBeLessThan(0.02);
    expect(new Set(Array.from({ length: 200 }, () => random.below(6)))).toEqual(
      new Set([0, 1, 2, 3, 4, 5]),
    );
  });
});

describe('the Latin hypercube', () => {
  const names = ['line', 'contact', 'leak'];
  const rows = latinHypercube(names, 100, 'seed');

  test('puts each unknown once into each slice of equal probability', () => {
    for (const name of names) {
      const slices = rows.map((row) => Math.floor(normalCdf(row[name] as number) * 100));
      expect(slices.toSorted((a, b) => a - b)).toEqual(Array.from({ length: 100 }, (_, k) => k));
    }
  });

  test('has the moments of the normal and little correlation', () => {
    for (const name of names) {
      const values = rows.map((row) => row[name] as number);
      expect(values.reduce((sum, z) => sum + z, 0)).toBeCloseTo(0, 9);
      expect(values.reduce((sum, z) => sum + z * z, 0) / 100).toBeCloseTo(1, 1);
    }
    const across = rows.reduce(
      (sum, row) => sum + (row['line'] as number) * (row['leak'] as number),
      0,
    );
    expect(Math.abs(across / 100)).toBeLessThan(0.3);
  });

  test('is the same for the same seed, another for another, and one more unknown leaves the others alone', () => {
    expect(latinHypercube(names, 100, 'seed')).toEqual(rows);
    expect(latinHypercube(names, 100, 'other')).not.toEqual(rows);
    expect(latinHypercube(names, 100, 1)).not.toEqual(latinHypercube(names, 100, '1'));
    const more = latinHypercube(['first', ...names], 100, 'seed');
    expect(more.map((row) => row['leak'])).toEqual(rows.map((row) => row['leak']));
  });

  test('takes one row, no names, and refuses no rows', () => {
    expect(latinHypercube(['a'], 1, 0)).toEqual([{ a: 0 }]);
    expect(latinHypercube([], 2, 0)).toEqual([{}, {}]);
    expect(() => latinHypercube(['a'], 0, 0)).toThrow(RangeError);
  });
});
