import { describe, expect, test } from 'vitest';
import { certifiedSets } from '../reference/nist-strd.ts';
import type { CertifiedSet } from '../reference/nist-strd.ts';
import { fitLeastSquares } from '../../src/numerics/least-squares.ts';
import type { FitParameter, FitResult } from '../../src/numerics/least-squares.ts';

/** Decimal digits on which a value agrees with a certified one: the "log relative error" of the StRD. */
const digits = (value: number, certified: number): number =>
  value === certified ? 15 : -Math.log10(Math.abs((value - certified) / certified));

/**
 * Bounds that know nothing but the sign: a thousand times the larger start outward, and inward to 0 (linear) or twelve
 * decades (log).
 */
function parametersOf(
  set: CertifiedSet,
  start: readonly number[],
  scale: 'linear' | 'log',
): FitParameter[] {
  return start.map((value, index) => {
    const reach = 1000 * Math.max(...set.starts.map((other) => Math.abs(other[index] as number)));
    const name = `b${index + 1}`;
    if (value < 0) return { name, start: value, low: -reach, high: 0, scale: 'linear' };
    return { name, start: value, low: scale === 'log' ? reach * 1e-12 : 0, high: reach, scale };
  });
}

function fit(set: CertifiedSet, start: readonly number[], scale: 'linear' | 'log'): FitResult {
  return fitLeastSquares({
    parameters: parametersOf(set, start, scale),
    residuals: (b) => set.x.map((x, index) => set.model(b, x) - (set.y[index] as number)),
  });
}

/** Famous for it: no descent from here finds the answer when the parameters are taken linearly in such wide bounds. */
const ESCAPES: Readonly<Record<string, string>> = {
  'BoxBOD 1': 'runs into the plateau where the exponential is over',
  'MGH10 1': 'creeps along a curved valley over three decades',
};

const runs = certifiedSets.flatMap((set) =>
  set.starts.flatMap((start, index) =>
    (['linear', 'log'] as const).map((scale) => ({
      set,
      start,
      scale,
      key: `${set.name} ${index + 1}`,
    })),
  ),
);

describe('NIST StRD, nonlinear regression', () => {
  for (const { set, start, scale, key } of runs) {
    if (scale === 'linear' && key in ESCAPES) {
      test(`${key} on linear scales is reported as stalled: it ${ESCAPES[key]}`, () => {
        expect(fit(set, start, scale).status).toBe('stalled');
      });
      continue;
    }
    test(`${key} on ${scale} scales agrees with the certified values to 6 digits, its standard errors to 5`, () => {
      const result = fit(set, start, scale);
      expect(result.status).toBe('converged');
      if (result.status === 'failed') return;
      set.certified.forEach((certified, index) => {
        expect(digits(result.values[`b${index + 1}`] as number, certified)).toBeGreaterThan(6);
        const error = result.standardErrors[`b${index + 1}`];
        expect(digits(error ?? 0, set.standardErrors[index] as number)).toBeGreaterThan(5);
      });
      expect(digits(result.residualSumOfSquares, set.residualSumOfSquares)).toBeGreaterThan(8);
      expect(result.atBound).toEqual([]);
    });
  }
});
