import type { PlacingReport } from '../decide/place.ts';
import { formatQuantity } from '../units/format.ts';
import { STATUS_SIGNS, STATUS_WORDS, wrap } from './text.ts';

/** The placing of a box of tubes as text, at most 80 columns. */

const CELL = 13;
const NAME = 15;

export function placingText(report: PlacingReport): string {
  const single = report.sockets.filter(({ places }) => places === 1);
  const blocks: string[][] = [
    wrap(report.sentence),
    ['Placing', ...report.placing.flatMap(({ sentence }) => wrap(sentence, 2))],
    ...chunks(single, Math.floor((80 - NAME) / CELL)).map((some) => table(report, some)),
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

function table(report: PlacingReport, sockets: PlacingReport['sockets']): string[] {
  const line = (cells: readonly string[]): string =>
    cells
      .map((cell, k) => cell.slice(0, (k === 0 ? NAME : CELL) - 1).padEnd(k === 0 ? NAME : CELL))
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
                : formatQuantity(100 * Math.max(-9.9, Math.min(9.9, cell.margin)), '%', {
                    digits: 2,
                  });
            return `${STATUS_SIGNS[cell.verdict]} ${margin}${placed.has(`${socket.id}\n${id}`) ? ' ←' : ''}`;
          }),
        ]),
      ),
    ...(sockets.length === 0 ? [] : ['← its place in the best placing']),
  ];
}

function titled(title: string, lines: readonly string[]): string[] {
  return lines.length === 0 ? [] : [title, ...lines.flatMap((line) => wrap(line, 2))];
}

function chunks<T>(all: readonly T[], size: number): T[][] {
  return Array.from({ length: Math.ceil(all.length / size) }, (_, i) =>
    all.slice(i * size, (i + 1) * size),
  );
}
