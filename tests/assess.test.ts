import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { assess, type Case } from '../src/assess.ts';
import { caseOf, pairsOf, readerContext } from '../src/cases.ts';
import { Stopped } from '../src/measure/subjects.ts';
import { reportText } from '../src/report/text.ts';
import { readScenario } from '../src/scenario/read.ts';
import { nodeSimulator } from '../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../src/simulation/remembering.ts';
import type { Report, Simulator } from '../src/types.ts';

/** The whole flow, on scenarios of our own (invented). */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

interface Edited {
  bench: unknown;
  sockets: { values: Record<string, unknown>; limits?: Record<string, unknown> }[];
  tubes: { id: string; readings: Record<string, unknown> }[];
}
const TABLE_RADIO = readFileSync(
  new URL('../scenarios/table-radio/scenario.json', import.meta.url),
  'utf8',
);

function caseWith(edit: (scenario: Edited) => void, tube = 'tin 4'): Case {
  const scenario = JSON.parse(TABLE_RADIO) as Edited;
  edit(scenario);
  const read = readScenario(JSON.stringify(scenario), readerContext('edited.json'));
  const pair = pairsOf(read, { tube })[0]!;
  return caseOf(read, pair.tube, pair.socket);
}
const first = (scenario: Edited): Edited['tubes'][number] => scenario.tubes[0]!;
const statusOf = (report: Report, id: string): string =>
  report.measures.find((measure) => measure.id === id)!.status;

describe('a verdict', () => {
  test('the same case, seed and draws give the same report to the byte', async () => {
    const once = async (): Promise<string> =>
      JSON.stringify(
        await assess(
          caseWith(() => {}),
          simulator,
          { draws: 24 },
        ),
      );
    expect(await once()).toBe(await once());
  }, 180_000);

  test('a sound tube is usable, and every judged measure says so with a limit, a reason and a source', async () => {
    const pairs: Report[] = [];
    const report = await assess(
      caseWith(() => {}),
      simulator,
      { onPair: (pair) => pairs.push(pair) },
    );
    expect(report.verdict).toBe('usable');
    // its central values stand before the causes are looked for, since no measure hangs on what was not read
    expect(pairs.map(({ verdict, draws, paths }) => ({ verdict, draws, paths }))).toEqual([
      { verdict: 'usable', draws: 0, paths: [] },
    ]);
    expect(pairs[0]!.measures.map(({ value }) => value)).toEqual(
      report.measures.map(({ value }) => value),
    );
    expect(report.measures.some(({ status }) => status !== 'unjudged')).toBe(true);
    for (const measure of report.measures) {
      expect(measure.reason.length).toBeGreaterThan(10);
      if (measure.status !== 'unjudged') expect(measure.limit?.source).toMatch(/\w{4}/);
    }
  }, 180_000);

  test('without any reading of leakage nor emission it is undetermined, never usable, and the missing reading is named', async () => {
    const report = await assess(
      caseWith((scenario) => {
        first(scenario).readings = { transconductance: { percent: 96 } };
      }),
      simulator,
      { onPair: ({ verdict }) => expect(verdict).toBe('undetermined') },
    );
    expect(report.verdict).toBe('undetermined');
    expect(report.decidedBy.sentence).toMatch(/was not read/);
  }, 180_000);

  test('a leak that is plainly too large is unsuitable, the sentence names current and resistance, and a grid resistance that helps is found and holds', async () => {
    const leaky = caseWith((scenario) => {
      first(scenario).readings['emission'] = { percent: 104 };
      first(scenario).readings['leakage'] = [
        { minutes: 10, megohms: 270, atVolts: 100, path: ['screen', 'grid'] },
      ];
    });
    const remembering = rememberingSimulator(simulator);
    const report = await assess(leaky, remembering, { draws: 32 });
    expect(report.verdict).toBe('unsuitable');
    expect(report.measures.find(({ id }) => id === 'biasShift')!.reason).toMatch(
      /The grid sits at .* instead of .*: .*A through .*Ω/,
    );
    const change = report.wouldChange.find(({ key }) => key === 'agcLineResistance');
    expect(change?.to).toBeLessThan(2.2e6);
    // a change needs the causes, whoever else does
    const { wouldChange } = await assess(leaky, remembering, { draws: 32, explain: false });
    expect(wouldChange).toEqual(report.wouldChange);
    const mended = {
      ...leaky,
      socket: {
        ...leaky.socket,
        values: {
          ...leaky.socket.values,
          agcLineResistance: { ...leaky.socket.values['agcLineResistance']!, value: change!.to! },
        },
      },
    };
    expect((await assess(mended, simulator, { changes: false, draws: 32 })).verdict).toBe('usable');
  }, 240_000);

  test('the path of a leak matters: the same megohms to the cathode are harmless where to the screen they are not', async () => {
    const on = async (path: readonly string[]): Promise<Report> =>
      assess(
        caseWith((scenario) => {
          first(scenario).readings['emission'] = { percent: 104 };
          first(scenario).readings['leakage'] = [{ minutes: 10, megohms: 90, atVolts: 100, path }];
        }),
        simulator,
        { changes: false, draws: 24 },
      );
    expect(statusOf(await on(['screen', 'grid']), 'biasShift')).toBe('unsuitable');
    expect(statusOf(await on(['cathode', 'grid']), 'biasShift')).not.toBe('unsuitable');
  }, 180_000);

  test('a status that differs over five seeds is marginal', async () => {
    // a limit laid onto an end of the interval: seeds then fall on either side
    const free = await assess(
      caseWith(() => {}),
      simulator,
      { changes: false, draws: 24 },
    );
    const gain = free.measures.find(({ id }) => id === 'gain')!;
    const onEdge = caseWith((scenario) => {
      scenario.sockets[0]!.limits = { gain: gain.low! };
    });
    const statuses = await Promise.all(
      [1, 2, 3, 4, 5].map(async (seed) =>
        statusOf(await assess(onEdge, simulator, { seed, changes: false, draws: 24 }), 'gain'),
      ),
    );
    expect(statuses[0]).toBe('marginal');
  }, 240_000);

  test('limits of the scenario are in force: a number keeps the side, a formula may use the new tube', async () => {
    const strict = await assess(
      caseWith((scenario) => {
        scenario.sockets[0]!.limits = {
          gain: 100_000,
          overload: 'overload <= 0.001 * newTube.overload',
        };
      }),
      simulator,
      { draws: 0 },
    );
    expect(statusOf(strict, 'gain')).toBe('unsuitable');
    expect(statusOf(strict, 'overload')).toBe('unsuitable');
  }, 180_000);

  test('reads in 80 columns', async () => {
    const text = reportText(
      await assess(
        caseWith(() => {}, 'tin 9'),
        simulator,
        { draws: 24 },
      ),
    );
    for (const line of text.split('\n'))
      expect(Array.from(line).length, line).toBeLessThanOrEqual(80);
  }, 180_000);
});

