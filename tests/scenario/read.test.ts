import { describe, expect, it } from 'vitest';
import { Problem } from '../../src/problem.ts';
import { FileProblem } from '../../src/scenario/check.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { writeScenario } from '../../src/scenario/write.ts';
import { UNSTATED_ACCURACY } from '../../src/wear/profile.ts';
import { changed, CONTEXT, GOOD, textOf } from './fixtures.ts';

const read = (document: unknown) => readScenario(textOf(document), CONTEXT);

function problemOf(text: string): Problem {
  try {
    readScenario(text, CONTEXT);
  } catch (error) {
    expect(error).toBeInstanceOf(Problem);
    return error as Problem;
  }
  throw new Error('the file was read without a problem');
}

function problemsOf(document: unknown): readonly Problem[] {
  const problem = problemOf(textOf(document));
  return problem instanceof FileProblem ? problem.problems : [problem];
}

describe('a good scenario', () => {
  const scenario = read(GOOD);
  const [first, second] = scenario.sockets;

  it('has its values in SI with tolerances and what was measured', () => {
    expect(first?.values['plateLoad']).toEqual({
      value: 470e3,
      tolerance_percent: 10,
      measured: false,
      given: true,
    });
    expect(first?.values['gridResistor']).toEqual({
      value: 4.7e6,
      tolerance_percent: 1,
      measured: true,
      given: true,
    });
  });

  it('has the defaults of the stage for what the file does not give', () => {
    expect(first?.values['couplingLeakage']).toMatchObject({ value: null, given: false });
    expect(second?.values['screenSupply']).toMatchObject({ value: 100, given: false });
  });

  it('reads lists, limits and the bench instrument', () => {
    expect(second?.values['agcVoltages']?.value).toEqual([0, -3, -9]);
    expect(first?.limits).toEqual({ gain: 'gain > 0.7 * newTube.gain', biasShift: 0.5 });
    expect(scenario.bench.leakage).toMatchObject({ top_ohm: 250e6, short_ohm: 150e3 });
  });

  it('takes a wide accuracy where none is stated, and says so', () => {
    const { bench, warnings } = read(changed(['bench', 'emission', 'accuracy_percent'], undefined));
    expect(bench.emission).toMatchObject(UNSTATED_ACCURACY.emission);
    expect(warnings.map(({ place }) => place)).toEqual(['bench.emission.accuracy_percent']);
  });

  it('has readings in the unit of their key and in the order of time', () => {
    expect(scenario.tubes[0]).toMatchObject({ type: 'XT1', section: '2', sockets: ['V1'] });
    expect(scenario.tubes[0]?.readings).toEqual({
      emission: [{ percent: 65, minutes: 5 }],
      starvedHeater: { heater_percent: 90, drop_percent: 12 },
      leakage: [
        { minutes: 1, aboveMegohms: 250 },
        { minutes: 5, megohms: 60, path: ['grid', 'plate'] },
      ],
      shorts: [{ between: ['heater', 'cathode'], ohms: 2e6, hot: true }],
      gridCurrent: { microamps: 1.4, plateVolts: 200, gridVolts: -2 },
      transconductance: { mS: 1.6, plateVolts: 250, gridVolts: -2 },
      noticed: ['changesWhenTapped'],
      hoursSinceLastUsed: 2,
    });
  });

  it('warns of nothing', () => {
    expect(scenario.warnings).toEqual([]);
  });
});

