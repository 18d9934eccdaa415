import type { CurvePoint } from '../../models/device.ts';
import { Problem } from '../problem.ts';
import { readTable, type Cell } from '../scenario/csv-table.ts';
import { ourTerm } from '../scenario/terms.ts';

/** Measured points from a CSV table: one line a point, the unit in the header. */

export interface ReadPoint {
  /** Line of the file, from 1. */
  readonly line: number;
  readonly point: CurvePoint;
}

export interface ReadPoints {
  readonly points: readonly ReadPoint[];
  /** What was left out or taken together, one sentence each. */
  readonly notes: readonly string[];
}

/** Factor to V or mA. Exponents, because "MV" and "mV" are not the same. */
const UNITS: Readonly<Record<string, readonly ['V' | 'mA', number]>> = {
  V: ['V', 1],
  kV: ['V', 1e3],
  mV: ['V', 1e-3],
  A: ['mA', 1e3],
  mA: ['mA', 1],
  uA: ['mA', 1e-3],
  µA: ['mA', 1e-3],
  μA: ['mA', 1e-3],
};
const COLUMNS = ['plate_V', 'screen_V', 'grid_V', 'plate_mA', 'screen_mA'] as const;
type Column = (typeof COLUMNS)[number];
const MISSING = new Set(['', '-', '–', '—', 'n/a', 'na', '?']);

/**
 * Reads the table. Columns `plate_V`, `grid_V`, `plate_mA`; for pentodes `screen_V`, and `screen_mA` where it was read;
 * other units (`plate_uA`, `grid_mV`) and anode, g1, g2 are understood; further columns are left alone.
 *
 * @throws Problem with file, line and column
 */
export function readPoints(text: string, file: string, family: 'triode' | 'pentode'): ReadPoints {
  const table = readTable(text, file);
  const columns = table.header.map((cell) => columnOf(cell.text));
  const needed: readonly Column[] = [
    'plate_V',
    'grid_V',
    'plate_mA',
    ...(family === 'pentode' ? (['screen_V'] as const) : []),
  ];
  for (const name of needed) {
    const count = columns.filter((column) => column?.name === name).length;
    if (count !== 1)
      throw new Problem(
        count === 0 ? 'missing' : 'contradiction',
        count === 0 ? 'a column is missing' : 'a column is there twice',
        {
          file,
          line: 1,
          place: name,
          found: table.header.map((cell) => cell.text.trim()).join(', '),
          expected: `${needed.join(', ')}${family === 'pentode' ? ', and screen_mA where it was read' : ''}`,
        },
      );
  }
  const notes: string[] = [];
  const unread = table.header
    .filter((_, i) => columns[i] === undefined)
    .map((cell) => cell.text.trim());
  if (unread.length > 0) notes.push(`Columns left alone: ${unread.join(', ')}.`);
  if (family === 'triode' && columns.some((column) => column?.name.startsWith('screen')))
    notes.push('The screen’s columns are left alone: a triode has none.');
  const lineOf = lineCounter(text);
  const found: ReadPoint[] = [];
  for (const row of table.rows) {
    const line = lineOf(row[0]?.offset ?? 0);
    const values = new Map<Column, number>();
    row.forEach((cell, i) => {
      const column = columns[i];
      if (column === undefined || MISSING.has(cell.text.trim().toLowerCase())) return;
      values.set(column.name, column.factor * numberOf(cell, file, line, column.name));
    });
    const absent = needed.filter((name) => !values.has(name));
    if (absent.length > 0) {
      notes.push(`Line ${line} is left out: no ${absent.join(' and no ')}.`);
      continue;
    }
    found.push({ line, point: pointOf(values, family, file, line) });
  }
  return { points: withResolution(merged(found, notes)), notes };
}

