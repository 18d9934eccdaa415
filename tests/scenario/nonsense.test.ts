/** Every field of readings and instrument, given nonsense: told with file, line, place, found and expected, or refused by nothing. */
import { describe, expect, test } from 'vitest';
import { caseOf, pairsOf, readerContext } from '../../src/cases.ts';
import { FileProblem } from '../../src/scenario/check.ts';
import { readTubesCsv } from '../../src/scenario/csv.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { Problem } from '../../src/problem.ts';
import { WRITTEN_BENCH } from '../written-bench.ts';

const BENCH = {
  name: 'bench (invented)',
  emission: { scale: { kind: 'percent' }, test_V: '30 V', load_ohm: '220', accuracy_percent: 5 },
  starvedHeater: { heater_percent: 90, heldSeconds: 90, accuracy_points: 2 },
  leakage: WRITTEN_BENCH.leakage,
};
const textOf = (readings: object, bench: object = BENCH): string =>
  JSON.stringify(
    {
      format: 'stagefit-scenario',
      version: 1,
      title: 'nonsense',
      bench,
      sockets: [{ id: 'af', stage: 'rc-amplifier', tube: ['12AX7'] }],
      tubes: [{ id: 't', type: '12AX7', readings }],
    },
    null,
    1,
  );

/** What is wrong, as the command line would tell it; nothing where the file is read and its tube is put to the socket. */
function problemsOf(text: string): readonly Problem[] {
  try {
    const scenario = readScenario(text, readerContext('my.json'));
    for (const { tube, socket } of pairsOf(scenario)) caseOf(scenario, tube, socket);
    return [];
  } catch (error) {
    if (error instanceof FileProblem) return error.problems;
    throw error;
  }
}

const READINGS: readonly (readonly [string, (value: unknown) => object])[] = [
  ['percent', (v) => ({ emission: { percent: v } })],
  ['milliamps', (v) => ({ emission: { milliamps: v } })],
  ['divisions', (v) => ({ emission: { divisions: v } })],
  ['zone', (v) => ({ emission: { zone: v } })],
  ['minutes of an emission', (v) => ({ emission: [{ percent: 80, minutes: v }] })],
  ['heater_percent', (v) => ({ starvedHeater: { drop_percent: 5, heater_percent: v } })],
  ['heldSeconds', (v) => ({ starvedHeater: { drop_percent: 5, heldSeconds: v } })],
  ['megohms', (v) => ({ leakage: [{ megohms: v }] })],
  ['aboveMegohms', (v) => ({ leakage: [{ aboveMegohms: v }] })],
  ['microamps', (v) => ({ leakage: [{ microamps: v }] })],
  ['atVolts', (v) => ({ leakage: [{ megohms: 50, atVolts: v }] })],
  ['path', (v) => ({ leakage: [{ megohms: 50, path: v }] })],
  ['between', (v) => ({ shorts: [{ between: v, ohms: 1e6 }] })],
  ['heaterCathode', (v) => ({ heaterCathode: [{ megohms: v }] })],
  [
    'microamps of a grid current',
    (v) => ({ gridCurrent: { microamps: v, plateVolts: 250, gridVolts: -2 } }),
  ],
  ['plateVolts', (v) => ({ gridCurrent: { microamps: 0.1, plateVolts: v, gridVolts: -2 } })],
  ['mS', (v) => ({ transconductance: { mS: v, plateVolts: 250, gridVolts: -2 } })],
  ['noticed', (v) => ({ noticed: [v] })],
  ['hoursSinceLastUsed', (v) => ({ hoursSinceLastUsed: v })],
];
const { emission, starvedHeater, leakage } = BENCH;
const divisions = (more: object): object => ({
  ...BENCH,
  emission: { ...emission, scale: { kind: 'divisions', fullScale: 50, newTube: 40, ...more } },
});
const PROFILES: readonly (readonly [string, (value: unknown) => object])[] = [
  ...['accuracy_percent', 'test_V', 'load_ohm', 'openTerminal_V', 'scale'].map(
    (key) => [key, (v: unknown) => ({ ...BENCH, emission: { ...emission, [key]: v } })] as const,
  ),
  ...['fullScale', 'newTube', 'rejectMark', 'reject_percent'].map(
    (key) => [key, (v: unknown) => divisions({ [key]: v })] as const,
  ),
  ...['heater_percent', 'heldSeconds', 'accuracy_points'].map(
    (key) =>
      [key, (v: unknown) => ({ ...BENCH, starvedHeater: { ...starvedHeater, [key]: v } })] as const,
  ),
  ...['volts', 'grid', 'tied', 'cathodeCurrent_A', 'short_ohm', 'accuracy_percent'].map(
    (key) =>
      [
        `leakage ${key}`,
        (v: unknown) => ({ ...BENCH, leakage: { ...leakage, [key]: v } }),
      ] as const,
  ),
  [
    'testCurrents_A',
    (v) => ({ ...BENCH, emission: { ...emission, testCurrents_A: { '12AX7': v } } }),
  ],
  [
    'knownTubes',
    (v) => ({
      ...BENCH,
      emission: { ...emission, knownTubes: [{ type: '12AX7', true_percent: 90, reading: v }] },
    }),
  ],
];

