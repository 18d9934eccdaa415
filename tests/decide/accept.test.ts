import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import { acceptanceCard, type AcceptanceCard } from '../../src/decide/accept.ts';
import { benchSet } from '../../src/decide/bench-set.ts';
import { cardText } from '../../src/report/card-text.ts';
import { notJudgedSentence } from '../../src/report/cautions.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import type { Readings } from '../../src/wear/readings.ts';

/** The card of an invented preamplifier on an invented instrument in divisions, from few draws for its time. */
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
afterAll(() => simulator.close());
const FILE = new URL('../../scenarios/bench-said-otherwise/scenario.json', import.meta.url);
const scenario = readScenario(readFileSync(FILE, 'utf8'), readerContext('scenario.json'));
const socket = scenario.sockets.find(({ id }) => id === 'preamplifier')!;
const few = { draws: 8, seed: 3 };

/** A tube of these readings, judged without anything of the card. */
async function verdictOf(readings: Readings): Promise<string> {
  const given = caseOf(scenario, { id: 'a tube', type: '12AX7', section: '1', readings }, socket);
  return (await assess(given, simulator, { ...few, changes: false })).verdict;
}

describe('the acceptance card', () => {
  let card: AcceptanceCard;
  const set = benchSet(scenario, socket);
  beforeAll(async () => {
    card = await acceptanceCard(scenario, socket, simulator, {
      ...few,
      only: ['emission', 'leakage'],
    });
  }, 120_000);

  test('a tube just inside a limit is usable by its own assessment, one step of the scale outside is not', async () => {
    expect(card.limits.map(({ title }) => title)).toContain('Grid leakage, grid to plate');
    for (const { reading, path, value, beyond } of card.limits) {
      const put = (to: number): Readings =>
        reading === 'emission'
          ? { ...set.newTube, emission: [{ divisions: to }] }
          : {
              ...set.newTube,
              leakage: [
                {
                  ...(to === 500 ? { aboveMegohms: to } : { megohms: to }),
                  minutes: 10,
                  atVolts: 100,
                  ...(path === null ? {} : { path }),
                },
              ],
            };
      expect(await verdictOf(put(value)), `${reading} ${value}`).toBe('usable');
      expect(beyond).not.toBeNull();
      expect(await verdictOf(put(beyond!.value)), `${reading} ${beyond!.value}`).not.toBe('usable');
    }
  }, 120_000);

  test('well inside is usable too, well outside is not, and what is said is in divisions of the instrument', async () => {
    const limit = card.limits.find(({ reading }) => reading === 'emission')!;
    expect(limit.text).toMatch(/^at least \d+(\.\d+)? divisions$/);
    for (const share of [0.3, 0.8])
      expect(
        await verdictOf({
          ...set.newTube,
          emission: [{ divisions: limit.value + share * (50 - limit.value) }],
        }),
      ).toBe('usable');
    expect(
      await verdictOf({ ...set.newTube, emission: [{ divisions: 0.6 * limit.value }] }),
    ).not.toBe('usable');
  }, 120_000);

  test('a leak to the cathode, which stands near the grid, may be far larger than one to the plate', () => {
    const to = (other: string): number =>
      card.limits.find(({ path }) => path?.includes(other as 'plate') === true)!.value;
    expect(to('plate')).toBeGreaterThan(5 * to('cathode'));
  });

  test('fits 80 columns, and no sentence of it ends twice', () => {
    expect(card.notJudged.length).toBeGreaterThan(1);
    for (const line of card.notJudged)
      expect(notJudgedSentence(line)).toMatch(/^(Gas was not tested: .*|Not judged: .*)[^.]\.$/);
    expect(cardText(card)).not.toMatch(/\.\./);
    for (const line of cardText(card).split('\n'))
      expect(Array.from(line).length, line).toBeLessThanOrEqual(80);
  });

  test('a socket that not even a new tube passes says so and why, and gives no figure', async () => {
    const strict = { ...socket, limits: { gain: 'gain >= 2 * newTube.gain' } };
    const none = await acceptanceCard(scenario, strict, simulator, few);
    expect(none.verdict).toBe('unsuitable');
    expect(none.limits).toEqual([]);
    expect(none.sentence).toMatch(/Even a 12AX7 .* Gain/);
  }, 60_000);
});