describe('every form of a value', () => {
  it.each([
    [470_000, 470e3],
    ['470k', 470e3],
    ['4M7', 4.7e6],
    ['4,7M', 4.7e6],
    ['4.7 meg', 4.7e6],
    ['470000', 470e3],
    [{ value: '1M', tolerance_percent: 5 }, 1e6],
  ])('%j is %d ohm', (written, ohms) => {
    const scenario = read(changed(['sockets', 0, 'values', 'plateLoad'], written));
    expect(scenario.sockets[0]?.values['plateLoad']?.value).toBeCloseTo(ohms, 6);
  });

  it('a stated tolerance outranks that of a measured value', () => {
    const value = { value: '1M', measured: true, tolerance_percent: 3 };
    const scenario = read(changed(['sockets', 0, 'values', 'plateLoad'], value));
    expect(scenario.sockets[0]?.values['plateLoad']?.tolerance_percent).toBe(3);
  });

  it('a part that is no longer what it is marked was measured', () => {
    const scenario = read(
      changed(['sockets', 0, 'values', 'plateLoad'], { value: '680k', marked: '220k' }),
    );
    expect(scenario.sockets[0]?.values['plateLoad']).toEqual({
      value: 680e3,
      tolerance_percent: 1,
      measured: true,
      given: true,
      marked: 220e3,
    });
  });

  it.each([
    ['a voltage', 'supply', { value: 200, marked: 250 }, 'does-not-fit', '.marked'],
    ['no quantity', 'plateLoad', { value: 1e5, marked: 'brown' }, 'bad-value', '.marked'],
    ['out of range', 'plateLoad', { value: 1e5, marked: -1 }, 'bad-value', '.marked'],
    [
      'not measured',
      'plateLoad',
      { value: 1e5, marked: 47e3, measured: false },
      'contradiction',
      '.marked',
    ],
    ['no value', 'plateLoad', { marked: 47e3 }, 'missing', ''],
  ])('a marking is refused with its place: %s', (_what, key, written, code, at) => {
    const problem = problemOf(textOf(changed(['sockets', 0, 'values', key], written)));
    expect(problem.code).toBe(code);
    expect(problem.fields.place).toBe(`sockets[0].values.${key}${at}`);
    expect(problem.fields.found).toBeDefined();
    expect(problem.fields.expected).toBeDefined();
  });

  it.each([
    ['12M', { megohms: 12 }],
    ['>500M', { aboveMegohms: 500 }],
    ['> 500', { aboveMegohms: 500 }],
    [0, { megohms: 0 }],
  ])('a leakage of %j is %j', (written, reading) => {
    const scenario = read(
      changed(['tubes', 0, 'readings', 'leakage'], [{ megohms: written, minutes: 2 }]),
    );
    expect(scenario.tubes[0]?.readings.leakage).toEqual([{ ...reading, minutes: 2 }]);
  });
});

describe('what comes first', () => {
  it('a file of 100 MB is refused before it is parsed', () => {
    const problem = problemOf('['.repeat(100 * 1024 * 1024));
    expect(problem.code).toBe('too-large');
    expect(problem.fields.found).toBe('100 MB');
  });

  it('another version is told in words, whatever else is wrong', () => {
    const problem = problemOf('{"format": "stagefit-scenario", "version": 3, "sockets": 5}');
    expect(problem.code).toBe('wrong-version');
    expect(problem.message).toBe('this is version 3, this program reads 1');
    expect(problem).toMatchObject({ problems: { length: 1 } });
  });

  it('another format is told before its version', () => {
    expect(problemOf('{"version": 3, "sockets": []}').code).toBe('wrong-format');
    expect(problemOf('{"format": "other", "version": 3}').fields.found).toBe('"other"');
    expect(problemOf('[1, 2]').code).toBe('wrong-format');
    expect(problemOf('{"format": "stagefit-scenario", "version": "1"}').code).toBe('wrong-version');
  });
});

