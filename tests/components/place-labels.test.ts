import { expect, test } from 'vitest';
import {
  boxOf,
  lengthIn,
  placeLabels,
  type Box,
  type Label,
  type Surroundings,
} from '../../components/curve-chart/place-labels.ts';

const AROUND: Surroundings = {
  bounds: { left: 0, top: 0, right: 300, bottom: 200 },
  taken: [],
  curves: [],
};
const label = (width: number, ...spots: (readonly [number, number])[]): Label => ({
  width,
  spots: spots.map(([x, y]) => ({ x, y })),
});
const meet = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

test('words that want the same spot stand apart, and the first keeps it', () => {
  const labels = [label(80, [100, 100], [100, 140]), label(80, [120, 100], [120, 60])];
  const spots = placeLabels(labels, AROUND);
  expect(spots).toEqual([
    { x: 100, y: 100 },
    { x: 120, y: 60 },
  ]);
  const [a, b] = spots.map((spot, i) => boxOf(spot!, labels[i]!.width)) as [Box, Box];
  expect(meet(a, b)).toBe(false);
});

test('words keep off a mark, off a curve where they can, and within the picture', () => {
  const one = label(60, [100, 100], [100, 150]);
  const mark = { left: 110, top: 92, right: 124, bottom: 106 };
  expect(placeLabels([one], { ...AROUND, taken: [mark] })).toEqual([{ x: 100, y: 150 }]);
  const curve = [
    [0, 97],
    [300, 97],
  ] as const;
  expect(placeLabels([one], { ...AROUND, curves: [curve] })).toEqual([{ x: 100, y: 150 }]);
  expect(placeLabels([label(60, [290, 300])], AROUND)).toEqual([{ x: 240, y: 197 }]);
});

test('what may be left out is left out rather than written over others', () => {
  const first = label(60, [100, 100]);
  expect(placeLabels([first, { ...first, optional: true }], AROUND)[1]).toBeUndefined();
  expect(placeLabels([first, first], AROUND)[1]).toEqual({ x: 100, y: 100 });
});

test('words that were set first move for those that have nowhere else to go', () => {
  const spots = placeLabels([label(60, [100, 100], [100, 140]), label(60, [100, 100])], AROUND);
  expect(spots).toEqual([
    { x: 100, y: 140 },
    { x: 100, y: 100 },
  ]);
});

test('the length of a curve within a box', () => {
  const box = { left: 0, top: 0, right: 10, bottom: 10 };
  expect(lengthIn([-5, 5], [15, 5], box)).toBeCloseTo(10);
  expect(lengthIn([0, 0], [20, 20], box)).toBeCloseTo(Math.hypot(10, 10));
  expect(lengthIn([5, 5], [5, 8], box)).toBeCloseTo(3);
  expect(lengthIn([-5, 12], [15, 12], box)).toBe(0);
});
