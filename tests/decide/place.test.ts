import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import { bestPairs, closestPairs, type PairFound } from '../../src/decide/pairs.ts';
import { placing, type PlacingReport } from '../../src/decide/place.ts';
import { placingText } from '../../src/report/placing-text.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { TestedTube } from '../../src/scenario/scenario.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import type { Report } from '../../src/types.ts';

/** An invented box of tubes for two audio stages and an output stage for which the box has none. */
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
afterAll(() => simulator.close());
const FILE = new URL('../../scenarios/bench-said-otherwise/scenario.json', import.meta.url);
interface Edited {
  sockets: Record<string, unknown>[];
  tubes: Record<string, unknown>[];
}
function box() {
  const scenario = JSON.parse(readFileSync(FILE, 'utf8')) as Edited;
  const stage = scenario.sockets[0] as { values: object };
  const tube = (id: string, divisions: number, more: object = {}) => ({
    id,
    type: '12AX7',
    section: '1',
    readings: {
      emission: { divisions },
      starvedHeater: { heater_percent: 90, drop_percent: 5 },
      leakage: [{ minutes: 10, aboveMegohms: 500, atVolts: 100 }],
      heaterCathode: [{ minutes: 10, megohms: 200, atVolts: 100 }],
      ...more,
    },
  });
  scenario.sockets = [
    { ...stage, id: 'easy', limits: { gain: 'gain >= 0.5 * newTube.gain' } },
    { ...stage, id: 'strict', limits: { gain: 'gain >= 0.8 * newTube.gain' } },
    { id: 'output', stage: 'output-single-ended', tube: ['6V6GT'] },
  ];
  scenario.tubes = [
    tube('fresh', 50),
    tube('tired', 36),
    tube('shorted', 50, {
      leakage: undefined,
      shorts: [{ between: ['plate', 'grid'], ohms: 1000 }],
    }),
  ];
  return readScenario(JSON.stringify(scenario), readerContext('box.json'));
}

describe('placing a box of tubes', () => {
  const scenario = box();
  const few = { draws: 8 };
  let report: PlacingReport;
  beforeAll(async () => {
    report = await placing(scenario, simulator, few);
  }, 120_000);

  test('each cell is what the tube’s own assessment in that socket says', async () => {
    for (const { tube, socket, verdict } of report.cells.filter(
      ({ tube: id }) => id !== 'shorted',
    )) {
      const given = caseOf(
        scenario,
        scenario.tubes.find(({ id }) => id === tube)!,
        scenario.sockets.find(({ id }) => id === socket)!,
      );
      expect((await assess(given, simulator, { ...few, changes: false })).verdict).toBe(verdict);
    }
  }, 60_000);

  test('the fresh tube goes where the tired one would not do, and both sockets work', () => {
    expect(report.placing.map(({ socket, tubes }) => [socket, ...tubes])).toEqual([
      ['easy', 'tired'],
      ['strict', 'fresh'],
      ['output'],
    ]);
    expect(report.placing.slice(0, 2).every(({ verdict }) => verdict === 'usable')).toBe(true);
    expect(report.worst).toBe(Math.min(...report.placing.flatMap(({ margin }) => margin ?? [])));
  });

  test('a tube with a hard short is put nowhere and says why; it stays in the box', () => {
    expect(report.spare).toEqual(['shorted']);
    for (const cell of report.cells.filter(({ tube }) => tube === 'shorted'))
      expect(cell).toMatchObject({
        verdict: 'unsuitable',
        margin: null,
        sentence: expect.stringMatching(/hard short/) as string,
      });
  });

  test('what to order for the socket that stays empty, by all the names the type has', () => {
    expect(report.order).toHaveLength(1);
    expect(report.order[0]).toMatchObject({ socket: 'output' });
    expect(report.order[0]!.types).toContain('6V6GT');
    expect(report.placing[2]!.sentence).toMatch(/no tube of the box is of a type it takes/);
  });

  test('fits 80 columns', () => {
    for (const line of placingText(report).split('\n'))
      expect(Array.from(line).length, line).toBeLessThanOrEqual(80);
  });

  test('pairs come by the difference of their plate currents over the mean, the closest first and judged together', async () => {
    const amps: Record<string, number | null> = { a: 0.03, b: 0.04, c: 0.032, dead: null };
    const together: string[][] = [];
    const judge = (
      tube: TestedTube,
      socket: { fitted?: readonly { tube: string }[] },
      draws?: number,
    ) => {
      if (draws !== 0) together.push(socket.fitted!.map((one) => one.tube));
      return Promise.resolve({
        verdict: 'usable',
        decidedBy: { sentence: 'Fine.' },
        measures: [{ id: 'plateCurrent', value: amps[tube.id], limit: null }],
      } as unknown as Report);
    };
    const tubes = Object.keys(amps).map((id) => ({ id, section: '1' }) as unknown as TestedTube);
    const pairs = await closestPairs(tubes, scenario.sockets[0]!, judge);
    expect(pairs.map(({ tubes: two }) => two)).toEqual([
      ['a', 'c'],
      ['b', 'c'],
      ['a', 'b'],
    ]);
    expect(pairs[0]!.difference).toBeCloseTo(0.002 / 0.031, 12);
    expect(together[0]).toEqual(['a', 'c']);
  });
});

describe('pairs over several sockets', () => {
  const pair = (
    tubes: readonly [string, string],
    difference: number,
    verdict: PairFound['verdict'] = 'usable',
  ): PairFound => ({ tubes, difference, verdict, margin: 0.1, sentence: '' });
  const named = (found: readonly (readonly PairFound[])[]) =>
    bestPairs(found).map((one) => one?.tubes.join(''));

  test('the closest pair gives way where it would leave the other channel unlike', () => {
    const all = [
      pair(['b', 'c'], 0.01),
      pair(['a', 'b'], 0.05),
      pair(['c', 'd'], 0.06),
      pair(['a', 'd'], 0.3),
    ];
    expect(named([all])).toEqual(['bc']);
    expect(new Set(named([all, all]))).toEqual(new Set(['ab', 'cd']));
  });

  test('a usable pair goes before a closer one that is marginal, and two sockets before one', () => {
    expect(named([[pair(['a', 'b'], 0.01, 'marginal'), pair(['a', 'c'], 0.2)]])).toEqual(['ac']);
    expect(
      named([[pair(['a', 'b'], 0.01), pair(['c', 'd'], 0.2)], [pair(['b', 'e'], 0.1)]]),
    ).toEqual(['cd', 'be']);
  });

  test('what was not judged together, or fails, goes nowhere', () => {
    expect(named([[pair(['a', 'b'], 0.01, 'unsuitable'), pair(['a', 'c'], 0.1, null)]])).toEqual([
      undefined,
    ]);
    expect(bestPairs([])).toEqual([]);
  });
});