describe('an error names file, line, place, found and expected', () => {
  it('for a value out of range', () => {
    const text = textOf(changed(['sockets', 0, 'values', 'plateLoad'], -5));
    const line = text.split('\n').findIndex((each) => each.includes('"plateLoad"')) + 1;
    expect(problemOf(text).fields).toEqual({
      file: 'test.json',
      line,
      place: 'sockets[0].values.plateLoad',
      found: '-5',
      expected: '1000 to 10000000 ohm',
    });
  });

  it.each([
    ['unknown-tube', ['sockets', 0, 'tube'], 'XT9', 'sockets[0].tube', /XT1 or XP2/],
    ['unknown-tube', ['tubes', 1, 'type'], 'XQ', 'tubes[1].type', /XT1/],
    ['unknown-stage', ['sockets', 0, 'stage'], 'rc-amplifer', 'sockets[0].stage', /rc-amplifier/],
    ['unknown-name', ['sockets', 0, 'limits'], { gian: 1 }, 'sockets[0].limits.gian', /gain/],
    ['unknown-name', ['tubes', 0, 'sockets'], ['V7'], 'tubes[0].sockets[0]', /V1/],
    [
      'unknown-name',
      ['tubes', 0, 'readings', 'noticed'],
      ['blueGlo'],
      'tubes[0].readings.noticed[0]',
      /blueGlow/,
    ],
  ] as const)('%s with a near name', (code, path, value, place, hint) => {
    const problem = problemsOf(changed(path, value))[0];
    expect(problem?.code).toBe(code);
    expect(problem?.fields.place).toBe(place);
    expect(problem?.fields.line).toBeGreaterThan(1);
    expect(problem?.fields.hint).toMatch(hint);
  });

  it.each([
    [
      'a line break in a value',
      ['sockets', 0, 'values', 'plateLoad'],
      '470k\n.control',
      'bad-value',
    ],
    ['SPICE text in a value', ['sockets', 0, 'values', 'plateLoad'], '{470k*2}', 'bad-value'],
    ['an unknown choice', ['sockets', 0, 'values', 'bias'], 'cathod', 'unknown-name'],
    ['a list for a single value', ['sockets', 0, 'values', 'plateLoad'], [1e5], 'bad-value'],
    ['a value of another unit', ['sockets', 0, 'values', 'plateLoad'], '10 V', 'bad-value'],
    [
      'null for a value that has to be there',
      ['sockets', 0, 'values', 'plateLoad'],
      null,
      'bad-value',
    ],
    [
      'an absurd tolerance',
      ['sockets', 0, 'values', 'plateLoad'],
      { value: 1e5, tolerance_percent: 900 },
      'bad-value',
    ],
    ['a formula with a line break', ['sockets', 0, 'limits'], { gain: 'gain > 1\n2' }, 'bad-value'],
    ['an unsafe id', ['sockets', 0, 'id'], '../V1', 'bad-value'],
    ['an empty id', ['sockets', 0, 'id'], '', 'bad-value'],
    ['an id used twice', ['sockets', 1, 'id'], 'V1', 'contradiction'],
    ['a tube id used twice', ['tubes', 1, 'id'], 'T1', 'contradiction'],
    ['no sockets', ['sockets'], [], 'missing'],
    ['no title', ['title'], undefined, 'missing'],
    ['no bench instrument', ['bench'], undefined, 'missing'],
    [
      'two kinds of emission',
      ['tubes', 0, 'readings', 'emission'],
      { percent: 5, milliamps: 3 },
      'contradiction',
    ],
    ['no kind of emission', ['tubes', 0, 'readings', 'emission'], { minutes: 3 }, 'missing'],
    ['a negative emission', ['tubes', 0, 'readings', 'emission'], { percent: -5 }, 'bad-value'],
    [
      'divisions on a scale in percent',
      ['tubes', 0, 'readings', 'emission'],
      { divisions: 50 },
      'contradiction',
    ],
    [
      'a zone the instrument does not have',
      ['tubes', 0, 'readings', 'emission'],
      { zone: 'fair' },
      'unknown-name',
    ],
    [
      'a path from a grid to itself',
      ['tubes', 0, 'readings', 'shorts'],
      [{ between: ['grid', 'g1'], ohms: 5 }],
      'contradiction',
    ],
    ['a section the tube does not have', ['tubes', 0, 'section'], '3', 'unknown-name'],
    [
      'a short above the top of the scale',
      ['bench', 'leakage', 'short_ohm'],
      '900M',
      'contradiction',
    ],
    [
      'an unknown kind of scale',
      ['bench', 'emission', 'scale'],
      { kind: 'percents' },
      'unknown-name',
    ],
  ] as const)('%s is refused', (_what, path, value, code) => {
    const problems = problemsOf(changed(path, value));
    expect(problems.map((problem) => problem.code)).toContain(code);
    for (const { fields } of problems) {
      expect(fields.file).toBe('test.json');
      expect(fields.line).toBeGreaterThan(0);
      expect(fields.place).not.toBe('');
      expect(fields.found).toBeTruthy();
      expect(fields.expected).toBeTruthy();
    }
  });

  it('all errors are told at once, the first one leads', () => {
    const document = structuredClone(GOOD) as unknown as {
      sockets: { values: Record<string, unknown> }[];
      tubes: Record<string, unknown>[];
      title?: string;
    };
    delete document.title;
    Object.assign(document.sockets[0]!.values, { supply: 'many', plateLoad: -1 });
    document.tubes[0]!['type'] = 'XQ';
    const problems = problemsOf(document);
    expect(problems.map(({ fields }) => fields.place)).toEqual([
      'title',
      'sockets[0].values.supply',
      'sockets[0].values.plateLoad',
      'tubes[0].type',
    ]);
    expect(problemOf(textOf(document)).fields.hint).toContain('3 more');
  });

  it('different sections have to be named, by id, number or family', () => {
    const tube = { id: 'T1', type: 'XTP3', readings: {} };
    expect(problemsOf(changed(['tubes'], [tube]))[0]?.fields.expected).toBe('"a" or "b"');
    for (const section of ['b', 2, '2', 'pentode']) {
      expect(read(changed(['tubes'], [{ ...tube, section }])).tubes[0]?.section).toBe('b');
    }
  });
});

