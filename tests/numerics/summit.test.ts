import fc from 'fast-check';
import { expect, test } from 'vitest';
import { firstSummit } from '../../src/numerics/summit.ts';

test('of any parabola that reaches a level between its points, the rising side is found', () => {
  fc.assert(
    fc.property(
      fc.double({ min: -0.45, max: 0.45, noNaN: true }),
      fc.double({ min: 0.3, max: 5, noNaN: true }),
      fc.double({ min: 0.1, max: 0.9, noNaN: true }),
      (top, bend, share) => {
        const of = (x: number): number => -bend * (x - top) ** 2;
        const x = [-2, -1, 0, 1, 2.5];
        const level = of(0) * share;
        fc.pre(level < 0 && level > of(0));
        const at = firstSummit(x, x.map(of), level)!;
        expect(of(at)).toBeCloseTo(level, 9);
        expect(at).toBeLessThanOrEqual(top + 1e-9);
      },
    ),
  );
});

test('a summit below the level, a valley, and a curve that rises to it from point to point have none', () => {
  const x = [0, 1, 2, 3];
  expect(firstSummit(x, [0, 1, 0.9, 0], 2)).toBeUndefined();
  expect(firstSummit(x, [1, 0, 0, 1], 1.01)).toBeUndefined();
  expect(firstSummit(x, [0, 1, 3, 2.9], 2)).toBeUndefined();
});

/** A stage's distortion against drive that turns back at the level: seven points of 67, and where the 67 cross. */
test('a distortion that turns back within a tenth of a per cent of the level, sampled thinly', () => {
  const drive = [0.057, 0.083, 0.122, 0.178, 0.261, 0.382, 0.56];
  const percent = [1.82, 2.56, 3.47, 4.38, 4.98, 4.99, 4.46];
  const at = firstSummit(drive.map(Math.log), percent.map(Math.log), Math.log(5));
  expect(Math.exp(at!)).toBeGreaterThan(0.25);
  expect(Math.exp(at!)).toBeLessThan(0.28);
});