describe('a simulation that does not finish', () => {
  const broken = (fails: (runId: string) => boolean): Simulator => ({
    engine: 'broken on purpose',
    workers: 1,
    run: (request, options) =>
      fails(request.runId)
        ? Promise.resolve({
            ok: false,
            runId: request.runId,
            why: 'noConvergence',
            text: 'on purpose',
          })
        : simulator.run(request, options),
    close: () => undefined,
  });

  test('is told as failed, with why and without a number', async () => {
    const report = await assess(
      caseWith(() => {}),
      broken((id) => id.startsWith('central.large')),
      { draws: 0 },
    );
    expect(report.verdict).toBe('failed');
    for (const measure of report.measures) {
      expect(measure.status).toBe('failed');
      expect(measure.value).toBeNull();
      expect(measure.reason).toMatch(/on purpose/);
    }
  }, 180_000);

  test('in many draws keeps a tube from being called usable', async () => {
    const report = await assess(
      caseWith(() => {}),
      broken((id) => /^draws\.\d+\.large\.0/.test(id)),
      { changes: false, draws: 24 },
    );
    expect(report.verdict).not.toBe('usable');
  }, 240_000);

  test('stopping rejects with Stopped and leaves the engine fit for the next case', async () => {
    const controller = new AbortController();
    const running = assess(
      caseWith(() => {}),
      simulator,
      { signal: controller.signal },
    );
    setTimeout(() => controller.abort(), 30);
    await expect(running).rejects.toBeInstanceOf(Stopped);
    expect(
      (
        await assess(
          caseWith(() => {}),
          simulator,
          { draws: 0 },
        )
      ).verdict,
    ).toBe('usable');
  }, 180_000);
});
