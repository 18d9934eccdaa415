/**
 * Readings as a table: CSV text -> tested tubes. One line a tube, or several lines with the same tube name where
 * readings were taken over time. The cells become a document of their own, read by the same shapes as a scenario's
 * `tubes`; so the rules are the same, and every error names its line and column.
 */
import { Check } from './check.ts';
import type { Warning } from './check.ts';
import { readTable } from './csv-table.ts';
import type { Cell } from './csv-table.ts';
import { plainOf, quote } from './json.ts';
import type { JsonMember, JsonNode, JsonValue } from './json.ts';
import { didYouMean, orList } from './near.ts';
import { MOST_TUBES } from './scenario.ts';
import type { Context, TestedTube } from './scenario.ts';
import { readTube } from './tubes.ts';
import type { Surroundings } from './tubes.ts';
import { ourKey } from './terms.ts';

/** Once a tube: a second line may leave it empty or repeat it. */
const SINGLE: Readonly<Record<string, readonly string[]>> = {
  tube: ['id'],
  type: ['type'],
  section: ['section'],
  title: ['title'],
  sockets: ['sockets'],
  drop_percent: ['readings', 'starvedHeater', 'drop_percent'],
  heater_percent: ['readings', 'starvedHeater', 'heater_percent'],
  held_seconds: ['readings', 'starvedHeater', 'heldSeconds'],
  grid_current_microamps: ['readings', 'gridCurrent', 'microamps'],
  grid_current_plate_volts: ['readings', 'gridCurrent', 'plateVolts'],
  grid_current_screen_volts: ['readings', 'gridCurrent', 'screenVolts'],
  grid_current_grid_volts: ['readings', 'gridCurrent', 'gridVolts'],
  transconductance_mS: ['readings', 'transconductance', 'mS'],
  transconductance_percent: ['readings', 'transconductance', 'percent'],
  transconductance_plate_volts: ['readings', 'transconductance', 'plateVolts'],
  transconductance_screen_volts: ['readings', 'transconductance', 'screenVolts'],
  transconductance_grid_volts: ['readings', 'transconductance', 'gridVolts'],
  noticed: ['readings', 'noticed'],
  hours_since_last_used: ['readings', 'hoursSinceLastUsed'],
};

/** Once a line: series name and key. `minutes` goes to every series of its line that takes a time. */
const SERIES: Readonly<Record<string, readonly [string, string]>> = {
  emission_percent: ['emission', 'percent'],
  emission_milliamps: ['emission', 'milliamps'],
  emission_divisions: ['emission', 'divisions'],
  emission_zone: ['emission', 'zone'],
  leakage_megohms: ['leakage', 'megohms'],
  leakage_above_megohms: ['leakage', 'aboveMegohms'],
  leakage_microamps: ['leakage', 'microamps'],
  leakage_volts: ['leakage', 'atVolts'],
  leakage_path: ['leakage', 'path'],
  heater_cathode_megohms: ['heaterCathode', 'megohms'],
  heater_cathode_above_megohms: ['heaterCathode', 'aboveMegohms'],
  heater_cathode_microamps: ['heaterCathode', 'microamps'],
  heater_cathode_volts: ['heaterCathode', 'atVolts'],
  short_between: ['shorts', 'between'],
  short_ohms: ['shorts', 'ohms'],
  short_hot: ['shorts', 'hot'],
};

/** Every column that is understood, in the order a person would fill them in. */
export const CSV_COLUMNS: readonly string[] = [
  'tube',
  'type',
  'section',
  'minutes',
  ...Object.keys(SERIES),
  ...Object.keys(SINGLE).slice(3),
];

const TEXT_COLUMNS = new Set(['tube', 'type', 'title', 'emission_zone']);
const LIST_COLUMNS = new Set(['sockets', 'noticed']);

export interface CsvTubes {
  readonly tubes: readonly TestedTube[];
  /** The same as a scenario's `tubes` would have them. */
  readonly original: readonly JsonValue[];
  readonly warnings: readonly Warning[];
}

