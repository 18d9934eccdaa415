import { describe, expect, test } from 'vitest';
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { normalCdf } from '../../src/numerics/normal.ts';
import type { Draw, MeasureSpec, Status } from '../../src/types.ts';
import { howSure, type Input } from '../../src/verdict/how-sure.ts';
import { judgeMeasure } from '../../src/verdict/judge.ts';
import { compileLimit } from '../../src/verdict/limit.ts';

/** Margins made by formulas whose shares are known. */
const limit = compileLimit(
  { measure: 'gain', formula: 'gain >= 10', reason: 'invented', source: 'invented' },
  ['gain'],
  'limits',
);
const spec: MeasureSpec = {
  id: 'gain',
  title: 'Gain',
  unit: '×',
  step: 'only',
  what: 'invented',
  of: () => 0,
  readings: ['emission'],
};
const INPUTS: readonly Input[] = [
  { name: 'emissionReading', group: 'emission', known: 'read', title: 'error of the reading' },
  { name: 'leak', group: 'leakage', known: 'read', title: 'grid leakage' },
  { name: 'leakPath', group: 'leakPath', known: 'prior', title: 'path of the grid leakage' },
  { name: 'contactPotential', group: 'contactPotential', known: 'prior', title: 'contact' },
  { name: 'R1', group: 'parts', known: 'prior', title: 'plate load' },
];

function sure(gain: (draw: Draw) => number, status: Status = 'marginal', count = 128) {
  const draws = latinHypercube(
    INPUTS.map(({ name }) => name),
    count,
    'how sure',
  );
  const pairs = draws.map((draw) => ({ draw, own: { gain: gain(draw) }, newTube: {} }));
  const judgement = judgeMeasure(spec, [limit], {
    central: { own: { gain: gain({}) }, newTube: {} },
    draws: pairs,
    failedShare: 0,
    unread: [],
    failed: undefined,
  });
  return howSure(pairs, [limit], judgement, status, INPUTS)!;
}
const z = (draw: Draw, name: string): number => draw[name] ?? 0;

describe('how sure', () => {
  test('a sum of two inputs is shared as their variances are, 16 to 4, and the others are not named', () => {
    const found = sure((draw) => 10 + 0.4 * (4 * z(draw, 'emissionReading') + 2 * z(draw, 'leak')));
    expect(found.inputs.map(({ group }) => group).slice(0, 2)).toEqual(['emission', 'leakage']);
    expect(Math.abs(found.inputs[0]!.share - 0.8)).toBeLessThan(0.12);
    expect(Math.abs(found.inputs[1]!.share - 0.2)).toBeLessThan(0.12);
    expect(found.inputs.length).toBeLessThanOrEqual(3);
    expect(found.advice).toMatch(/read the emission once more/);
    expect(found.measure).toBe('gain');
  });

  test('a path that is good at both ends and bad in the middle is found, which no correlation would', () => {
    const found = sure((draw) => (Math.abs(normalCdf(z(draw, 'leakPath')) - 0.5) < 0.25 ? 8 : 12));
    expect(found.inputs[0]).toMatchObject({ group: 'leakPath' });
    expect(found.inputs[0]!.share).toBeGreaterThan(0.5);
    expect(found.advice).toMatch(/one electrode at a time/);
  });

  test('a part is named, to be measured in the set', () => {
    expect(sure((draw) => 10 + z(draw, 'R1')).advice).toMatch(/measure the plate load in the set/);
  });

  test('counts what lies within every limit: half of them here, with the score interval about it', () => {
    const found = sure((draw) => 10 + z(draw, 'leak'));
    expect(found).toMatchObject({ within: 64, of: 128, share: 0.5 });
    expect(found.low).toBeCloseTo(0.428, 2);
    expect(found.high).toBeCloseTo(0.572, 2);
    expect(found.sentence).toMatch(/^64 of 128 tubes/);
  });

  test('where nothing varies nothing is blamed, and where all are inside no repetition is asked', () => {
    expect(sure(() => 12, 'usable')).toMatchObject({
      within: 128,
      inputs: [],
      advice: 'More exact readings would hardly change this verdict.',
    });
  });

  test('a draw without a number does not lie within the limit', () => {
    const pairs = [{ draw: {}, own: { gain: { noValue: 'stopped' } }, newTube: {} }];
    expect(howSure(pairs, [limit], undefined, 'marginal', INPUTS)).toMatchObject({ within: 0 });
    expect(howSure([], [limit], undefined, 'marginal', INPUTS)).toBeUndefined();
  });
});
