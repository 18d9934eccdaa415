import { expect, test } from 'vitest';
import { fitReadings, foresee, type Expectation } from '../../src/decide/in-set/likelihood.ts';

/** Readings of one point, or of two that one unknown moves alike: numbers of our own. */
const at = (expected: readonly number[], moves: Expectation['moves'] = []): Expectation => ({
  size: 1,
  expected,
  moves,
});

test('a reading between the draws of a tube of which much is open still fits it, one far outside does not', () => {
  const draws = [0, 1, 2, 4, 8, 16].map((volts) => at([volts]));
  const fit = (volts: number) => fitReadings([volts], [0.1], draws, 'draws');
  for (const volts of [0.5, 3, 6, 12]) expect(fit(volts).distance, `${volts} V`).toBeLessThan(1.5);
  expect(fit(60).distance).toBeGreaterThan(4);
  // and the more the draws leave open there, the less each reading says for it
  expect(fit(12).logLikelihood).toBeLessThan(fit(1).logLikelihood);
});

test('draws that all say the same stay sharp', () => {
  const draws = [5, 5, 5, 5].map((volts) => at([volts]));
  expect(fitReadings([5.5], [0.1], draws, 'draws').distance).toBeGreaterThan(4);
});

test('what moves two points alike was seen at the first: the second is expected with it, and more surely', () => {
  const [taken, next] = [[at([10], [[2]])], [at([20], [[4]])]];
  const told = { readings: [11], errors: [0.5], along: taken };
  const { mean, sd } = foresee(next, told, [1], 0, 'severities');
  // regression of the second on the first: 4·2/(2² + 0.5²) for each volt
  expect(mean).toBeCloseTo(20 + 8 / 4.25, 9);
  expect(sd ** 2).toBeCloseTo(16 - 64 / 4.25, 9);
});

test('an unknown that the first point does not show stays open at the second', () => {
  const told = { readings: [11], errors: [0.5], along: [at([10], [[0]])] };
  const { mean, sd } = foresee([at([20], [[4]])], told, [1], 0, 'severities');
  expect(mean).toBe(20);
  expect(sd).toBe(4);
});
