import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { findDevice } from '../../../models/catalogue.ts';
import { assess } from '../../../src/assess.ts';
import { caseOf, readerContext } from '../../../src/cases.ts';
import { answerLine, type Answered } from '../../../src/cli/batch/answer.ts';
import { BATCH_COLUMNS, batchRows } from '../../../src/cli/batch/table.ts';
import { LONGEST_LINE } from '../../../src/cli/batch/stream.ts';
import { csvRow } from '../../../src/report/csv.ts';
import { assessmentTable } from '../../../src/report/tables.ts';
import { readScenario } from '../../../src/scenario/read.ts';
import { nodeSimulator } from '../../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../../src/simulation/remembering.ts';

/** Readings are invented. */
const file = 'scenarios/record-player/scenario.json';
const scenario = readScenario(
  readFileSync(new URL(`../../../${file}`, import.meta.url), 'utf8'),
  readerContext(file),
);
const engines = nodeSimulator({ workers: 1 });
afterAll(() => engines.close());

/** `megohms` from plate to grid; undefined: above the scale. */
const line = (
  tube: string,
  percent: number,
  megohms: number | undefined,
  more: object = {},
): string =>
  JSON.stringify({
    tube,
    type: '6AV6',
    section: 'triode',
    readings: {
      emission: { percent },
      starvedHeater: { heater_percent: 90, drop_percent: 6 },
      leakage: [
        megohms === undefined
          ? { minutes: 10, aboveMegohms: 1000, atVolts: 100 }
          : { minutes: 10, megohms, atVolts: 100, path: ['plate', 'grid'] },
      ],
    },
    ...more,
  });

const answer = (text: string, simulator = engines, draws = 0): Promise<Answered> =>
  answerLine({ text }, scenario, findDevice, simulator as never, { draws });
/** As the reader of scenarios has them. */
function readingsOf(text: string): (typeof scenario.tubes)[number]['readings'] {
  const { readings, type, section } = JSON.parse(text) as Record<string, unknown>;
  const document = {
    ...(scenario.original as object),
    tubes: [{ id: 'e', type, section, readings }],
  };
  return readScenario(JSON.stringify(document), readerContext(file)).tubes[0]!.readings;
}
const read = (answered: Answered): Record<string, never> => JSON.parse(answered.json) as never;

