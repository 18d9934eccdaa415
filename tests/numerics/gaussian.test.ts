import { det, inv, multiply } from 'mathjs';
import { expect, test } from 'vitest';
import { conditional, logNormalDensity } from '../../src/numerics/gaussian.ts';

test('one dimension is the normal density', () => {
  expect(logNormalDensity([0], [[1]])).toBeCloseTo(-0.9189385332, 9);
  expect(logNormalDensity([3], [[4]])).toBeCloseTo(-0.9189385332 - Math.log(2) - 9 / 8, 9);
});

test('three dimensions agree with the formula worked by mathjs', () => {
  const covariance = [
    [2, 0.3, -0.4],
    [0.3, 1, 0.2],
    [-0.4, 0.2, 0.5],
  ];
  const difference = [0.7, -1.1, 0.4];
  const square = multiply(multiply(difference, inv(covariance)), difference) as unknown as number;
  const expected = -0.5 * (square + Math.log(det(covariance)) + 3 * Math.log(2 * Math.PI));
  expect(logNormalDensity(difference, covariance)).toBeCloseTo(expected, 10);
});

test('a covariance that is none is refused', () => {
  expect(() =>
    logNormalDensity(
      [1, 1],
      [
        [1, 2],
        [2, 1],
      ],
    ),
  ).toThrow(RangeError);
});

test('what is left open of a variable when others are known agrees with the inverse of the joint covariance', () => {
  // mean and variance of the last of three, given the first two: from the precision matrix, worked by mathjs
  const joint = [
    [2, 0.3, -0.4],
    [0.3, 1, 0.2],
    [-0.4, 0.2, 0.5],
  ];
  const precision = inv(joint);
  const seen = [0.7, -1.1];
  const own = precision[2]![2]!;
  const found = conditional(seen, [joint[0]!.slice(0, 2), joint[1]!.slice(0, 2)], [-0.4, 0.2], 0.5);
  expect(found.variance).toBeCloseTo(1 / own, 12);
  expect(found.shift).toBeCloseTo(
    -(precision[2]![0]! * seen[0]! + precision[2]![1]! * seen[1]!) / own,
    12,
  );
});

test('a variable that the others tell wholly has no variance left', () => {
  const { shift, variance } = conditional([0.5], [[4]], [8], 16);
  expect(shift).toBeCloseTo(1, 12);
  expect(variance).toBe(0);
});
