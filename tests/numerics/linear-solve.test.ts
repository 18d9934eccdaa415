import { lusolve, type Matrix } from 'mathjs';
import { describe, expect, test } from 'vitest';
import { factored } from '../../src/numerics/linear-solve.ts';
import { seededRandom } from '../../src/numerics/random.ts';

describe('small linear systems', () => {
  test('agree with mathjs, rows of very unlike size included', () => {
    const random = seededRandom('linear systems');
    for (const n of [1, 2, 5, 12]) {
      const rows = Array.from({ length: n }, (_, i) =>
        Array.from({ length: n }, () => (random.next() - 0.5) * 10 ** (3 * (i % 5) - 6)),
      );
      const rhs = Array.from({ length: n }, () => random.next());
      const theirs = lusolve(rows, rhs) as number[][] | Matrix as number[][];
      const ours = factored(Float64Array.from(rows.flat()), n)(Float64Array.from(rhs));
      ours.forEach((x, i) => expect(x / theirs[i]![0]!).toBeCloseTo(1, 8));
    }
  });

  test('a zero on the diagonal is no matter; a singular matrix is an error', () => {
    const solve = factored(Float64Array.of(0, 2, 3, 0), 2);
    expect([...solve(Float64Array.of(4, 9))]).toEqual([3, 2]);
    expect([...solve(Float64Array.of(0, 3))]).toEqual([1, 0]);
    expect(() => factored(Float64Array.of(1, 2, 2, 4), 2)).toThrow(RangeError);
  });
});