describe('what is not known is kept and told', () => {
  const document = changed(['sockets', 0, 'values', 'plateload'], '100k');
  Object.assign(document as object, { note: 'mine', 'with space': { 10: 1, 2: [] } });

  it('with the place and a near name', () => {
    const { warnings } = read(document);
    expect(warnings.map(({ place }) => place)).toEqual([
      'note',
      '"with space"',
      'sockets[0].values.plateload',
    ]);
    expect(warnings[2]?.text).toContain('Did you mean plateLoad?');
  });

  it('a round trip keeps keys, their order and values', () => {
    const written = writeScenario(read(document));
    expect(JSON.stringify(JSON.parse(written))).toBe(JSON.stringify(document));
    expect(writeScenario(readScenario(written, CONTEXT))).toBe(written);
  });

  it('a tube without readings is told', () => {
    expect(read(changed(['tubes', 1, 'readings'], {})).warnings).toHaveLength(1);
  });

  it('a file without a bench instrument takes the one offered, with a warning', () => {
    const bench = read(GOOD).bench;
    const scenario = readScenario(textOf(changed(['bench'], undefined)), { ...CONTEXT, bench });
    expect(scenario.bench).toBe(bench);
    expect(scenario.warnings[0]?.place).toBe('bench');
  });
});

describe('British terms', () => {
  it('are understood in keys without a warning', () => {
    const document = structuredClone(GOOD) as Record<string, unknown>;
    const { tubes, sockets, ...rest } = document;
    const [first, second] = sockets as Record<string, unknown>[];
    const { tube, ...socket } = first!;
    const british = {
      ...rest,
      sockets: [
        { ...socket, valve: tube, values: { ht: 210, anodeLoad: '100k', g1Resistor: '1M' } },
        { ...second!, values: { g2Supply: 90, avcLineResistance: '1M' } },
      ],
      valves: tubes,
    };
    const scenario = read(british);
    expect(scenario.warnings).toEqual([]);
    expect(scenario.sockets[0]?.values).toMatchObject({
      supply: { value: 210 },
      plateLoad: { value: 100e3 },
      gridResistor: { value: 1e6 },
    });
    expect(scenario.sockets[1]?.values).toMatchObject({
      screenSupply: { value: 90 },
      agcLineResistance: { value: 1e6 },
    });
    expect(scenario.tubes).toHaveLength(2);
  });

  it('are understood as electrodes, in lists and in one text', () => {
    for (const path of [['g1', 'anode'], 'g1-a', 'control grid to anode', 'grid/plate']) {
      const scenario = read(changed(['tubes', 0, 'readings', 'leakage'], { megohms: 5, path }));
      expect(scenario.tubes[0]?.readings.leakage?.[0]?.path).toEqual(['grid', 'plate']);
    }
  });

  it('given beside our own are a contradiction', () => {
    const problem = problemsOf(changed(['sockets', 0, 'values', 'anodeLoad'], '100k'))[0];
    expect(problem?.code).toBe('contradiction');
    expect(problem?.fields.found).toBe('"plateLoad" and "anodeLoad"');
  });
});