const told = (problems: readonly Problem[]): void => {
  expect(problems.length).toBeGreaterThan(0);
  for (const { fields } of problems) {
    expect(fields.file).toBe('my.json');
    expect(fields.line).toBeGreaterThan(1);
    expect(fields.place).toMatch(/^(?:bench|tubes\[0\])/);
    expect(fields.found).toBeTruthy();
    expect(fields.expected).toBeTruthy();
  }
};

describe('nonsense is told with its place', () => {
  const nonsense = ['fish', -1e6, 1e12, null, {}];
  test.each(READINGS)('in readings: %s', (_, of) => {
    for (const value of nonsense) told(problemsOf(textOf(of(value))));
  });
  test.each(PROFILES)('in the instrument: %s', (_, of) => {
    for (const value of nonsense)
      told(problemsOf(textOf({ emission: { percent: 80 } }, of(value))));
  });
});

describe('what cannot be together is told at its line', () => {
  const lineWith = (text: string, words: string): number =>
    text.split('\n').findIndex((line) => line.includes(words)) + 1;

  test.each([
    [{ emission: { percent: 0 }, starvedHeater: { drop_percent: 5 } }, '"drop_percent": 5'],
    [{ gridCurrent: { microamps: -3, plateVolts: 250, gridVolts: -2 } }, '"microamps": -3'],
    [{ transconductance: { mS: 1.5 } }, '"transconductance"'],
    [{ shorts: [{ between: ['grid', 'screen'], ohms: 5e6 }] }, '"between"'],
  ])('%j', (readings, words) => {
    const text = textOf(readings);
    const problems = problemsOf(text);
    told(problems);
    expect(problems[0]?.fields.line).toBe(lineWith(text, words));
  });

  test('in the instrument too', () => {
    const scale = {
      kind: 'zones',
      zones: [
        { name: 'low', from_percent: 0, to_percent: 50 },
        { name: 'low', from_percent: 50, to_percent: 120 },
      ],
    };
    const problems = problemsOf(textOf({}, { ...BENCH, emission: { ...emission, scale } }));
    told(problems);
    expect(problems[0]?.fields.place).toBe('bench.emission.scale.zones[1].name');
    told(
      problemsOf(
        textOf(
          { emission: { divisions: 30 } },
          {
            ...BENCH,
            emission: { ...emission, scale: { kind: 'divisions', fullScale: 50 } },
          },
        ),
      ),
    );
  });

  test('a reading beyond the end of its scale', () => {
    const read = (n: number) => problemsOf(textOf({ emission: { divisions: n } }, divisions({})));
    told(read(50.5));
    expect(read(50)).toEqual([]);
  });

  test('a key that is nearly the one that is missing', () => {
    const [problem] = problemsOf(textOf({}).replace('"readings"', '"reading"'));
    expect(problem?.fields).toMatchObject({
      place: 'tubes[0].readings',
      hint: 'Is it what "reading" should be?',
    });
  });

  test('and in a table, by line and column', () => {
    const { bench } = readScenario(textOf({}), readerContext('my.json'));
    const csv = 'valve,type,minutes,emission_percent,drop_percent\nA,12AX7,1,80,5\nB,12AX7,1,0,5\n';
    let problem: Problem | undefined;
    try {
      readTubesCsv(csv, readerContext('my.csv'), { bench, sockets: undefined });
    } catch (error) {
      if (error instanceof FileProblem) [problem] = error.problems;
    }
    expect(problem?.fields).toMatchObject({ file: 'my.csv', line: 3, place: 'drop_percent' });
  });
});

describe('nothing typed is lost', () => {
  test('the grids of a pentagrid are known by their numbers', () => {
    const text = textOf({ leakage: [{ megohms: 50, minutes: 10, path: 'g3-g4' }] })
      .replaceAll('12AX7', '6BE6')
      .replace('rc-amplifier', 'frequency-converter');
    const { tubes } = readScenario(text, readerContext('my.json'));
    expect(tubes[0]?.readings.leakage?.[0]?.path).toEqual(['signalGrid', 'screen']);
  });

  test('a test current under another name of the type is taken; of a type nobody knows, warned about', () => {
    const { test_V, load_ohm, ...plain } = emission;
    expect([test_V, load_ohm]).toEqual(['30 V', '220']);
    const read = (name: string) =>
      readScenario(
        textOf(
          { emission: { percent: 80 } },
          { ...BENCH, emission: { ...plain, testCurrents_A: { [name]: '7 mA' } } },
        ),
        readerContext('my.json'),
      );
    const untold = (name: string): string => {
      const scenario = read(name);
      return caseOf(scenario, scenario.tubes[0]!, scenario.sockets[0]!).tube.wear.untold.join(' ');
    };
    expect(untold('6V6')).toMatch(/test current of this type is not known/);
    expect(untold('ecc 83')).not.toMatch(/test current/);
    expect(read('ecc 83').warnings).toEqual([]);
    expect(read('12AX77').warnings[0]?.text).toMatch(
      /not in the list: its test current is not used.*12AX7/,
    );
  });
});
