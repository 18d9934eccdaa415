import type { MeasureSpec, ReadingKind } from '../../src/types.ts';
import type { Pair } from '../../src/verdict/judge.ts';
import { compileLimit } from '../../src/verdict/limit.ts';

/** One measure of an invented stage, and its limit of 2 W. */
export const powerFrom = (readings: readonly ReadingKind[]): MeasureSpec => ({
  id: 'power',
  title: 'Power output',
  unit: 'W',
  step: 'only',
  what: 'invented',
  of: () => 0,
  readings,
});

export const POWER_LIMIT = compileLimit(
  { measure: 'power', formula: 'power >= 2', reason: 'r', source: 's' },
  ['power'],
  'limits',
);

/** This tube's power beside 3 W of a new one. */
export const powerPair = (power: number): Pair => ({ own: { power }, newTube: { power: 3 } });
