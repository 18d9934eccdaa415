import type { AcceptanceMap, MapCell } from '../../src/decide/map.ts';

/** A made-up map of 9 × 9 cells for the tests of what shows one: the least margin is a plane, its interval 0.2 to each side. */
const AXIS = Array.from({ length: 9 }, (_, i) => i);
const emission = AXIS.map((i) => 10 + 12.5 * i);
const leakage = AXIS.map((k) => 1e6 * 4 ** (k / 1.5));
const plane = (i: number, k: number): number => (i + k - 8) / 8;

const cell = (i: number, k: number): MapCell => {
  const margin = plane(i, k);
  const [low, high] = [margin - 0.2, margin + 0.2];
  return {
    inside: margin >= 0,
    measure: 'gain',
    margin,
    low,
    high,
    decides: 'gain',
    verdict: low >= 0 ? 'usable' : high < 0 ? 'unsuitable' : 'marginal',
    exact: true,
  };
};

/** Where the plane has a height: i + k = 8 + 8 h, from edge to edge. */
const level = (height: number) => {
  const sum = 8 + 8 * height;
  const at = (i: number): [number, number] => [10 + 12.5 * i, 1e6 * 4 ** ((sum - i) / 1.5)];
  return [[at(Math.max(0, sum - 8)), at(Math.min(8, sum))]];
};

export const MAP: AcceptanceMap = {
  format: 'stagefit-map',
  version: 1,
  engine: 'engine',
  socket: { id: 'V3', title: 'a socket', stage: 'rc-amplifier', stageTitle: 'a stage' },
  tube: { type: '12AX7', section: '1' },
  bench: 'a bench',
  path: ['grid', 'plate'],
  paths: [
    ['grid', 'plate'],
    ['grid', 'cathode'],
  ],
  emission: { title: 'Emission', unit: '%', values: emission },
  leakage: { title: 'Grid leakage', unit: 'ohm', values: leakage, top_ohm: 1e9 },
  cells: AXIS.map((i) => AXIS.map((k) => cell(i, k))),
  contours: [{ measure: 'gain', title: 'Gain', limit: 'gain >= 1', lines: level(0) }],
  lines: [
    { kind: 'limit', margin: 0, lines: level(0) },
    { kind: 'usable', margin: 0, lines: level(0.2) },
    { kind: 'unsuitable', margin: 0, lines: level(-0.2) },
    { kind: 'margin', margin: 0.5, lines: level(0.5) },
  ],
  intervals: { points: 8, draws: 32, seed: 1 },
  newTube: { emission: 100, leakage_ohm: leakage.at(-1)! },
  finding: {
    of: 'tin 1',
    leakage_ohm: 2e7,
    emission: 60,
    usableEmission: [[70, 110]],
    unsuitableEmission: [[10, 30]],
    usableLeakage_ohm: [[4e7, 1e9]],
    unsuitableLeakage_ohm: [[1e6, 1e7]],
    sentences: [
      'At a leakage of 20 MΩ, usable from 70 % up.',
      'At an emission of 60 %, from 40 MΩ up.',
    ],
  },
  point: {
    tube: 'tin 1',
    emission: { value: 60, low: 54, high: 66 },
    leakage: { value: 2e7, low: 1.5e7, high: 2.5e7 },
    sentence: 'tin 1 as it was read.',
  },
  simulated: 50,
  sentences: ['A third of the map is usable.'],
};
