import { describe, expect, test } from 'vitest';
import { lastPassing } from '../../src/numerics/last-passing.ts';
import { chiSquareQuantile, wilsonInterval } from '../../src/numerics/proportion.ts';
import { kruskalWallis, midRanks, spearman } from '../../src/numerics/ranks.ts';

describe('ranks', () => {
  test('equal values share the middle of their ranks', () => {
    expect(midRanks([3, 1, 3, 2])).toEqual([3.5, 1, 3.5, 2]);
    expect(midRanks([])).toEqual([]);
  });

  test('Spearman: the worked example of ten pairs without ties, 1 − 6·194/(10·99) (statistics textbooks, from memory)', () => {
    const iq = [106, 100, 86, 101, 99, 103, 97, 113, 112, 110];
    const hours = [7, 27, 2, 50, 28, 29, 20, 12, 6, 17];
    expect(spearman(iq, hours)).toBeCloseTo(1 - (6 * 194) / 990, 12);
  });

  test('Spearman sees only the order, and is 0 where one of the two stands still', () => {
    const x = [1, 2, 3, 4, 5];
    expect(
      spearman(
        x,
        x.map((each) => -Math.exp(each)),
      ),
    ).toBeCloseTo(-1, 12);
    expect(spearman(x, [7, 7, 7, 7, 7])).toBe(0);
    expect(() => spearman(x, [1])).toThrow(RangeError);
  });

  test('Kruskal and Wallis: three against three wholly apart give 3.857, the largest of their table (1952, from memory)', () => {
    const { h, freedom } = kruskalWallis([1, 2, 3, 4, 5, 6], [0, 0, 0, 1, 1, 1]);
    expect(h).toBeCloseTo(27 / 7, 12);
    expect(freedom).toBe(1);
  });
});

describe('a share from a count', () => {
  test.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])(
    '%i of %i: the score interval of Newcombe (1998), table I, method 3',
    (hits, of, low, high) => {
      const found = wilsonInterval(hits, of, 0.95);
      expect(found.low).toBeCloseTo(low, 4);
      expect(found.high).toBeCloseTo(high, 4);
    },
  );

  test('all or none of them never give a sure thing', () => {
    expect(wilsonInterval(64, 64)).toMatchObject({ high: 1 });
    expect(wilsonInterval(64, 64).low).toBeLessThan(1);
    expect(wilsonInterval(0, 64).high).toBeGreaterThan(0);
    expect(() => wilsonInterval(2, 1)).toThrow(RangeError);
  });

  test.each([
    [1, 3.841],
    [3, 7.815],
    [10, 18.307],
  ])(
    'χ² at 95 %%, %i degrees of freedom: %f (Handbook of Mathematical Functions, table 26.8)',
    (freedom, value) => {
      expect(Math.abs(chiSquareQuantile(0.95, freedom) / value - 1)).toBeLessThan(
        freedom === 1 ? 0.03 : 0.01,
      );
    },
  );
});

describe('the last of a row that passes', () => {
  const count = 90;
  test.for([0, 1, 2, 17, 44, 88, 89])(
    '%i, found in fewer trials than bisection may need twice',
    async (edge) => {
      for (const shape of [(x: number) => x, (x: number) => Math.sign(x) * x * x, Math.sign]) {
        let trials = 0;
        const found = await lastPassing(count, shape(edge + 0.5), (index) => {
          trials++;
          return Promise.resolve(shape(edge + 0.5 - index));
        });
        expect(found).toBe(edge);
        expect(trials).toBeLessThanOrEqual(2 * Math.ceil(Math.log2(count)) + 1);
      }
    },
  );
});
