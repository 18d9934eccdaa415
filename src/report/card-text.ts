import type { AcceptanceCard } from '../decide/accept.ts';
import { notJudgedSentence } from './cautions.ts';
import { lower } from '../units/title.ts';
import { wrap } from './text.ts';

/** The acceptance card as text, at most 80 columns: a box that can be cut out, and below it what it rests on. */

const WIDTH = 76;

export function cardText(card: AcceptanceCard): string {
  const { socket, tube } = card;
  const section = tube.section === '' ? '' : `, section ${tube.section}`;
  const inside: string[][] = [
    wrap(`${socket.id}: ${socket.title}`, 0, WIDTH),
    wrap(`${tube.type}${section} · ${lower(socket.stageTitle)} · ${card.bench}`, 0, WIDTH),
    [''],
    ...(card.verdict === 'usable' ? limitLines(card) : [wrap(card.sentence, 0, WIDTH)]),
  ];
  const rest = [
    ...card.limits.flatMap(({ sentence }) => wrap(sentence, 2)),
    '',
    ...card.notes.flatMap((note) => wrap(note, 2)),
    ...card.notJudged.flatMap((line) => wrap(notJudgedSentence(line), 2)),
  ];
  return `${[
    boxed(inside.flat()),
    ...(card.limits.length === 0 ? [] : ['', 'What gives way first', ...rest]),
    '',
    ...card.cautions.flatMap((line) => wrap(line, 2)),
    ...wrap(
      `Tried with ${card.draws} draws and more seeds near the limits, first seed ${card.seed}. ${card.engine}.`,
      2,
    ),
  ].join('\n')}\n`;
}

function limitLines(card: AcceptanceCard): string[][] {
  const newTube = new Map(card.newTube.map(({ title, text }) => [title, text]));
  return [
    columns([
      ['', 'usable', 'a new tube'],
      ...card.limits.map(({ title, text, beyond }) => [
        title,
        beyond === null ? `any (${text})` : text,
        newTube.get(title) ?? '',
      ]),
    ]),
    ...card.trades.flatMap((trade) => [
      ['', `${trade.title}:`],
      columns([trade.columns, ...trade.rows]),
    ]),
  ];
}

/** Cells under each other; the last column is not padded. */
function columns(rows: readonly (readonly string[])[]): string[] {
  const widths = rows[0]?.map((_, k) => Math.max(...rows.map((row) => length(row[k] ?? '')))) ?? [];
  return rows.map((row) =>
    row
      .map((cell, k) => cell + ' '.repeat((widths[k] ?? 0) - length(cell)))
      .join('  ')
      .trimEnd(),
  );
}

function boxed(lines: readonly string[]): string {
  const rule = '─'.repeat(WIDTH + 2);
  return [
    `┌${rule}┐`,
    ...lines.map((line) => `│ ${line}${' '.repeat(Math.max(0, WIDTH - length(line)))} │`),
    `└${rule}┘`,
  ].join('\n');
}

const length = (text: string): number => Array.from(text).length;