function pointOf(
  values: ReadonlyMap<Column, number>,
  family: string,
  file: string,
  line: number,
): CurvePoint {
  const get = (name: Column) => values.get(name) ?? NaN;
  const within = (name: Column, low: number, high: number) => {
    const value = get(name);
    if (!(value >= low && value <= high))
      throw new Problem('bad-value', 'out of range', {
        file,
        line,
        place: name,
        found: `${value}`,
        expected: `${low} to ${high}`,
      });
    return value;
  };
  const pentode = family === 'pentode';
  return {
    kind: 'curve',
    plate_V: within('plate_V', 0, 2000),
    ...(pentode ? { screen_V: within('screen_V', 0, 2000) } : {}),
    grid_V: within('grid_V', -500, 50),
    plate_mA: within('plate_mA', 0, 5000),
    ...(pentode && values.has('screen_mA') ? { screen_mA: within('screen_mA', 0, 5000) } : {}),
    use: 'fit',
    source: `measured: ${file}, line ${line}`,
    provenance: 'published',
  };
}

function columnOf(header: string): { name: Column; factor: number } | undefined {
  const parts = /^(.*?)[\s_]*[([]?\s*([a-zA-Zµμ]+)\s*[)\]]?$/.exec(header.trim());
  const [, words, unitText] = parts ?? [];
  if (words === undefined || unitText === undefined) return undefined;
  const unit = UNITS[unitText];
  if (unit === undefined) return undefined;
  const name = `${ourTerm(words.replaceAll('_', ' ').trim())}_${unit[0]}`;
  const known = COLUMNS.find((column) => column === name);
  return known === undefined ? undefined : { name: known, factor: unit[1] };
}

function numberOf(cell: Cell, file: string, line: number, place: string): number {
  const text = cell.text.trim().replace(/^[−–]/, '-');
  const plain = /^[-+]?\d+,\d+$/.test(text) ? text.replace(',', '.') : text;
  if (!/^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$/.test(plain))
    throw new Problem('bad-value', 'this is no number', {
      file,
      line,
      place,
      found: JSON.stringify(cell.text),
      expected: 'a number, with a point or a comma for decimals and no unit (the header has it)',
    });
  return Number(plain);
}

/** Lines that say the same twice count once; readings of one condition that differ all count, and are told. */
function merged(found: readonly ReadPoint[], notes: string[]): readonly ReadPoint[] {
  const byCondition = new Map<string, ReadPoint[]>();
  const kept: ReadPoint[] = [];
  for (const read of found) {
    const { plate_V, screen_V, grid_V, plate_mA, screen_mA } = read.point;
    const key = `${plate_V} ${screen_V} ${grid_V}`;
    const others = byCondition.get(key) ?? [];
    const same = others.find(
      ({ point }) => point.plate_mA === plate_mA && point.screen_mA === screen_mA,
    );
    if (same !== undefined) {
      notes.push(`Line ${read.line} repeats line ${same.line} and counts once.`);
      continue;
    }
    others.push(read);
    byCondition.set(key, others);
    kept.push(read);
  }
  for (const group of byCondition.values())
    if (group.length > 1)
      notes.push(
        `Lines ${group.map(({ line }) => line).join(' and ')} are one condition with ${group.map(({ point }) => `${point.plate_mA} mA`).join(' and ')}: all count.`,
      );
  return kept;
}

/** A meter's resolution is not in the table: 0.2 % of the largest current read. */
function withResolution(found: readonly ReadPoint[]): readonly ReadPoint[] {
  const largest = Math.max(0, ...found.map(({ point }) => point.plate_mA));
  const reading_mA = Number(Math.max(1e-3, 0.002 * largest).toPrecision(3));
  return found.map(({ line, point }) => ({ line, point: { ...point, reading_mA } }));
}

function lineCounter(text: string): (offset: number) => number {
  const ends = [...text.matchAll(/\r\n|\r|\n/g)].map((match) => match.index);
  return (offset) => 1 + ends.filter((end) => end < offset).length;
}
