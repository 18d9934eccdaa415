import type { Judged } from '../../src/types.ts';

/** Positions on the common scale of the measures: a new tube at 0, the limit at 1, worse to the right. */
export interface OnScale {
  readonly newTube: number;
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
}

/** Share of the bound taken as the unit where the new tube itself stands at or beyond the limit. */
const FALLBACK = 0.3;

/** Undefined for a measure without a limit or without a new tube's value: nothing to draw against. */
export function onScale(measure: Judged): OnScale | undefined {
  const { limit, newTube } = measure;
  if (limit === null || newTube === null) return undefined;
  const beyond = (value: number): number =>
    limit.sense === 'atLeast' ? limit.bound - value : value - limit.bound;
  const room = -beyond(newTube);
  const unit =
    room > 1e-9 * Math.abs(limit.bound)
      ? room
      : Math.max(FALLBACK * Math.abs(limit.bound), Number.MIN_VALUE);
  const at = (value: number | null): number | null =>
    value === null ? null : 1 + beyond(value) / unit;
  const ends = [at(measure.low), at(measure.high)] as const;
  const sorted =
    ends[0] !== null && ends[1] !== null && ends[0] > ends[1]
      ? ([ends[1], ends[0]] as const)
      : ends;
  return {
    newTube: 1 + beyond(newTube) / unit,
    value: at(measure.value),
    low: sorted[0],
    high: sorted[1],
  };
}
