import type { AcceptanceMap } from '../decide/map.ts';
import { formatQuantity } from '../units/format.ts';
import { wrap } from './text.ts';

/** The acceptance map as text, at most 80 columns, and as a table of cells. */

const ROWS = 21;

export function mapText(map: AcceptanceMap): string {
  const measures = [...new Set(map.cells.flat().flatMap(({ measure }) => measure ?? []))];
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
      return cell === undefined || cell.inside ? '·' : letter(cell.measure);
    });
    rows.push(`${label.padStart(9)}  ${line.join('')}`);
  }
  const ends = [emission.values[0], emission.values.at(-1)].map(
    (value) => `${formatQuantity(value ?? 0, '', { digits: 3 })} ${emission.unit}`,
  );
  const width = map.cells.length;
  const used = measures.filter((measure) =>
    map.cells.flat().some((cell) => !cell.inside && cell.measure === measure),
  );
  const title = (measure: string): string =>
    map.contours.find((one) => one.measure === measure)?.title ?? measure;
  return `${[
    ...wrap(
      `${map.socket.id}: ${map.socket.title}, ${map.tube.type}. Grid leakage upwards, emission to the right, as “${map.bench}” reads them.`,
    ),
    '',
    ...rows,
    `${' '.repeat(11)}${ends[0]}${(ends[1] ?? '').padStart(Math.max(1, width - (ends[0] ?? '').length))}`,
    '',
    ...wrap(
      [
        '· within every limit',
        ...used.map((measure) => `${letter(measure)} ${title(measure)}`),
        ...(map.point === null ? [] : [`@ ${map.point.tube}`]),
      ].join(', '),
    ),
    '',
    ...map.sentences.flatMap((sentence) => wrap(sentence)),
    ...(map.point === null ? [] : wrap(map.point.sentence)),
    ...wrap(
      `${map.simulated} points simulated for ${map.cells.length} × ${leakage.values.length} cells. ${map.engine}. A verdict is a calculation from a model, not a promise.`,
    ),
  ].join('\n')}\n`;
}

/** One line a cell: emission, leakage in ohm, inside, pressing limit, its margin, simulated there. */
export function mapCsv(map: AcceptanceMap): string {
  const lines = map.cells.flatMap((column, i) =>
    column.map((cell, k) =>
      [
        map.emission.values[i],
        map.leakage.values[k]?.toPrecision(6),
        cell.inside ? 'inside' : 'outside',
        cell.measure ?? '',
        cell.margin?.toPrecision(4) ?? '',
        cell.exact ? 'simulated' : 'between',
      ].join(','),
    ),
  );
  const unit = map.emission.unit === '%' ? 'percent' : map.emission.unit;
  return `${[`emission_${unit},leakage_ohm,status,limit,margin,from`, ...lines].join('\n')}\n`;
}
