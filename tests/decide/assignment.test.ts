import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bestPlacing, type Fit } from '../../src/decide/assignment.ts';

type Fits = readonly (readonly (Fit | undefined)[])[];

/** Sure fits, other fits, worst margin, sum: compared in this order. */
function scoreOf(fits: Fits, placing: readonly (number | undefined)[]): number[] {
  const placed = placing.flatMap((row, k) => (row === undefined ? [] : [fits[row]![k]!]));
  return [
    placed.filter(({ sure }) => sure).length,
    placed.filter(({ sure }) => !sure).length,
    Math.min(...placed.map(({ margin }) => margin)),
    placed.reduce((sum, { margin }) => sum + margin, 0),
  ];
}

function better(a: readonly number[], b: readonly number[]): boolean {
  const k = a.findIndex((x, i) => Math.abs(x - b[i]!) > 1e-9 && x !== b[i]);
  return k >= 0 && a[k]! > b[k]!;
}

/** Every way there is. */
function brute(fits: Fits, columns: number): number[] {
  let best: number[] = [-1, -1, -Infinity, -Infinity];
  const walk = (placing: (number | undefined)[]): void => {
    if (placing.length === columns) {
      const score = scoreOf(fits, placing);
      if (better(score, best)) best = score;
      return;
    }
    walk([...placing, undefined]);
    fits.forEach((row, i) => {
      if (row[placing.length] !== undefined && !placing.includes(i)) walk([...placing, i]);
    });
  };
  walk([]);
  return best;
}

const fit = fc.option(
  fc.record({ sure: fc.boolean(), margin: fc.integer({ min: -10, max: 60 }).map((x) => x / 10) }),
  { nil: undefined, freq: 3 },
);
const table = fc
  .tuple(fc.integer({ min: 1, max: 5 }), fc.integer({ min: 1, max: 4 }))
  .chain(([rows, columns]) =>
    fc.array(fc.array(fit, { minLength: columns, maxLength: columns }), {
      minLength: rows,
      maxLength: rows,
    }),
  );

describe('placing', () => {
  test('is as good as the best of all ways, tried one by one', () => {
    fc.assert(
      fc.property(table, (fits) => {
        const columns = fits[0]!.length;
        const placing = bestPlacing(fits, columns);
        const used = placing.filter((row) => row !== undefined);
        expect(new Set(used).size).toBe(used.length);
        const found = scoreOf(fits, placing);
        const best = brute(fits, columns);
        found.forEach((value, k) => {
          if (Number.isFinite(best[k])) expect(value).toBeCloseTo(best[k]!, 6);
        });
      }),
      { numRuns: 300 },
    );
  });

  test('the worst place counts before the sum', () => {
    const sure = (margin: number): Fit => ({ sure: true, margin });
    // by the sum alone the first tube would take the first socket: 5 + 0.1 against 0.4 + 0.5
    expect(
      bestPlacing(
        [
          [sure(5), sure(0.4)],
          [sure(0.5), sure(0.1)],
        ],
        2,
      ),
    ).toEqual([1, 0]);
  });

  test('nothing fits: every socket stays empty; no tubes or no sockets are no error', () => {
    expect(bestPlacing([[undefined, undefined]], 2)).toEqual([undefined, undefined]);
    expect(bestPlacing([], 2)).toEqual([undefined, undefined]);
    expect(bestPlacing([[]], 0)).toEqual([]);
  });

  test('thirty tubes over twenty sockets, all of which fit, fill them all', () => {
    const fits = Array.from({ length: 30 }, (_, i) =>
      Array.from({ length: 20 }, (__, k): Fit => ({
        sure: true,
        margin: ((i * 7 + k * 13) % 29) / 29,
      })),
    );
    expect(bestPlacing(fits, 20).every((row) => row !== undefined)).toBe(true);
  });
});