describe('a line', () => {
  test('is answered with the verdict of its tube in the socket it fits', async () => {
    const good = await answer(line('a', 71, undefined));
    expect(read(good)).toMatchObject({
      tube: 'a',
      type: '6AV6',
      section: 'triode',
      assessments: [{ socket: 'V1', verdict: 'usable', draws: 0 }],
    });
    expect(good.outcome).toBe('usable');
    const leaky = await answer(line('b', 98, 20, { socket: 'V1' }));
    expect(read(leaky)).toMatchObject({ assessments: [{ verdict: 'unsuitable' }] });
    expect(leaky.outcome).toBe('notUsable');
  });

  test('far from every limit is settled by few draws, with the verdict of all of them', async () => {
    const text = line('e', 98, 20);
    const few = read(await answer(text, engines, 64));
    expect(few).toMatchObject({ assessments: [{ verdict: 'unsuitable', draws: 16 }] });
    const { tubes, sockets } = scenario;
    const tube = {
      ...tubes.find(({ id }) => id === 'no dot')!,
      id: 'e',
      readings: readingsOf(text),
    };
    const report = await assess(
      caseOf({ ...scenario, tubes: [tube] }, tube, sockets[0]!),
      engines,
      {
        changes: false,
        explain: false,
        moreSeeds: false,
      },
    );
    expect(report.verdict).toBe('unsuitable');
    expect(report.draws).toBe(64);
  });

  test('names a fault of the circuit, as "assess" does, and none where there is none', async () => {
    const document = structuredClone(scenario.original) as {
      sockets: { values: Record<string, unknown> }[];
    };
    document.sockets[0]!.values['plateLoad'] = { value: '1M5', marked: '220k' };
    const drifted = readScenario(JSON.stringify(document), readerContext(file));
    const text = line('no dot', 97, undefined);
    const answered = async (of: typeof scenario): Promise<unknown> =>
      read(await answerLine({ text }, of, findDevice, engines, { draws: 0 }))['assessments']![0];
    expect(await answered(scenario)).not.toHaveProperty('circuitFault');
    const tube = {
      ...drifted.tubes.find(({ id }) => id === 'no dot')!,
      readings: readingsOf(text),
    };
    const report = await assess(
      caseOf({ ...drifted, tubes: [tube] }, tube, drifted.sockets[0]!),
      engines,
      { changes: false, draws: 0 },
    );
    const { circuitFault } = report;
    expect(circuitFault?.inSoundCircuit).toBe('usable');
    expect(await answered(drifted)).toMatchObject({
      circuitFault: JSON.parse(JSON.stringify(circuitFault)) as object,
    });
    const { json } = await answerLine({ text }, drifted, findDevice, engines, { draws: 0 });
    const { faults, enough } = circuitFault!;
    for (const rows of [batchRows(json), assessmentTable([report]).rows])
      for (const row of rows)
        expect(row).toMatchObject({
          circuitFaults: faults.join('; '),
          newTubeHere: circuitFault!.status,
          inSoundCircuit: 'usable',
          enoughToMend: enough.join('; '),
        });
    expect(csvRow(BATCH_COLUMNS, batchRows(json)[0]!)).toContain(faults[0]);
    const sound = await answerLine({ text }, scenario, findDevice, engines, { draws: 0 });
    expect(batchRows(sound.json)[0]).not.toHaveProperty('circuitFaults');
  });

  test('of a tube that the scenario has too is about the readings of the line', async () => {
    const own = await answer(line('no dot', 71, undefined));
    expect(read(own)).toMatchObject({ assessments: [{ verdict: 'usable' }] });
  });

  test('has the same answer to the last digit after any others, on a fresh engine, remembered or not', async () => {
    const text = line('c', 61, 140);
    const alone = await answer(text);
    await answer(line('d', 33, 12));
    await answer('{');
    expect(await answer(text)).toEqual(alone);
    const fresh = nodeSimulator({ workers: 1 });
    expect(await answer(text, fresh)).toEqual(alone);
    fresh.close();
    const remembering = rememberingSimulator(engines);
    expect(await answer(text, remembering as never)).toEqual(alone);
    expect(await answer(text, remembering as never)).toEqual(alone);
  });

  test.for([
    ['{"tube":"x"', 'not-json'],
    ['[1]', 'wrong-format'],
    ['{"tube":"x"}', 'missing'],
    [
      '{"tube":"x","type":"6AV6","section":"triode","readings":{"emission":{"percent":-1}}}',
      'bad-value',
    ],
    ['{"tube":"x","type":"6XX6","readings":{"emission":{"percent":70}}}', 'unknown-tube'],
    ['{"tube":"x","type":"6V6GT","readings":{"emission":{"percent":70}}}', 'does-not-fit'],
    [line('x', 70, 50, { socket: 'V9' }), 'unknown-name'],
    [line('x', 70, 50, { socket: 3 }), 'bad-value'],
    [line('x', 70, 50, { sockets: ['V9'] }), 'unknown-name'],
    [
      '{"tube":"x","type":"6AV6","section":"triode","readings":{"emission":{"percent":70},"shorts":[{"between":["plate","grid"],"ohms":10}]}}',
      'contradiction',
    ],
  ] as const)('that is wrong is answered with why: %s', async ([text, code]) => {
    const answered = await answer(text);
    expect(answered.outcome).toBe('broken');
    const { error } = read(answered) as unknown as { error: Record<string, string> };
    expect(error['code'], answered.json).toBe(code);
    expect(error['message']).toMatch(/\w+ \w+/);
    expect(answered.json).not.toContain('\n');
  });

  test('that is too long is told so', async () => {
    const answered = await answerLine(
      { tooLong: LONGEST_LINE + 1 },
      scenario,
      findDevice,
      engines,
      {},
    );
    expect(read(answered)).toMatchObject({ error: { code: 'too-large' } });
  });
});
