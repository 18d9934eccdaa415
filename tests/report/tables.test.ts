import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, pairsOf, readerContext } from '../../src/cases.ts';
import type { AcceptanceCard } from '../../src/decide/accept.ts';
import { inSet, keptCheck } from '../../src/decide/in-set/in-set.ts';
import type { PlacingReport } from '../../src/decide/place.ts';
import { csvText, type Table } from '../../src/report/csv.ts';
import { inSetTable } from '../../src/report/in-set-table.ts';
import { assessmentsJson } from '../../src/report/json.ts';
import { assessmentTable, cardTable, placingTable } from '../../src/report/tables.ts';
import { readTable } from '../../src/scenario/csv-table.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';

/** The tables as a reader of CSV gets them back, held to the JSON of the same answer. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

/** Read back by name; what is empty is not there. */
function readBack(table: Table): Record<string, string>[] {
  const { header, rows } = readTable(csvText(table), 'table.csv');
  return rows.map((row) =>
    Object.fromEntries(
      header.flatMap(({ text }, i) => (row[i]!.text === '' ? [] : [[text, row[i]!.text]])),
    ),
  );
}

/** A JSON value as a cell should have it. */
const cell = (value: unknown): string | undefined =>
  value === null || value === undefined || value === ''
    ? undefined
    : typeof value === 'string'
      ? value
      : JSON.stringify(value);

const file = new URL('../../scenarios/bench-said-otherwise/scenario.json', import.meta.url);
const scenario = readScenario(readFileSync(file, 'utf8'), readerContext('scenario.json'));
const pair = pairsOf(scenario, { tube: 'called bad' })[0]!;
const given = caseOf(scenario, pair.tube, pair.socket);

describe('the writer', () => {
  test('quotes what RFC 4180 asks it to, ends lines with CR LF, writes numbers unrounded and no number as nothing', () => {
    const table: Table = {
      columns: ['name', 'value_V', 'sure'],
      rows: [
        { name: 'a, "b"', value_V: 0.1 + 0.2, sure: true },
        { name: 'two\r\nlines', value_V: -1e-12, sure: false },
        { value_V: NaN, sure: null },
      ],
    };
    expect(csvText(table)).toBe(
      'name,value_V,sure\r\n"a, ""b""",0.30000000000000004,true\r\n"two\r\nlines",-1e-12,false\r\n,,\r\n',
    );
    expect(readBack(table).map(({ value_V }) => Number(value_V))).toEqual([0.1 + 0.2, -1e-12, NaN]);
  });

  test('a cell without a column is refused', () => {
    expect(() => csvText({ columns: ['a'], rows: [{ a: 1, b: 2 }] })).toThrow(/"b" has no column/);
  });
});

test('assess: every measure and every line of wear, with the numbers of the JSON', async () => {
  const report = await assess(given, simulator, { draws: 4, changes: false });
  const json = JSON.parse(JSON.stringify(assessmentsJson('', [report]))) as {
    assessments: {
      verdict: string;
      decidedBy: { measure: string };
      measures: (Record<string, unknown> & { limit: Record<string, unknown> | null })[];
      wear: Record<string, unknown>[];
    }[];
  };
  const [{ measures, wear, verdict, decidedBy }] = json.assessments as [
    (typeof json.assessments)[number],
  ];
  const rows = readBack(assessmentTable([report]));
  expect(rows.map(({ id }) => id)).toEqual([...measures, ...wear].map(({ id }) => id));
  for (const [i, one] of measures.entries()) {
    for (const key of ['value', 'low', 'high', 'newTube', 'margin', 'unit', 'status', 'reason'])
      expect(rows[i]![key], `${String(one['id'])} ${key}`).toBe(cell(one[key]));
    expect(rows[i]!['limit']).toBe(cell(one.limit?.['bound']));
    expect(rows[i]!['decides']).toBe(String(one['id'] === decidedBy.measure));
    expect(rows[i]!['verdict']).toBe(verdict);
  }
  for (const [i, one] of wear.entries())
    for (const key of ['value', 'low', 'high', 'unit'])
      expect(rows[measures.length + i]![key]).toBe(cell(one[key]));
  // a tube that was read in part: something must be without a number, or the check above has seen no empty cell
  expect(wear.some(({ value }) => value === null)).toBe(true);
}, 60_000);

