import { describe, expect, test } from 'vitest';
import { boxLabel } from '../../src/app/box-label.ts';
import type { Judged } from '../../src/types.ts';
import { EXAMPLE_PROFILE } from '../../src/wear/profile.ts';

/** The label for a tube's box, on invented answers. */
const gain: Judged = {
  id: 'gain',
  title: 'Gain',
  unit: '×',
  value: 41,
  low: 39,
  high: 44,
  newTube: 54,
  limit: {
    text: 'gain >= 38',
    sense: 'atLeast',
    bound: 38,
    reason: 'r',
    source: 's',
  } as NonNullable<Judged['limit']>,
  margin: 3 / 38,
  status: 'usable',
  reason: '',
};
const answer: Parameters<typeof boxLabel>[0] = {
  tube: { id: 'tin 9', type: '12AX7', section: '1' },
  socket: { id: 'V2', title: 'Driver', stage: 'rc-amplifier', stageTitle: 'Amplifier' },
  companions: [],
  verdict: 'usable',
  measures: [gain],
  decidedBy: { measure: 'gain', sentence: 'Gain 41×, at least 38×.' },
};
const label = (part: Partial<typeof answer>, readings: Parameters<typeof boxLabel>[1] = {}) =>
  boxLabel({ ...answer, ...part }, readings, EXAMPLE_PROFILE, '1 May 2026');

describe('the label for a box', () => {
  test('tells the least margin at the unsafe end of the interval: (39 − 38) / 38', () => {
    expect(label({})).toMatchObject({
      type: '12AX7',
      name: 'tin 9, section 1',
      word: 'Usable',
      socket: 'in V2: Driver',
      date: '1 May 2026',
    });
    expect(label({}).margin).toMatch(/^Decides: Gain .*at least 38×.*inside by 2\.6\s%$/);
  });

  test('a measure beyond its limit says by how much', () => {
    const beyond: Judged = { ...gain, value: 20, low: 19, high: 21, status: 'unsuitable' };
    expect(label({ verdict: 'unsuitable', measures: [beyond] }).margin).toMatch(/beyond by 50\s%$/);
  });

  test('where a deciding reading is missing or a simulation failed, there is no margin but the reason', () => {
    const unread = 'Gain cannot be told: the leakage was not read.';
    const decidedBy = { measure: 'gain', sentence: unread };
    for (const verdict of ['undetermined', 'failed'] as const)
      expect(label({ verdict, decidedBy }).margin).toBe(unread);
    expect(label({ verdict: 'failed' }).word).toBe('Not computed');
  });

  test('names the readings it rests on, the last of each with its minutes, and those not taken', () => {
    const { readings } = label(
      {},
      {
        emission: [{ percent: 80 }, { percent: 78, minutes: 10 }],
        leakage: [
          { megohms: 900, minutes: 1 },
          { aboveMegohms: 500, minutes: 10 },
        ],
        shorts: [],
      },
    );
    expect(readings).toMatch(/^Emission 78\s%? ?.*after 10 min, grid leakage >500 MΩ after 10 min/);
    expect(readings).toMatch(/shorts none/);
    expect(readings).toMatch(/not read: drop, grid current\.$/);
    expect(label({}).readings).toMatch(/^Nothing was read; not read: emission/);
  });

  test('a verdict of several tubes names the others', () => {
    const companions = [{ id: 'blue box' }] as unknown as (typeof answer)['companions'];
    expect(label({ companions }).socket).toBe('in V2: Driver, together with blue box');
  });
});
