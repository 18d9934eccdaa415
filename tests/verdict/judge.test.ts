import { describe, expect, test } from 'vitest';
import type { ReadingKind } from '../../src/types.ts';
import { judgeMeasure, type Judgement } from '../../src/verdict/judge.ts';
import { POWER_LIMIT, powerFrom, powerPair } from './invented-measure.ts';

/** One measure of an invented stage, at least 2 asked; whatever a missing reading could turn out to be, it may not be told better without it. */
const spec = powerFrom(['emission']);

/** Sixty-one draws from low to high about a central value; `bad` is the central value with the reading plausibly bad. */
function judged(
  [low, central, high]: readonly [number, number, number],
  bad: Readonly<Partial<Record<ReadingKind, number>>> = {},
): Judgement {
  const draws = Array.from({ length: 61 }, (_, i) => powerPair(low + ((high - low) * i) / 60));
  return judgeMeasure(spec, [POWER_LIMIT], {
    central: powerPair(central),
    draws,
    failedShare: 0,
    unread: Object.entries(bad).map(([reading, power]) => ({
      reading: reading as ReadingKind,
      pair: powerPair(power),
    })),
    failed: undefined,
  });
}

describe('within the limit', () => {
  test('with all readings it is usable, however near the bad end stands', () => {
    expect(judged([2.05, 2.5, 2.9]).status).toBe('usable');
  });

  test('with a bad reading beyond the limit it is undetermined, declared or not', () => {
    expect(judged([2.4, 2.6, 2.8], { emission: 1.5 })).toMatchObject({
      status: 'undetermined',
      missing: 'emission',
    });
    expect(judged([2.4, 2.6, 2.8], { leakage: 1.5 })).toMatchObject({
      status: 'undetermined',
      missing: 'leakage',
    });
  });

  test('a reading that bears on it must leave it inside by more than a hair', () => {
    expect(judged([2.08, 2.5, 2.9], { emission: 2.5 }).status).toBe('marginal');
    expect(judged([2.2, 2.5, 2.9], { emission: 2.5 }).status).toBe('usable');
  });

  test('a reading that changes nothing asks for nothing', () => {
    expect(judged([2.08, 2.5, 2.9], { leakage: 2.5 }).status).toBe('usable');
  });

  test('a bad cathode has to pass with what else is uncertain', () => {
    // 0.18 below the central case is uncertain already: 2.25 less that is too near 2, 2.45 is not
    expect(judged([2.3, 2.5, 2.7], { starvedHeater: 2.25 }).status).toBe('marginal');
    expect(judged([2.3, 2.5, 2.7], { starvedHeater: 2.45 }).status).toBe('usable');
  });
});

describe('the limit inside the interval', () => {
  test('is marginal, and undetermined where a reading could put all of it beyond', () => {
    expect(judged([1.5, 1.8, 2.2]).status).toBe('marginal');
    // beyond the limit already and no worse with the reading bad: it could only make that certain
    expect(judged([1.5, 1.8, 2.2], { emission: 1.8 }).status).toBe('undetermined');
    expect(judged([1.5, 1.8, 2.2], { emission: 2.4 }).status).toBe('marginal');
    expect(judged([1.5, 1.8, 2.2], { leakage: 1.8 }).status).toBe('marginal');
  });

  test('with the central case inside it is so where the reading would make it worse', () => {
    expect(judged([1.9, 2.3, 2.7], { emission: 2 }).status).toBe('undetermined');
    expect(judged([1.9, 2.3, 2.7], { emission: 2.35 }).status).toBe('marginal');
  });
});

test('wholly beyond the limit it is unsuitable, whatever is missing', () => {
  expect(judged([1, 1.4, 1.8], { emission: 0.5 }).status).toBe('unsuitable');
});