/** @throws FileProblem (a Problem) with every error found; nothing else. */
export function readTubesCsv(
  text: string,
  context: Pick<Context, 'file' | 'findTube' | 'nearTubes'>,
  surroundings: Surroundings = { bench: undefined, sockets: undefined },
): CsvTubes {
  const { header, rows } = readTable(text, context.file);
  const check = new Check(text, context.file);
  const columns = readHeader(header, check);
  check.throwIfFailed();

  const drafts = new Map<string, Draft>();
  for (const row of rows) addRow(row, header, columns, drafts, check);
  if (drafts.size === 0 && !check.failed) {
    check.wrong('missing', { offset: 0 }, 'the table', 'no tube in it', {
      found: 'a header only',
      expected: 'a line for each tube',
    });
  }
  if (drafts.size > MOST_TUBES) {
    check.wrong('too-large', { offset: 0 }, 'the table', 'too many tubes', {
      found: `${drafts.size}`,
      expected: `at most ${MOST_TUBES}`,
    });
  }
  check.throwIfFailed();
  const nodes = [...drafts.values()].map((draft) => draft.node());
  const tubes = nodes.map((node, index) =>
    readTube(node, `tubes[${index}]`, check, context, surroundings),
  );
  check.throwIfFailed();
  return {
    tubes: tubes.filter((tube) => tube !== undefined),
    original: nodes.map(plainOf),
    warnings: check.warnings,
  };
}

/** Column names by position; undefined for one that is not understood, which has been warned about. */
function readHeader(header: readonly Cell[], check: Check): readonly (string | undefined)[] {
  const columns = header.map((cell, index) => {
    const known = CSV_COLUMNS.find((name) => canonical(name) === canonical(cell.text));
    if (known !== undefined || cell.text.trim() === '') return known;
    const near = didYouMean(cell.text, CSV_COLUMNS);
    check.warn(
      cell,
      `column ${index + 1}`,
      `The column ${quote(cell.text)} is not known: not used.${near === undefined ? '' : ` ${near}`}`,
    );
    return undefined;
  });
  for (const [index, name] of columns.entries()) {
    if (name === undefined || columns.indexOf(name) === index) continue;
    check.wrong(
      'contradiction',
      header[index] ?? { offset: 0 },
      `column ${index + 1}`,
      'a column stands twice',
      {
        found: quote(name),
        expected: 'each column once',
      },
    );
  }
  for (const name of ['tube', 'type']) {
    if (columns.includes(name)) continue;
    check.wrong('missing', { offset: 0 }, 'the first line', `the column "${name}" is missing`, {
      found: orList(header.slice(0, 8).map((cell) => quote(cell.text))),
      expected: `a header with ${quote('tube')}, ${quote('type')} and the names of the readings with their units`,
    });
  }
  return columns;
}

/** Letter case, spaces and dashes do not count, and "valve" is a tube. */
function canonical(name: string): string {
  const plain = name
    .trim()
    .toLowerCase()
    .replaceAll(/[\s-]+/g, '_');
  return (plain === 'id' ? 'tube' : (ourKey(plain) ?? plain)).replaceAll('_', '').toLowerCase();
}

function addRow(
  cells: readonly Cell[],
  header: readonly Cell[],
  columns: readonly (string | undefined)[],
  drafts: Map<string, Draft>,
  check: Check,
): void {
  const [start] = cells;
  if (start === undefined) return;
  if (cells.length !== columns.length) {
    const extra = cells.slice(columns.length);
    if (cells.length < columns.length || extra.some(({ text }) => text.trim() !== '')) {
      check.wrong(
        'bad-value',
        start,
        'the line',
        'a line with another number of cells than the header',
        {
          found: `${cells.length} cells`,
          expected: `${columns.length} cells`,
          hint: 'A text with the separator in it has to stand in double quotes.',
        },
      );
      return;
    }
  }
  const given = new Map<string, Cell>();
  for (const [index, name] of columns.entries()) {
    const cell = cells[index];
    if (cell === undefined || cell.text.trim() === '') continue;
    if (name !== undefined) given.set(name, cell);
    else if (header[index]?.text.trim() === '') {
      check.wrong('missing', cell, `column ${index + 1}`, 'a cell in a column without a name', {
        found: quote(cell.text),
        expected: 'a name in the header, or an empty column',
      });
    }
  }
  const tube = given.get('tube');
  if (tube === undefined) {
    check.wrong('missing', start, 'tube', 'a line without a tube', {
      found: 'an empty cell',
      expected: 'the name of the tube',
    });
    return;
  }
  const id = tube.text.trim();
  const draft = drafts.get(id) ?? new Draft(tube);
  drafts.set(id, draft);
  draft.add(given, check);
}

