/** The schema is held against ajv, an independent validator of JSON Schema draft 2020-12, and against the reader. */
import { readdirSync, readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { readScenario } from '../../src/scenario/read.ts';
import { scenarioJsonSchema } from '../../src/scenario/schema.ts';
import { writeJson } from '../../src/scenario/write.ts';
import { OWN_SCHEMA } from '../../src/own-circuit/stage.ts';
import { STAGES as CATALOGUE } from '../../src/stage/catalogue.ts';
import { changed, CONTEXT, GOOD, STAGES, textOf } from './fixtures.ts';

const ajv = new Ajv2020({
  allErrors: true,
  strict: true,
  strictRequired: false,
  strictTypes: false,
  allowUnionTypes: true,
});
const validate = ajv.compile(scenarioJsonSchema(STAGES) as object);

function readerAccepts(document: unknown): boolean {
  try {
    readScenario(textOf(document), CONTEXT);
    return true;
  } catch {
    return false;
  }
}

const socket = (key: string) => ['sockets', 0, key] as const;
const value = ['sockets', 0, 'values', 'plateLoad'] as const;
const readings = (key: string) => ['tubes', 0, 'readings', key] as const;

describe('schema and reader agree', () => {
  it.each([
    ['the good scenario', ['title'], 'another title'],
    ['an unknown key', ['note'], { any: ['thing'] }],
    ['a value as a number', value, 1e5],
    ['a value as an object', value, { value: '100k', tolerance_percent: 5, measured: false }],
    ['a part that has drifted', value, { value: '220k', marked: '100k' }],
    ['a value that may be absent', ['sockets', 0, 'values', 'couplingLeakage'], null],
    ['a single value where a list may be', ['sockets', 1, 'values', 'agcVoltages'], -3],
    ['a choice', ['sockets', 0, 'values', 'bias'], 'contact'],
    [
      'several emission readings',
      readings('emission'),
      [
        { percent: 60, minutes: 1 },
        { percent: '65', minutes: 2 },
      ],
    ],
    ['a pair as one text', readings('leakage'), { megohms: '>500M', path: 'grid-plate' }],
    ['no tubes', ['tubes'], undefined],
    [
      'a scale in divisions',
      ['bench', 'emission', 'scale'],
      { kind: 'divisions', fullScale: 100, rejectMark: 40 },
    ],
    [
      'a scale in zones',
      ['bench', 'emission', 'scale'],
      { kind: 'zones', zones: [{ name: 'low', from_percent: 0, to_percent: 50 }] },
    ],
    ['test currents', ['bench', 'emission', 'testCurrents_A'], { XT1: '10 mA', XP2: 0.05 }],
  ] as const)('%s is good', (_what, path, given) => {
    const document = changed(path, given);
    expect(validate(JSON.parse(JSON.stringify(document))), JSON.stringify(validate.errors)).toBe(
      true,
    );
    expect(readerAccepts(document)).toBe(true);
  });

  it.each([
    ['another version', ['version'], 2],
    ['another format', ['format'], 'x'],
    ['no title', ['title'], undefined],
    ['no sockets', ['sockets'], []],
    ['sockets that are no list', ['sockets'], {}],
    ['an unknown stage', socket('stage'), 'amplifier'],
    ['an id with a slash', socket('id'), 'a/b'],
    ['no tube', socket('tube'), undefined],
    ['a value out of range', value, -1],
    ['a value of the wrong kind', value, true],
    ['a list for one value', value, [1e5]],
    ['null where a value has to be', value, null],
    ['a tolerance beyond 100 %', value, { value: 1e5, tolerance_percent: 101 }],
    ['a wrapped value without its value', value, { measured: true }],
    ['a marking out of range', value, { value: 1e5, marked: -1 }],
    ['a marked voltage', ['sockets', 0, 'values', 'supply'], { value: 200, marked: 250 }],
    ['an unknown choice', ['sockets', 0, 'values', 'bias'], 'fixed'],
    ['an empty list', ['sockets', 1, 'values', 'agcVoltages'], []],
    ['a limit on what is no measure', socket('limits'), { volume: 3 }],
    ['a limit that is an object', socket('limits'), { gain: {} }],
    ['two kinds of emission', readings('emission'), { percent: 5, milliamps: 4 }],
    ['no kind of leakage', readings('leakage'), [{ minutes: 3 }]],
    ['a short without ohms', readings('shorts'), [{ between: ['grid', 'plate'] }]],
    [
      'a short between three',
      readings('shorts'),
      [{ between: ['grid', 'plate', 'screen'], ohms: 1 }],
    ],
    ['an unknown electrode', readings('shorts'), [{ between: ['grid', 'getter'], ohms: 1 }]],
    ['an unknown remark', readings('noticed'), ['hums']],
    ['a drop beyond 100 %', readings('starvedHeater'), { drop_percent: 120 }],
    ['a grid current without its conditions', readings('gridCurrent'), { microamps: 1 }],
    ['a scale without a kind', ['bench', 'emission', 'scale'], {}],
    ['divisions without a full scale', ['bench', 'emission', 'scale'], { kind: 'divisions' }],
    ['a polarity that is none', ['bench', 'leakage', 'grid'], 'minus'],
    ['an accuracy that is none', ['bench', 'emission', 'accuracy_percent'], 'fair'],
  ] as const)('%s is bad', (_what, path, given) => {
    const document = changed(path, given);
    expect(validate(JSON.parse(JSON.stringify(document)))).toBe(false);
    expect(readerAccepts(document)).toBe(false);
  });

  it('the unchanged fixture is good in both', () => {
    expect(validate(GOOD), JSON.stringify(validate.errors)).toBe(true);
    expect(readerAccepts(GOOD)).toBe(true);
  });
});

describe('the schema file', () => {
  it('is what the shapes and the catalogue of stages say now (npm run schema)', () => {
    const file = new URL('../../scenarios/scenario.schema.json', import.meta.url);
    expect(readFileSync(file, 'utf8')).toBe(
      writeJson(scenarioJsonSchema([...CATALOGUE, OWN_SCHEMA])),
    );
  });

  it('accepts every scenario that ships', () => {
    const shipped = ajv.compile(scenarioJsonSchema([...CATALOGUE, OWN_SCHEMA]) as object);
    const root = new URL('../../scenarios/', import.meta.url);
    const files = readdirSync(root, { recursive: true, encoding: 'utf8' }).filter(
      (name) => name.endsWith('.json') && !/schema|expected/.test(name),
    );
    expect(files.length).toBeGreaterThan(2);
    for (const name of files) {
      shipped(JSON.parse(readFileSync(new URL(name, root), 'utf8')));
      expect(shipped.errors, name).toBeNull();
    }
  });
});
