import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fitLeastSquares } from '../../src/numerics/least-squares.ts';
import type { FitParameter, FitRequest } from '../../src/numerics/least-squares.ts';

const seeded = { seed: 20240501, numRuns: 100 };
const xs = Array.from({ length: 12 }, (_, index) => index / 4);

/** y = a·exp(−b·x) + c, invented for these tests. */
const decay = ([a, b, c]: readonly number[], x: number): number =>
  (a as number) * Math.exp(-(b as number) * x) + (c as number);

const linear = (name: string, start: number, low: number, high: number): FitParameter => ({
  name,
  start,
  low,
  high,
  scale: 'linear',
});

function decayRequest(data: readonly number[], unit = 1): FitRequest {
  return {
    parameters: [
      { name: 'a', start: 1 * unit, low: 0.01 * unit, high: 100 * unit, scale: 'log' },
      { name: 'b', start: 1, low: 0.01, high: 20, scale: 'log' },
      linear('c', 0, -10 * unit, 10 * unit),
    ],
    residuals: (p) => xs.map((x, index) => decay(p, x) - (data[index] as number)),
  };
}

function fitted(request: FitRequest) {
  const result = fitLeastSquares(request);
  if (result.status === 'failed') throw new Error(result.message);
  return result;
}

const truth = fc.tuple(
  fc.double({ min: 0.3, max: 20, noNaN: true }),
  fc.double({ min: 0.2, max: 5, noNaN: true }),
  fc.double({ min: -5, max: 5, noNaN: true }),
);

