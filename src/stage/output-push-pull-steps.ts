import type { Measures, Setting, StageValues, Step } from '../types.ts';
import { hasFixedBias, HEALTHY } from './bias-line.ts';
import {
  hasCathodeResistor,
  hasFeedback,
  isAdjusted,
  ofPlace,
  PLACES,
} from './output-push-pull-circuit.ts';
import { HOLDING_OHM } from './runaway.ts';
import { drives, isNumber, numberOr } from './signals.ts';
import { numberOf } from './values.ts';

/** What is simulated of a push-pull output stage. */

export const ADJUST = 'adjust';
export const REST = 'rest';
export const SMALL = 'small';
export const DRIVEN = 'driven';
/** The first tube's grid held, then the second's. */
export const HELD = ['held', 'held2'] as const;

/** Points along a held grid's way up, as in a single-ended stage. */
const HELD_POINTS = 12;
const HELD_POINTS_OF_DRAWS = 8;
/** Points over the range of the bias adjusters: the current is smooth and bent one way. */
const ADJUST_POINTS = 9;
const ADJUST_POINTS_OF_DRAWS = 4;

/** The most negative and the least negative bias of the adjusters, V. */
export function adjusterEnds(v: StageValues): readonly [number, number] {
  const [middle, share] = [numberOf(v, 'fixedBias'), numberOf(v, 'adjusterRange') / 100];
  return [middle * (1 + share), middle * (1 - share)];
}

/** Where the grid of a place is returned to, V; found in the first step, else the socket's. */
export const returnOf = (v: StageValues, own: Measures, place: 0 | 1): number =>
  numberOr(own, ofPlace('gridReturn', place), hasFixedBias(v) ? numberOf(v, 'fixedBias') : 0);

const biasKnobs = (v: StageValues, own: Measures): Record<string, number> =>
  isAdjusted(v)
    ? Object.fromEntries(
        PLACES.map((place) => [ofPlace('fixedBias', place), returnOf(v, own, place)]),
      )
    : {};

/** How far the sources stand above what reaches the grids at small signals of new tubes. */
export const feedbackFactor = (v: StageValues): number => 10 ** (numberOf(v, 'feedback') / 20);

/** Bias, and the feedback that the set has: what every signal is measured under. */
const underSignal = (v: StageValues, own: Measures): Record<string, number> => {
  const share = numberOr(own, 'feedbackShare', 0);
  return {
    ...biasKnobs(v, own),
    ...(hasFeedback(v) ? { feedbackShare: share, feedbackShare2: -share } : {}),
  };
};

/** The larger bias of the two. */
const bias = (own: Measures): number =>
  Math.max(
    ...PLACES.map((place) => Math.abs(numberOr(own, ofPlace('undisturbedGridBias', place), 10))),
  ) + 1;

/** Drives (at the grids, before feedback takes its share) around 10 % distortion: a wide search, or near the central answer. */
function drivesFor10Percent(own: Measures, central: Measures | undefined): Setting[] {
  if (central === undefined) return drives(0.2 * bias(own), 2.2 * bias(own), 9);
  const near = central['driveAt10PercentDistortion'];
  return isNumber(near) ? drives(0.8 * near, 1.25 * near, 2) : [];
}

const heldStep = (place: 0 | 1): Step => ({
  id: HELD[place],
  view: () => ({ as: 'quiescent' }),
  settings: (v, own, central) => {
    // without reverse current there is nothing to run away
    if (numberOr(own, ofPlace('reverseGridCurrent', place), 0) <= 0) return [];
    const from = 1.15 * returnOf(v, own, place);
    const span = (hasCathodeResistor(v) ? 2.5 : 1.3) * bias(own) + 2;
    const points = central === undefined ? HELD_POINTS : HELD_POINTS_OF_DRAWS;
    return Array.from({ length: points }, (_, i) => ({
      drive: 0,
      knobs: {
        ...biasKnobs(v, own),
        [ofPlace('couplingLeakage', place)]: HOLDING_OHM,
        [ofPlace('couplingFrom', place)]: from + span * (i / (points - 1)) ** 1.5,
      },
    }));
  },
});

export const OUTPUT_PUSH_PULL_STEPS: readonly Step[] = [
  {
    id: ADJUST,
    view: () => ({ as: 'quiescent' }),
    settings: (v, _own, central) => {
      if (!isAdjusted(v)) return [];
      const [low, high] = adjusterEnds(v);
      const near = central === undefined ? [] : PLACES.map((place) => returnOf(v, central, place));
      // near the central settings of both, or the whole range
      const from = near.length === 0 ? low : Math.max(low, 1.15 * Math.min(...near));
      const to = near.length === 0 ? high : Math.min(high, 0.87 * Math.max(...near));
      const points = near.length === 0 ? ADJUST_POINTS : ADJUST_POINTS_OF_DRAWS;
      return Array.from({ length: points }, (_, i) => {
        const volts = from + ((to - from) * i) / (points - 1);
        // whoever sets the bias lets the tubes warm: with their grid current
        return { drive: 0, knobs: { fixedBias: volts, fixedBias2: volts } };
      });
    },
    inOrder: true,
  },
  {
    id: REST,
    view: () => ({ as: 'quiescent' }),
    // each subject comes after the healthy state of the one before, and not after one that ran away
    settings: (v, own) => [
      { drive: 0, knobs: biasKnobs(v, own) },
      { drive: 0, knobs: { ...biasKnobs(v, own), ...HEALTHY } },
    ],
    inOrder: true,
  },
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: (v, own) =>
      hasFeedback(v) ? [{ drive: 0.01 * bias(own), knobs: biasKnobs(v, own) }] : [],
  },
  {
    id: DRIVEN,
    view: () => ({ as: 'phases', count: 8, substeps: 2 }),
    settings: (v, own, central) => {
      const factor = feedbackFactor(v);
      const knobs = underSignal(v, own);
      return [...drivesFor10Percent(own, central), { drive: numberOf(v, 'drive') }]
        .sort((a, b) => a.drive - b.drive)
        .map(({ drive }) => ({ drive: factor * drive, knobs }));
    },
  },
  heldStep(0),
  heldStep(1),
];
