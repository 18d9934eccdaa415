import { expect, test } from 'vitest';
import type { Measures } from '../../src/types.ts';
import { judgeMeasure, type Judgement } from '../../src/verdict/judge.ts';
import { causeIn, reasonFor, type ReasonContext } from '../../src/verdict/reason.ts';
import { POWER_LIMIT, powerFrom, powerPair } from './invented-measure.ts';

/** One measure of an invented stage, grid current not read; what is said when the missing reading decides, and when it does not. */
const spec = powerFrom(['emission', 'gridCurrent']);
const judged = (powers: readonly number[]): Judgement =>
  judgeMeasure(spec, [POWER_LIMIT], {
    central: powerPair(powers[Math.floor(powers.length / 2)]!),
    draws: powers.map(powerPair),
    failedShare: 0,
    unread: [{ reading: 'gridCurrent', pair: powerPair(0.1) }],
    failed: undefined,
  });
const context: ReasonContext = {
  own: {} satisfies Measures,
  newTube: {},
  gridCircuit_ohm: 470e3,
  tubes: [
    {
      id: 'tin 1',
      marginWithoutLeak: () => undefined,
      marginWithNewCathode: () => 0.5,
      cathodeSentence: 'The cathode is tired',
    },
  ],
};

test('within the limit but for a reading that was not taken: that reading is the reason', () => {
  const found = judged([2.4, 2.5, 2.6]);
  expect(found.status).toBe('undetermined');
  expect(reasonFor(found, context)).toMatch(
    /^The grid current under load was not read: were it plausibly bad, power output/,
  );
  expect(causeIn(found, context)).toMatch(/^The grid current under load was not read\. A bench/);
});

test('beyond the limit whatever that reading says: the limit is the reason, and what fails', () => {
  const found = judged([0.9, 1, 1.1]);
  expect(found.status).toBe('unsuitable');
  expect(reasonFor(found, context)).toMatch(
    /^Power output 1\sW \(0\.9\S*\s…\s1\.\S*\sW\), at least 2\sW: beyond it by 50\s%\. The cathode is tired\.$/,
  );
  expect(causeIn(found, context)).toBe('The cathode is tired.');
});

test('a measure that holds has no cause', () => {
  const holds = judgeMeasure(spec, [POWER_LIMIT], {
    central: powerPair(2.5),
    draws: [powerPair(2.4), powerPair(2.6)],
    failedShare: 0,
    unread: [],
    failed: undefined,
  });
  expect(holds.status).toBe('usable');
  expect(causeIn(holds, context)).toBeUndefined();
});
