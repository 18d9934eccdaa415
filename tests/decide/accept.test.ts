import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import { acceptanceCard, type AcceptanceCard } from '../../src/decide/accept.ts';
import { benchSet } from '../../src/decide/bench-set.ts';
import type { Ladder } from '../../src/decide/reading-ladder.ts';
import { cardText } from '../../src/report/card-text.ts';
import { notJudgedSentence } from '../../src/report/cautions.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { Socket } from '../../src/scenario/scenario.ts';
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
  const ladders = [set.emission, set.drop!, set.leakage!, ...set.onPath, set.heaterCathode!];
  beforeAll(async () => {
    card = await acceptanceCard(scenario, socket, simulator, { ...few, tradeRows: 1 });
  }, 120_000);

  /** The step of a ladder that has this value, and the next worse one unless the scale ends there, put into readings. */
  const around = (
    { ticks }: Ladder,
    value: number,
    readings: Readings,
  ): [Readings, Readings | undefined] => {
    const at = ticks.findIndex((tick) => tick.value === value);
    return [ticks[at]!.put(readings), ticks[at + 1]?.put(readings)];
  };

  test('a tube just inside a limit is usable by its own assessment, one step of the scale outside is not', async () => {
    expect(card.limits.map(({ title }) => title)).toContain('Grid leakage, grid to plate');
    expect(card.limits).toHaveLength(ladders.length);
    let ended = 0;
    for (const { title, value, beyond } of card.limits) {
      const ladder = ladders.find((one) => one.title === title)!;
      const [inside, outside] = around(ladder, value, set.newTube);
      expect(await verdictOf(inside), `${title} ${value}`).toBe('usable');
      expect(outside === undefined, title).toBe(beyond === null);
      if (outside === undefined) continue;
      expect(await verdictOf(outside), `${title} ${beyond!.value}`).not.toBe('usable');
      ended++;
    }
    expect(ended).toBeGreaterThanOrEqual(5);
  }, 120_000);

  test('so it is along the trade: with less emission, the drop and the leakage that are told still do, and one step more of either does not', async () => {
    const { values } = card.trades[0]!;
    expect(values).toHaveLength(3);
    let told = 0;
    for (const [emission, drop, leakage] of values) {
      const [weak] = around(set.emission, emission!, set.newTube);
      const columns = [
        [set.drop!, drop],
        [set.leakage!, leakage],
      ] as const;
      for (const [ladder, value] of columns) {
        if (value === null) {
          expect(await verdictOf(weak)).not.toBe('usable');
          continue;
        }
        const [inside, outside] = around(ladder, value!, weak);
        expect(await verdictOf(inside), `${emission} ${ladder.title} ${value}`).toBe('usable');
        if (outside === undefined) continue;
        expect(await verdictOf(outside), `${emission} ${ladder.title} ${value}`).not.toBe('usable');
        told++;
      }
    }
    expect(told).toBeGreaterThanOrEqual(3);
    // less emission never takes more
    const drops = values.map(([, drop]) => drop ?? -Infinity);
    expect(drops).toEqual(drops.toSorted((a, b) => b - a));
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

describe('against closed forms, at central values', () => {
  const central = { draws: 0, only: ['leakage'] as const };
  /** What a reading of the card comes to hot in the set, siemens. */
  const hot = (at: Socket, path: readonly [string, string], type: string, megohms: number) =>
    benchSet(scenario, at, undefined, type)
      .caseOf({
        ...benchSet(scenario, at, undefined, type).newTube,
        leakage: [{ megohms, minutes: 10, atVolts: 100, path: path as readonly ['grid', 'plate'] }],
      })
      .tube.wear.condition({})
      .leaks.reduce((sum, { siemens }) => sum + siemens, 0);
  const limitOn = ({ limits }: AcceptanceCard, other: string) =>
    limits.find(({ path }) => path?.includes(other as 'plate') === true)!;

  test('a leak from the plate shifts the bias by Vp·Rg/(Rg + Rleak), up to the limit that was stated', async () => {
    const [rg_ohm, most_V] = [220e3, 0.5];
    // more bias than the scenario has, so that no electron current of the grid enters
    const at: Socket = {
      ...socket,
      values: {
        ...socket.values,
        cathodeResistor: { ...socket.values['cathodeResistor']!, value: 3300 },
        gridResistor: { ...socket.values['gridResistor']!, value: rg_ohm },
      },
      limits: Object.fromEntries([['biasShift', `biasShift <= ${most_V}`]]),
    };
    const { limits, ...card } = await acceptanceCard(scenario, at, simulator, central);
    const limit = limitOn({ limits, ...card }, 'plate');
    expect(limit.measure).toBe('biasShift');
    const { measures } = await assess(benchSet(scenario, at).caseOf({}), simulator, { draws: 0 });
    const plate_V = measures.find(({ id }) => id === 'plateVoltage')!.newTube!;
    const shift = (megohms: number): number =>
      (plate_V * rg_ohm) / (rg_ohm + 1 / hot(at, ['grid', 'plate'], '12AX7', megohms));
    // the steps are E12, a fifth apart; the plate stands a little lower with the shift
    expect(shift(limit.value)).toBeLessThan(1.05 * most_V);
    expect(shift(limit.beyond!.value)).toBeGreaterThan(most_V);
  }, 60_000);

  test('a leak to the cathode divides the AGC voltage: Rleak/(Rleak + R) is delivered, down to the share that was stated', async () => {
    const [line_ohm, least] = [3.3e6, 0.7];
    const at: Socket = {
      ...scenario.sockets.find(({ id }) => id === 'IF')!,
      limits: { agcDelivered: `agcDelivered >= ${100 * least}`, biasShift: 'biasShift <= 100' },
    };
    const card = await acceptanceCard(scenario, at, simulator, central);
    const limit = limitOn(card, 'cathode');
    expect(limit.measure).toBe('agcDelivered');
    const delivered = (megohms: number): number =>
      1 / (1 + line_ohm * hot(at, ['grid', 'cathode'], '6BA6', megohms));
    // the cathode stands a little above chassis
    expect(delivered(limit.value)).toBeGreaterThan(least - 0.02);
    expect(delivered(limit.beyond!.value)).toBeLessThan(least + 0.02);
  }, 60_000);
});
