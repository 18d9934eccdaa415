import type { AcceptanceMap, MapCell } from '../decide/map.ts';
import { formatQuantity } from '../units/format.ts';
import { csvText } from './csv.ts';
import { mapTable } from './tables.ts';
import { wrap } from './text.ts';

/** The acceptance map as text, at most 80 columns. */

const ROWS = 21;

/** The limit that a cell is refused for. */
const pressing = ({ verdict, measure, decides }: MapCell): string | null =>
  verdict === 'marginal' ? decides : measure;

export function mapText(map: AcceptanceMap): string {
  const measures = [...new Set(map.cells.flat().flatMap((cell) => pressing(cell) ?? []))];
  const letter = (measure: string | null): string =>
    measure === null ? '?' : String.fromCharCode(97 + (measures.indexOf(measure) % 26));
  const { emission, leakage } = map;
  const step = Math.max(1, Math.round((leakage.values.length - 1) / (ROWS - 1)));
  const rows: string[] = [];
  const nearest = (axis: readonly number[], value: number): number =>
    axis.reduce(
      (best, one, i) =>
        Math.abs(one - value) < Math.abs((axis[best] as number) - value) ? i : best,
      0,
    );
  const point =
    map.point === null
      ? undefined
      : {
          i: nearest(emission.values, map.point.emission.value),
          k: nearest(leakage.values.map(Math.log), Math.log(map.point.leakage.value)),
        };
  for (let k = leakage.values.length - 1; k >= 0; k -= step) {
    const ohms = leakage.values[k] as number;
    const label = ohms > leakage.top_ohm ? 'above' : formatQuantity(ohms, 'ohm', { digits: 2 });
    const line = map.cells.map((column, i) => {
      if (point?.i === i && Math.abs(point.k - k) <= step / 2) return '@';
      const cell = column[k];
      if (cell === undefined || cell.verdict === 'usable') return '·';
      return cell.verdict === 'marginal'
        ? letter(cell.decides).toUpperCase()
        : letter(cell.measure);
    });
    rows.push(`${label.padStart(9)}  ${line.join('')}`);
  }
  const ends = [emission.values[0], emission.values.at(-1)].map(
    (value) => `${formatQuantity(value ?? 0, '', { digits: 3 })} ${emission.unit}`,
  );
  const width = map.cells.length;
  const used = measures.filter((measure) =>
    map.cells.flat().some((cell) => cell.verdict !== 'usable' && pressing(cell) === measure),
  );
  const title = (measure: string): string =>
    map.contours.find((one) => one.measure === measure)?.title ?? measure;
  return `${[
    ...wrap(`${map.socket.id}: ${map.socket.title}, ${map.tube.type}, read on “${map.bench}”`),
    '',
    ...(map.point === null ? [] : wrap(map.point.sentence)),
    ...map.finding.sentences.flatMap((sentence) => wrap(sentence)),
    '',
    'Grid leakage upwards, emission to the right:',
    '',
    ...rows,
    `${' '.repeat(11)}${ends[0]}${(ends[1] ?? '').padStart(Math.max(1, width - (ends[0] ?? '').length))}`,
    '',
    ...wrap(
      [
        '· usable',
        ...used.map((measure) => `${letter(measure)} ${title(measure)}`),
        ...(map.point === null ? [] : [`@ ${map.point.tube}`]),
      ].join('; '),
    ),
    ...(map.cells.flat().some(({ verdict }) => verdict === 'marginal')
      ? wrap(
          'Small letters: unsuitable; capitals: marginal, the limit lies inside the 90 % interval.',
        )
      : []),
    '',
    ...map.sentences.flatMap((sentence) => wrap(sentence)),
    ...wrap(
      `${map.simulated} points simulated for ${map.cells.length} × ${leakage.values.length} cells. ${map.engine}. A verdict is a calculation from a model, not a promise.`,
    ),
  ].join('\n')}\n`;
}

export const mapCsv = (map: AcceptanceMap): string => csvText(mapTable(map));
