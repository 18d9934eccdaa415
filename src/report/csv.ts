/**
 * A table as CSV after RFC 4180: commas, lines that end in CR LF, quotes where a cell needs them. Numbers are written
 * unrounded, with a point; what has no number is an empty cell. A unit stands in the column's name, or, where it changes
 * from line to line, in a column `unit`.
 */
export type CsvCell = string | number | boolean | null | undefined;

/** Cells by column; one that is not there is empty. */
export type CsvRow = Readonly<Record<string, CsvCell>>;

export interface Table {
  readonly columns: readonly string[];
  readonly rows: readonly CsvRow[];
}

/** "tube type verdict" -> the names, in order. */
export const columnsOf = (names: string): readonly string[] => names.trim().split(/\s+/);

export const csvText = ({ columns, rows }: Table): string =>
  [csvLine(columns), ...rows.map((row) => csvRow(columns, row))].join('');

/** @throws RangeError for a cell without a column, which would be lost */
export function csvRow(columns: readonly string[], row: CsvRow): string {
  const lost = Object.keys(row).find((name) => !columns.includes(name));
  if (lost !== undefined) throw new RangeError(`A cell "${lost}" has no column.`);
  return csvLine(columns.map((name) => row[name]));
}

export const csvLine = (cells: readonly CsvCell[]): string =>
  `${cells.map(cellText).join(',')}\r\n`;

function cellText(cell: CsvCell): string {
  if (cell === null || cell === undefined) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  const text = String(cell);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** Several values in one cell. */
export const listed = (values: readonly (string | number)[]): string => values.join('; ');
