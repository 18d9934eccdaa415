import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { allDevices, findDevice } from '../../models/catalogue.ts';
import { compare } from '../../models/predict.ts';
import { tubeModel } from '../../models/tube.ts';
import { findStage } from '../../src/stage/catalogue.ts';
import { readTable } from '../../src/scenario/csv-table.ts';

/** --csv on the built command line: the numbers of --json, a name with its unit over each. */
const root = fileURLToPath(new URL('../../', import.meta.url));
function stagefit(args: readonly string[], input = ''): { code: number | null; out: string } {
  const done = spawnSync(process.execPath, ['dist/cli/stagefit.js', ...args], {
    encoding: 'utf8',
    cwd: root,
    timeout: 6e4,
    maxBuffer: 1e8,
    input,
  });
  return { code: done.status, out: done.stdout };
}

function rowsOf(args: readonly string[], input = ''): Record<string, string>[] {
  const { header, rows } = readTable(stagefit([...args, '--csv'], input).out, 'stdout');
  return rows.map((row) => Object.fromEntries(header.map(({ text }, i) => [text, row[i]!.text])));
}
const jsonOf = <T>(args: readonly string[]): T =>
  JSON.parse(stagefit([...args, '--json']).out) as T;

describe('--csv', () => {
  test('characteristics: published points, and figures at given volts', () => {
    const { device } = findDevice('12AX7')!;
    const points = device.units[0]!.points.flatMap((point) =>
      compare(tubeModel(device), point).map(({ model }) => model),
    );
    expect(rowsOf(['characteristics', '12AX7']).map(({ model }) => Number(model))).toEqual(points);
    const at = ['characteristics', '12AX7', '--plate', '100', '--grid', '-1'];
    const figures = jsonOf<Record<string, number>>(at);
    const [row] = rowsOf(at);
    expect(Number(row!['plate_V'])).toBe(100);
    for (const [name, value] of Object.entries(figures)) expect(Number(row![name])).toBe(value);
  });

  test('tubes: a line a section; stages: values with their ranges', () => {
    expect(rowsOf(['tubes']).map(({ id, section }) => [id, section])).toEqual(
      allDevices().flatMap(({ id, units }) =>
        units.flatMap(({ sections }) => sections.map((section) => [id, section.id])),
      ),
    );
    const values = rowsOf(['stages', 'rc-amplifier']).filter(({ kind }) => kind === 'value');
    expect(values.map(({ id, unit, low }) => [id, unit, Number(low)])).toEqual(
      Object.entries(findStage('rc-amplifier')!.values).map(([id, { unit, low }]) => [
        id,
        unit,
        low,
      ]),
    );
  });

  test('model: the knob values and leaks of the SPICE text', () => {
    const args = ['model', 'scenarios/table-radio/scenario.json', '--tube', 'tin 9'];
    const { knobs, leaks, spice } = jsonOf<{
      knobs: Record<string, number>;
      leaks: { between: string[]; ohms: number }[];
      spice: string;
    }>(args);
    const rows = rowsOf(args).map(({ kind, name, value }) => [kind, name, Number(value)]);
    expect(rows).toEqual([
      ...Object.entries(knobs).map(([name, volts]) => ['knob', name, volts]),
      ...leaks.map(({ between, ohms }) => ['leak', `${between.join('-')}_ohm`, ohms]),
    ]);
    const { out } = stagefit(args);
    expect(out).toContain(spice);
    const shown = /knob voltages: (.*)/.exec(out)![1]!.split(' ').map(Number);
    expect(shown).toEqual(Object.values(knobs).map((volts) => Number(volts.toPrecision(4))));
    expect(knobs['area']).toBeGreaterThan(0);
    expect(leaks.length).toBeGreaterThan(0);
  });

  test('fit: every measured point in its line', () => {
    const points = [
      'plate_V,grid_V,plate_mA',
      '250,-8,9.2',
      '250,-6,14',
      '250,-10,5.4',
      '200,-4,13.5',
      '100,0,12',
      '100,-2,5.2',
    ];
    const rows = rowsOf(['fit', '-', '--like', '12AU7'], points.join('\n'));
    expect(rows.map((row) => [row['plate_V'], row['grid_V'], row['plate_mA']].join(','))).toEqual(
      points.slice(1),
    );
    for (const { plate_mA, plateModel_mA } of rows)
      expect(Math.abs(Number(plateModel_mA) / Number(plate_mA) - 1)).toBeLessThan(0.3);
  });

  test('batch: the head once, a line a measure, a line that could not be read in its place', () => {
    const tube = (name: string): string =>
      JSON.stringify({ tube: name, type: '6AV6', section: 'triode', readings: { emission: { percent: 70 } } }); // prettier-ignore
    const input = [tube('a'), '{'].join('\n');
    const set = 'scenarios/record-player/scenario.json';
    const rows = rowsOf(['batch', set, '--draws', '0', '--workers', '1'], input);
    const [first, broken] = stagefit(
      ['batch', set, '--draws', '0', '--workers', '1'],
      input,
    ).out.split('\n');
    const { measures } = (
      JSON.parse(first!) as { assessments: { measures: { id: string; value: number | null }[] }[] }
    ).assessments[0]!;
    expect(rows.slice(0, measures.length).map(({ measure, value }) => [measure, value])).toEqual(
      measures.map(({ id, value }) => [id, value === null ? '' : String(value)]),
    );
    const errors = rows.filter(({ error }) => error !== '');
    expect(JSON.parse(errors[0]!['error']!)).toEqual(
      (JSON.parse(broken!) as { error: object }).error,
    );
    expect([...new Set(rows.map((row) => row['tube']))]).toEqual(['a', '']);
  });

  test.each([
    ['place', ['nowhere.json']],
    ['fit', ['-', '--like', '12AU7']],
  ] as const)('%s: --json and --csv together are refused before a file is read', (name, args) => {
    const { code, out } = stagefit([name, ...args, '--json', '--csv']);
    expect(code).toBe(2);
    expect(out).toBe('');
  });
});