describe('least squares', () => {
  test('a fit to points that a model made returns the model', () => {
    fc.assert(
      fc.property(truth, (p) => {
        const result = fitted(decayRequest(xs.map((x) => decay(p, x))));
        expect(result.status).toBe('converged');
        ['a', 'b', 'c'].forEach((name, index) => {
          expect(Math.abs((result.values[name] as number) - (p[index] as number))).toBeLessThan(
            1e-6 * (1 + Math.abs(p[index] as number)),
          );
        });
      }),
      seeded,
    );
  });

  test('the units of parameters and residuals do not change the answer', () => {
    fc.assert(
      fc.property(truth, fc.integer({ min: -6, max: 6 }), (p, power) => {
        const unit = 10 ** power;
        const noisy = xs.map((x, index) => decay(p, x) + 0.01 * Math.sin(7 * index));
        const plain = fitted(decayRequest(noisy));
        const scaled = fitted(
          decayRequest(
            noisy.map((y) => y * unit),
            unit,
          ),
        );
        expect(scaled.status).toBe('converged');
        expect(plain.status).toBe('converged');
        expect((scaled.values['a'] as number) / unit / (plain.values['a'] as number)).toBeCloseTo(
          1,
          5,
        );
        expect((scaled.values['b'] as number) / (plain.values['b'] as number)).toBeCloseTo(1, 5);
        expect((scaled.standardErrors['b'] ?? 0) / (plain.standardErrors['b'] ?? 1)).toBeCloseTo(
          1,
          4,
        );
      }),
      seeded,
    );
  });

  test('a straight line has the textbook estimate, standard errors and correlation', () => {
    // Closed form of simple regression, e.g. NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1.
    const data = xs.map((x, index) => 2 + 3 * x + 0.1 * Math.cos(5 * index));
    const mean = (of: readonly number[]): number => of.reduce((sum, v) => sum + v, 0) / of.length;
    const middle = mean(xs);
    const spread = xs.reduce((sum, x) => sum + (x - middle) ** 2, 0);
    const slope = xs.reduce((sum, x, i) => sum + (x - middle) * (data[i] as number), 0) / spread;
    const intercept = mean(data) - slope * middle;
    const rss = xs.reduce(
      (sum, x, i) => sum + ((data[i] as number) - intercept - slope * x) ** 2,
      0,
    );
    const s = Math.sqrt(rss / (xs.length - 2));
    const result = fitted({
      parameters: [linear('intercept', 0, -100, 100), linear('slope', 0, -100, 100)],
      residuals: ([a, b]) =>
        xs.map((x, i) => (a as number) + (b as number) * x - (data[i] as number)),
      jacobian: () => xs.map((x) => [1, x]),
    });
    expect(result.status).toBe('converged');
    expect(result.values['slope']).toBeCloseTo(slope, 9);
    expect(result.values['intercept']).toBeCloseTo(intercept, 9);
    expect(result.standardErrors['slope']).toBeCloseTo(s / Math.sqrt(spread), 9);
    expect(result.standardErrors['intercept']).toBeCloseTo(
      s * Math.sqrt(1 / xs.length + middle ** 2 / spread),
      9,
    );
    expect(result.correlations).toHaveLength(1);
    expect(result.correlations[0]?.value).toBeCloseTo(
      -middle / Math.sqrt(spread / xs.length + middle ** 2),
      9,
    );
  });

  test('an answer outside the bounds ends at the bound, is said so, and has no standard error', () => {
    fc.assert(
      fc.property(fc.double({ min: 5.5, max: 9, noNaN: true }), (high) => {
        const request = decayRequest(xs.map((x) => decay([2, 1, high], x)));
        const parameters = request.parameters.map((parameter) =>
          parameter.name === 'c' ? { ...parameter, high: 5 } : parameter,
        );
        const result = fitted({ ...request, parameters });
        expect(result.status).toBe('converged');
        expect(result.atBound).toContain('c');
        expect(result.values['c']).toBe(5);
        expect(result.standardErrors['c']).toBeNull();
      }),
      seeded,
    );
  });

  test('a parameter that the residuals do not feel is reported as never moved, without a standard error', () => {
    const request = decayRequest(xs.map((x) => decay([2, 1, 0.5], x) + 0.01 * Math.sin(9 * x)));
    const result = fitted({
      ...request,
      parameters: [...request.parameters, linear('idle', 3, 0, 9)],
    });
    expect(result.status).toBe('converged');
    expect(result.neverMoved).toEqual(['idle']);
    expect(result.values['idle']).toBe(3);
    expect(result.standardErrors['idle']).toBeNull();
    expect(result.standardErrors['b']).toBeGreaterThan(0);
  });

  test('two parameters of which only the sum counts have no standard errors, the others do', () => {
    const data = xs.map((x) => 4 + 2 * x + 0.05 * Math.sin(9 * x));
    const result = fitted({
      parameters: [linear('p', 0, -10, 10), linear('q', 1, -10, 10), linear('slope', 0, -10, 10)],
      residuals: ([p, q, m]) =>
        xs.map((x, i) => (p as number) + (q as number) + (m as number) * x - (data[i] as number)),
    });
    expect(result.status).toBe('converged');
    expect(result.standardErrors['p']).toBeNull();
    expect(result.standardErrors['q']).toBeNull();
    expect(result.standardErrors['slope']).toBeGreaterThan(0);
  });

  test('a fixed parameter stays where it was put', () => {
    const request = decayRequest(xs.map((x) => decay([2, 1, 0.5], x)));
    const parameters = request.parameters.map((parameter) =>
      parameter.name === 'c' ? { ...parameter, start: 0.5, fixed: true } : parameter,
    );
    const result = fitted({ ...request, parameters });
    expect(result.values['c']).toBe(0.5);
    expect(result.values['a']).toBeCloseTo(2, 7);
    expect(result.neverMoved).toEqual([]);
  });

  test('several starts find the frequency that one start misses, with the same answer every time', () => {
    const many = Array.from({ length: 60 }, (_, index) => index / 10);
    const request: FitRequest = {
      parameters: [linear('frequency', 1, 0.5, 12)],
      residuals: ([f]) => many.map((x) => Math.sin((f as number) * x) - Math.sin(7 * x)),
    };
    const lone = fitted(request);
    expect(lone.residualSumOfSquares).toBeGreaterThan(1);
    const first = fitted({ ...request, starts: 40, seed: 'frequency' });
    expect(first.status).toBe('converged');
    expect(first.values['frequency']).toBeCloseTo(7, 8);
    expect(fitted({ ...request, starts: 40, seed: 'frequency' })).toEqual(first);
  });

  test('running out of iterations is stalled, never converged', () => {
    const data = xs.map((x) => decay([15, 4, -3], x));
    const result = fitted({ ...decayRequest(data), maxIterations: 2 });
    expect(result.status).toBe('stalled');
    expect(result.message).toContain('2 iterations');
  });

  test('an absolute tolerance ends the search early', () => {
    const data = xs.map((x) => decay([15, 4, -3], x));
    const early = fitted({ ...decayRequest(data), absoluteTolerance: 0.01 });
    expect(early.status).toBe('converged');
    expect(early.residualSumOfSquares).toBeLessThanOrEqual(0.01);
    expect(early.evaluations).toBeLessThan(fitted(decayRequest(data)).evaluations);
  });

  test('too few residuals, and residuals that are not numbers at the start, are failures that say so', () => {
    const parameters = [linear('a', 0, -1, 1), linear('b', 0, -1, 1)];
    expect(fitLeastSquares({ parameters, residuals: ([a]) => [a as number] })).toMatchObject({
      status: 'failed',
      message: expect.stringContaining('1 residuals') as string,
    });
    expect(fitLeastSquares({ parameters, residuals: () => [1, NaN, 2] })).toMatchObject({
      status: 'failed',
      message: expect.stringContaining('Residual 1') as string,
    });
  });

  test('a region where the model breaks down is stepped around', () => {
    // ln(x − p) is not defined for p ≥ 1; the answer p = 0.9 lies close to that edge.
    const points = [1, 1.5, 2, 3];
    const result = fitted({
      parameters: [linear('p', -50, -100, 10)],
      residuals: ([p]) => points.map((x) => Math.log(x - (p as number)) - Math.log(x - 0.9)),
    });
    expect(result.status).toBe('converged');
    expect(result.values['p']).toBeCloseTo(0.9, 8);
  });

  test('a wrong request is refused at once', () => {
    const residuals = (): number[] => [0, 0];
    const refused = (parameter: FitParameter): void =>
      expect(() => fitLeastSquares({ parameters: [parameter], residuals })).toThrow(RangeError);
    refused(linear('a', 5, 0, 1));
    refused(linear('a', 1, 1, 1));
    refused(linear('a', NaN, 0, 1));
    refused({ ...linear('a', 0.5, 0, 1), scale: 'log' });
  });
});
