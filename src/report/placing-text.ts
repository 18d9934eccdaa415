import type { PlacingReport } from '../decide/place.ts';
import { formatQuantity } from '../units/format.ts';
import { STATUS_SIGNS, STATUS_WORDS, wrap } from './text.ts';

/** The placing of a box of tubes as text, at most 80 columns. */

const WIDTH = 80;
/** Least and widest column; a name longer than that is cut. */
const CELL = [16, 26] as const;
const NAME = [8, 30] as const;

const widthFor = (names: readonly string[], [least, most]: readonly [number, number]): number =>
  Math.min(most, Math.max(least, ...names.map((name) => name.length + 1)));

export function placingText(report: PlacingReport): string {
  const single = report.sockets.filter(({ places }) => places === 1);
  const name = widthFor(
    report.tubes.map(({ id }) => id),
    NAME,
  );
  const cell = widthFor(
    single.map(({ id }) => id),
    CELL,
  );
  const blocks: string[][] = [
    wrap(report.sentence),
    ['Placing', ...report.placing.flatMap(({ sentence }) => wrap(sentence, 2))],
    ...chunks(single, Math.floor((WIDTH - name) / cell)).map((some) =>
      table(report, some, [name, cell]),
    ),
    ...report.pairs.map(({ socket, pairs }) => [
      `Pairs for ${socket}, the closest first`,
      ...pairs.slice(0, 10).flatMap(({ sentence }) => wrap(sentence, 2)),
    ]),
    titled(
      'To order',
      report.order.map(({ sentence }) => sentence),
    ),
    titled('Left in the box', report.spare.length === 0 ? [] : [report.spare.join(', ')]),
    report.notes.flatMap((note) => wrap(note)),
    wrap(
      `Margins at the unsafe end of the 90 % intervals, from ${report.draws} draws, seed ${report.seed}. ${report.engine}. A verdict is a calculation from a model, not a promise.`,
    ),
  ];
  return `${blocks
    .filter((block) => block.length > 0)
    .map((block) => block.join('\n'))
    .join('\n\n')}\n`;
}

function table(
  report: PlacingReport,
  sockets: PlacingReport['sockets'],
  [name, wide]: readonly [number, number],
): string[] {
  const line = (cells: readonly string[]): string =>
    cells
      .map((cell, k) => {
        const width = k === 0 ? name : wide;
        return cell.slice(0, width - 1).padEnd(width);
      })
      .join('')
      .trimEnd();
  const placed = new Set(
    report.placing.flatMap(({ socket, tubes }) => tubes.map((tube) => `${socket}\n${tube}`)),
  );
  return [
    line(['margins', ...sockets.map(({ id }) => id)]),
    ...report.tubes
      .filter(({ id }) => report.cells.some(({ tube }) => tube === id))
      .map(({ id }) =>
        line([
          id,
          ...sockets.map((socket) => {
            const cell = report.cells.find((one) => one.tube === id && one.socket === socket.id);
            if (cell === undefined) return '';
            const margin =
              cell.verdict === 'undetermined' || cell.margin === null
                ? STATUS_WORDS[cell.verdict].slice(0, 8)
                : percent(cell.margin);
            return `${STATUS_SIGNS[cell.verdict]} ${margin}${placed.has(`${socket.id}\n${id}`) ? ' ←' : ''}`;
          }),
        ]),
      ),
    ...(sockets.length === 0 ? [] : ['← its place in the best placing']),
  ];
}

/** Beyond tenfold only that is told. */
const FAR = 9.9;

function percent(margin: number): string {
  const told = formatQuantity(100 * Math.max(-FAR, Math.min(FAR, margin)), '%', { digits: 2 });
  return margin > FAR ? `> ${told}` : margin < -FAR ? `< ${told}` : told;
}

function titled(title: string, lines: readonly string[]): string[] {
  return lines.length === 0 ? [] : [title, ...lines.flatMap((line) => wrap(line, 2))];
}

function chunks<T>(all: readonly T[], size: number): T[][] {
  return Array.from({ length: Math.ceil(all.length / size) }, (_, i) =>
    all.slice(i * size, (i + 1) * size),
  );
}
