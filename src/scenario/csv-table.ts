/** CSV text -> cells with their offsets. RFC 4180 quoting; comma, semicolon or tab; byte order mark; any line ends. */
import { Problem } from '../problem.ts';
import { Lines, MAX_CHARACTERS } from './json.ts';

export interface Cell {
  readonly text: string;
  readonly offset: number;
}

export interface Table {
  readonly header: readonly Cell[];
  readonly rows: readonly (readonly Cell[])[];
}

/** The separator is the one the first line has most of. Empty lines are left out. @throws Problem */
export function readTable(text: string, file: string): Table {
  if (text.length > MAX_CHARACTERS) {
    throw new Problem('too-large', 'the table is too large', {
      file,
      found: `${Math.ceil(text.length / 1024 / 1024)} MB`,
      expected: `at most ${MAX_CHARACTERS / 1024 / 1024} MB`,
    });
  }
  const rows = splitRows(text, separatorOf(text), file);
  const [header, ...rest] = rows;
  if (header === undefined) {
    throw new Problem('missing', 'the table is empty', {
      file,
      line: 1,
      found: 'nothing',
      expected: 'a header with the names of the columns',
    });
  }
  return { header, rows: rest };
}

function separatorOf(text: string): string {
  const [first = ''] = text
    .replace(/^\uFEFF/, '')
    .trimStart()
    .slice(0, 10_000)
    .replaceAll(/"[^"]*"/g, '')
    .split(/[\r\n]/, 1);
  const count = (separator: string): number => first.split(separator).length - 1;
  return [',', ';', '\t'].reduce((best, separator) =>
    count(separator) > count(best) ? separator : best,
  );
}

function splitRows(text: string, separator: string, file: string): readonly (readonly Cell[])[] {
  const rows: Cell[][] = [];
  let row: Cell[] = [];
  let at = text.startsWith('\uFEFF') ? 1 : 0;
  const bare = new RegExp(`[^${separator}\\r\\n"]*`, 'y');
  const endRow = (): void => {
    if (row.length > 1 || (row[0]?.text.trim() ?? '') !== '') rows.push(row);
    row = [];
  };
  while (at < text.length) {
    const offset = at;
    bare.lastIndex = at;
    let cell = bare.exec(text)?.[0] ?? '';
    at += cell.length;
    if (text.charAt(at) === '"') {
      if (cell.trim() !== '')
        fail(
          text,
          file,
          at,
          'a quotation mark inside a cell',
          'the whole cell in quotes, a quotation mark in it written twice',
        );
      [cell, at] = quoted(text, file, at);
      bare.lastIndex = at;
      const after = bare.exec(text)?.[0] ?? '';
      at += after.length;
      if (after.trim() !== '' || text.charAt(at) === '"')
        fail(
          text,
          file,
          at - after.length,
          'text after a closing quotation mark',
          'the separator or the end of the line',
        );
    }
    row.push({ text: cell, offset });
    const end = text.charAt(at);
    at += text.startsWith('\r\n', at) ? 2 : 1;
    if (end === separator) {
      // The line may end right here, with an empty last cell.
      if (at >= text.length || text.charAt(at) === '\r' || text.charAt(at) === '\n') {
        row.push({ text: '', offset: at });
        at += at >= text.length ? 0 : text.startsWith('\r\n', at) ? 2 : 1;
        endRow();
      }
    } else endRow();
  }
  if (row.length > 0) endRow();
  return rows;
}

/** The text of a quoted cell that starts at `at`, and the offset after its closing quote. */
function quoted(text: string, file: string, at: number): [string, number] {
  let value = '';
  let from = at + 1;
  for (;;) {
    const end = text.indexOf('"', from);
    if (end === -1) fail(text, file, at, 'a quotation mark that is not closed', 'a closing "');
    value += text.slice(from, end);
    if (text.charAt(end + 1) !== '"') return [value, end + 1];
    value += '"';
    from = end + 2;
  }
}

function fail(
  text: string,
  file: string,
  offset: number,
  message: string,
  expected: string,
): never {
  const { line, column } = new Lines(text).at(offset);
  throw new Problem('bad-value', message, {
    file,
    line,
    place: `column ${column} of the text`,
    found: JSON.stringify(text.slice(offset, offset + 30)),
    expected,
  });
}