/** A tube that is being put together from its lines. */
class Draft {
  private readonly single = new Map<string, Cell>();
  private readonly series = new Map<string, JsonNode[]>();

  constructor(private readonly start: Cell) {}

  add(given: ReadonlyMap<string, Cell>, check: Check): void {
    const line = new Map<string, JsonMember[]>();
    for (const [name, cell] of given) {
      const place = SERIES[name];
      if (place !== undefined) {
        const [series, key] = place;
        line.set(series, [...(line.get(series) ?? []), member(key, name, cell)]);
      } else if (name !== 'minutes') this.once(name, cell, check);
    }
    const minutes = given.get('minutes');
    let timed = false;
    for (const [series, members] of line) {
      const takesTime = series !== 'shorts' && minutes !== undefined;
      timed ||= takesTime;
      const all = takesTime ? [...members, member('minutes', 'minutes', minutes)] : members;
      const first = all[0];
      if (first === undefined) continue;
      const node: JsonNode = { offset: first.offset, where: series, kind: 'object', members: all };
      this.series.set(series, [...(this.series.get(series) ?? []), node]);
    }
    if (minutes !== undefined && !timed) {
      check.warn(minutes, 'minutes', 'A time without a reading that was taken then: not used.');
    }
  }

  private once(name: string, cell: Cell, check: Check): void {
    const earlier = this.single.get(name);
    if (earlier === undefined) this.single.set(name, cell);
    else if (earlier.text.trim() !== cell.text.trim()) {
      check.wrong(
        'contradiction',
        cell,
        name,
        `two lines of the tube ${quote(this.start.text.trim())} disagree`,
        {
          found: `${quote(earlier.text.trim())} and ${quote(cell.text.trim())}`,
          expected: 'the same in every line of a tube, or empty after the first',
          ...(name === 'section'
            ? { hint: 'Give each section a tube name of its own, such as "T1 a" and "T1 b".' }
            : {}),
        },
      );
    }
  }

  node(): JsonNode {
    const root = new Branch(this.start);
    for (const [name, cell] of this.single) root.put(SINGLE[name] ?? [], name, cell);
    const readings = root.branch('readings');
    for (const [series, items] of this.series) {
      const list: JsonNode = { offset: this.start.offset, where: series, kind: 'list', items };
      readings.members.push({ key: series, offset: list.offset, where: series, value: list });
    }
    return root.node();
  }
}

/** An object under construction. */
class Branch {
  readonly members: JsonMember[] = [];
  private readonly branches = new Map<string, Branch>();

  constructor(private readonly start: Cell) {}

  branch(key: string): Branch {
    const found = this.branches.get(key) ?? new Branch(this.start);
    this.branches.set(key, found);
    return found;
  }

  put([key = '', ...rest]: readonly string[], column: string, cell: Cell): void {
    if (rest.length === 0) this.members.push(member(key, column, cell));
    else this.branch(key).put(rest, column, cell);
  }

  node(): JsonNode {
    const inner = [...this.branches].map(([key, branch]) => ({
      key,
      offset: this.start.offset,
      value: branch.node(),
    }));
    return { offset: this.start.offset, kind: 'object', members: [...this.members, ...inner] };
  }
}

function member(key: string, column: string, cell: Cell): JsonMember {
  return { key, offset: cell.offset, where: column, value: cellNode(column, cell) };
}

function cellNode(column: string, cell: Cell): JsonNode {
  const spot = { offset: cell.offset, where: column };
  const value = cell.text.trim();
  if (LIST_COLUMNS.has(column)) {
    const items = value.split(/\s*[;,|+]\s*/).filter((item) => item !== '');
    return {
      ...spot,
      kind: 'list',
      items: items.map((item) => ({ ...spot, kind: 'text', value: item })),
    };
  }
  if (TEXT_COLUMNS.has(column)) return { ...spot, kind: 'text', value };
  if (column === 'short_hot' && /^(?:true|yes|hot|1|false|no|cold|0)$/i.test(value)) {
    return { ...spot, kind: 'flag', value: /^(?:true|yes|hot|1)$/i.test(value) };
  }
  // Plain numbers are numbers, so that an export shows them as such; all else is for the reader of quantities.
  if (/^-?\d{1,15}(?:\.\d{1,15})?$/.test(value))
    return { ...spot, kind: 'number', value: Number(value) };
  return { ...spot, kind: 'text', value };
}