test('in-set: every point as it should read and as it was read', async () => {
  const report = await inSet(given, simulator, {
    ...keptCheck(scenario, given),
    readings: [{ point: 'plate', volts: 45.5 }],
  });
  const rows = readBack(inSetTable(report));
  const points = rows.filter(({ kind }) => kind === 'point');
  expect(points).toHaveLength(report.lines.length);
  for (const [i, line] of report.lines.entries())
    expect(points[i]).toMatchObject(
      JSON.parse(
        JSON.stringify({
          id: line.point,
          value: cell(line.thisTube?.value),
          low: cell(line.thisTube?.low),
          newTubeHigh: cell(line.newTube?.high),
          read: cell(line.read),
        }),
      ) as object,
    );
  expect(points[0]).toMatchObject({ id: 'plate', unit: 'V', read: '45.5' });
  expect(rows.filter(({ kind }) => kind === 'explanation').map((one) => one['likelihood'])).toEqual(
    report.diagnosis!.explanations.map(({ likelihood }) => String(likelihood)),
  );
}, 60_000);

test('accept: limits in the units of their scales, trades, and a socket that takes nothing with its reason', () => {
  const about = { engine: 'e', seed: 3, draws: 64, newTube: [], notes: [], notJudged: [] };
  const socket = { id: 'V1', title: 'first, "IF"', stage: 'agc-if-amplifier', stageTitle: 'IF' };
  const tube = { type: '6BA6', section: '' };
  const card: AcceptanceCard = {
    format: 'stagefit-acceptance',
    version: 1,
    ...about,
    socket,
    tube,
    bench: 'b',
    verdict: 'usable',
    sentence: 'It is.',
    cautions: [],
    limits: [
      {
        reading: 'leakage',
        path: ['grid', 'plate'],
        title: 'Leakage',
        sense: 'atLeast',
        value: 8.2,
        unit: 'MΩ',
        text: 'at least 8.2 MΩ',
        microamps: 100 / 8.2,
        beyond: {
          value: 6.8,
          text: '6.8 MΩ',
        },
        measure: 'gain',
        sentence: '',
      },
    ],
    trades: [
      {
        title: 'One against the other',
        columns: ['Emission', 'drop', 'leakage'],
        rows: [['90 %', 'at most 20 %', 'none']],
        values: [[90, 20, null]],
      },
    ],
  };
  const none: AcceptanceCard = {
    ...card,
    verdict: 'unsuitable',
    sentence: 'Not even, so.',
    limits: [],
    trades: [],
  };
  const rows = readBack(cardTable([card, none]));
  expect(rows).toMatchObject([
    { kind: 'limit', path: 'grid-plate', value: '8.2', unit: 'MΩ', leakage_uA: String(100 / 8.2) },
    { kind: 'trade', title: 'drop', atEmission: '90', value: '20', text: 'at most 20 %' },
    { kind: 'trade', title: 'leakage', atEmission: '90', text: 'none' },
    { kind: 'none', verdict: 'unsuitable', text: 'Not even, so.', seed: '3' },
  ]);
  expect(rows[2]).not.toHaveProperty('value');
});

test('place: cells, pairs and empty sockets, and which of them are the placing', () => {
  const report: PlacingReport = {
    format: 'stagefit-placing',
    version: 1,
    engine: 'e',
    seed: 1,
    draws: 64,
    sockets: [],
    tubes: [
      {
        id: 'a',
        type: '6V6GT',
        section: '',
      },
    ],
    cells: ['V1', 'V2'].map((socket) => ({
      socket,
      tube: 'a',
      verdict: 'usable',
      margin: 0.123456789012345,
      measure: 'power',
      sentence: '',
    })),
    placing: [
      {
        socket: 'V1',
        tubes: ['a'],
        verdict: 'usable',
        margin: 0.12,
        sentence: '',
      },
      {
        socket: 'V2',
        tubes: [],
        verdict: null,
        margin: null,
        sentence: 'V2 stays empty.',
      },
      {
        socket: 'out',
        tubes: ['b', 'a'],
        verdict: null,
        margin: null,
        sentence: '',
      },
    ],
    pairs: [
      {
        socket: 'out',
        pairs: [
          {
            tubes: ['a', 'b'],
            difference: 0.01,
            verdict: null,
            margin: null,
            sentence: 'close',
          },
        ],
      },
    ],
    worst: null,
    sentence: '',
    spare: [],
    order: [],
    notes: [],
  };
  expect(readBack(placingTable(report))).toMatchObject([
    { kind: 'tube', socket: 'V1', type: '6V6GT', margin: '0.123456789012345', placed: 'true' },
    { kind: 'tube', socket: 'V2', placed: 'false' },
    { kind: 'pair', tube: 'a', tube2: 'b', currentDifference: '0.01', placed: 'true' },
    { kind: 'empty', socket: 'V2', sentence: 'V2 stays empty.' },
  ]);
});
