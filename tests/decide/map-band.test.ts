import { describe, expect, test } from 'vitest';
import { bandOf, leastOf, pointsAlong, reachOf } from '../../src/decide/map-band.ts';
import { squeeze } from '../../src/verdict/margins.ts';
import type { Judged } from '../../src/types.ts';

const judged = (part: Partial<Judged>): Judged => ({
  id: 'gain',
  title: 'Gain',
  unit: 'V',
  value: 12,
  low: 9,
  high: 15,
  newTube: 20,
  margin: 0.2,
  status: 'marginal',
  reason: '',
  limit: { text: '', sense: 'atLeast', bound: 10, reason: '', source: '' },
  ...part,
});
const GAIN = [{ spec: { measure: 'gain' } }];

describe('the band around the boundary', () => {
  test('an interval reaches as far as its ends lie from its middle, whichever side is safe', () => {
    const { low, high } = reachOf([0, 0], GAIN, [judged({})]);
    expect(squeeze(0.2) + low[0]!).toBeCloseTo(squeeze(-0.1));
    expect(squeeze(0.2) + high[0]!).toBeCloseTo(squeeze(0.5));
    const most = judged({ limit: { ...judged({}).limit!, sense: 'atMost' }, margin: -0.2 });
    const other = reachOf([0, 0], GAIN, [most]);
    expect(squeeze(-0.2) + other.low[0]!).toBeCloseTo(squeeze(-0.5));
    expect(squeeze(-0.2) + other.high[0]!).toBeCloseTo(squeeze(0.1));
  });

  test('a limit whose interval is known nowhere, and a margin without a number, are never taken as kept', () => {
    const none = reachOf([0, 0], GAIN, [judged({ low: null, high: null })]);
    const { low, high } = bandOf([[[3]], [[undefined]]], [none]);
    expect(low[0]![0]).toBeLessThan(0);
    expect(high[0]![0]).toBeGreaterThan(0);
    expect([low[1]![0], high[1]![0], leastOf([5, undefined])].every((one) => one! < 0)).toBe(true);
  });

  test('the reach is that of the nearest judged point, and the limit with the least margin decides', () => {
    const margins = [0, 1, 2].map(() => [[1, 2]]);
    const { low, decides } = bandOf(margins, [
      { at: [0, 0], low: [-0.1, -2], high: [0.1, 2] },
      { at: [1, 0], low: [-0.5, -0.1], high: [0.5, 0.1] },
    ]);
    expect(low[0]![0]).toBeCloseTo(squeeze(2) - 2, 3);
    expect(low[2]![0]).toBeCloseTo(squeeze(1) - 0.5, 3);
    expect([decides[0]![0], decides[2]![0]]).toEqual([1, 0]);
  });

  test('points along lines are evenly spread by length, corners included', () => {
    const line = [
      [0, 0],
      [1, 0],
      [1, 3],
    ] as const;
    const points = pointsAlong([line], (point) => point, 4);
    expect(points).toEqual([
      [0.5, 0],
      [1, 0.5],
      [1, 1.5],
      [1, 2.5],
    ]);
    expect(pointsAlong([], (point) => point, 4)).toEqual([]);
  });
});
