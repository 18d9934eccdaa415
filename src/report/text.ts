import { formatInterval, formatQuantity } from '../units/format.ts';
import type { Judged, Report, Status, Unit, WearLine } from '../types.ts';

/** The report as text for a terminal or a file, at most 80 columns. Renders; computes nothing. */

const WIDTH = 80;

export const STATUS_WORDS: Readonly<Record<Status, string>> = {
  usable: 'usable',
  marginal: 'marginal',
  unsuitable: 'unsuitable',
  undetermined: 'undetermined',
  failed: 'not computed',
  unjudged: '',
};

/** A sign beside the word, so that a column can be scanned. */
export const STATUS_SIGNS: Readonly<Record<Status, string>> = {
  usable: '●',
  marginal: '◆',
  unsuitable: '■',
  undetermined: '○',
  failed: '△',
  unjudged: ' ',
};

export function reportText(report: Report): string {
  const { tube, socket } = report;
  const blocks: string[][] = [
    wrap(
      `${[tube, ...report.companions.filter((one) => one.socket === undefined)].map(nameOf).join(' with ')} in ${socket.id}: ${socket.title} (${socket.stageTitle.toLowerCase()})`,
    ),
    report.line === undefined ? [] : wrap(report.line.sentence),
    [
      `${STATUS_SIGNS[report.verdict]} ${STATUS_WORDS[report.verdict].toUpperCase()}`,
      ...wrap(report.decidedBy.sentence, 2),
    ],
    report.circuitFault === null ? [] : ['THE CIRCUIT', ...wrap(report.circuitFault.sentence, 2)],
    measureTable(report),
    why(report),
    titled('How sure', howSureLines(report)),
    wearBlock(
      report.companions.length === 0
        ? 'The tube, from its readings'
        : `${nameOf(tube)}, from its readings`,
      report,
    ),
    ...report.companions.map((one) =>
      wearBlock(
        `${nameOf(one)}${one.socket === undefined ? '' : ` in ${one.socket}`}, from its readings`,
        one,
      ),
    ),
    titled(
      'The leakage alone, if all of it took one path',
      report.paths.flatMap((path) =>
        wrap(
          `${path.tube === undefined ? '' : `${path.tube}: `}${path.title} (${Math.round(100 * path.weight)} % likely, ${path.why}): ${STATUS_WORDS[path.status]}. ${path.sentence}`,
          2,
        ),
      ),
    ),
    titled(
      'What would change it',
      report.wouldChange.flatMap((change) => wrap(change.sentence, 2)),
    ),
    titled(
      'Not judged',
      report.notJudged.flatMap((line) => wrap(line, 2)),
    ),
    titled(
      'The circuit (an own circuit has no drawing)',
      (report.circuit.netlist ?? '')
        .split('\n')
        .flatMap((line) => (line === '' ? [] : [`  ${line}`])),
    ),
    titled(
      'Mind',
      [...report.warnings, ...report.cautions].flatMap((line) => wrap(line, 2)),
    ),
    wrap(
      report.draws === 0
        ? `Central values only. ${report.method}, ${report.engine}.`
        : `90 % intervals from ${report.draws} draws, seed ${report.seed}. ${report.method}, ${report.engine}.`,
    ),
  ];
  return `${blocks
    .filter((block) => block.length > 0)
    .map((block) => block.join('\n'))
    .join('\n\n')}\n`;
}

const nameOf = ({
  id,
  type,
  section,
  taken,
}: Report['tube'] & { readonly taken?: 'new' }): string =>
  taken === 'new' ? id : `${id} (${type}${section === '' ? '' : `, section ${section}`})`;

function wearBlock(
  title: string,
  { wear, wearSentences }: Pick<Report, 'wear' | 'wearSentences'>,
): string[] {
  return titled(title, [
    ...wear.flatMap((line) => wrap(wearText(line), 2)),
    ...wearSentences.flatMap((sentence) => wrap(sentence, 2)),
  ]);
}

function titled(title: string, lines: readonly string[]): string[] {
  return lines.length === 0 ? [] : [title, ...lines];
}

function howSureLines({ howSure }: Report): string[] {
  if (howSure === undefined) return [];
  const shares = howSure.inputs.map(
    ({ title, tube, share }) =>
      `${title}${tube === undefined ? '' : ` of ${tube}`} ${formatQuantity(100 * share, '%', { digits: 2 })}`,
  );
  return [
    ...wrap(howSure.sentence, 2),
    ...(howSure.advice === null ? [] : wrap(howSure.advice, 2)),
    ...(shares.length < 2 ? [] : wrap(`Of the spread: ${shares.join(', ')}.`, 2)),
  ];
}

const COLUMNS = [29, 9, 9, 17, 10] as const;

function measureTable(report: Report): string[] {
  const row = (cells: readonly string[], last: string): string =>
    `${cells.map((cell, i) => (i === 0 ? cell.padEnd(COLUMNS[0]) : cell.padStart(COLUMNS[i]!))).join('')} ${last}`.trimEnd();
  return [
    row(['', 'new', 'this', '90 % interval', 'limit'], ''),
    ...report.measures.map((measure) =>
      row(
        [
          `${STATUS_SIGNS[measure.status]} ${measure.title}`.slice(0, COLUMNS[0]),
          quantity(measure.newTube, measure.unit),
          quantity(measure.value, measure.unit),
          measure.low === null || measure.high === null
            ? ''
            : formatInterval(measure.low, measure.high, measure.unit),
          limitCell(measure),
        ],
        '',
      ),
    ),
  ];
}

function why(report: Report): string[] {
  const said = report.measures.filter(
    (measure) =>
      measure.status !== 'usable' &&
      measure.status !== 'unjudged' &&
      measure.id !== report.decidedBy.measure,
  );
  return titled(
    'Why',
    said.flatMap((measure) =>
      wrap(`${measure.title}, ${STATUS_WORDS[measure.status]}. ${measure.reason}`, 2),
    ),
  );
}

function limitCell({ limit, unit }: Judged): string {
  return limit === null
    ? ''
    : `${limit.sense === 'atLeast' ? '≥' : '≤'} ${quantity(limit.bound, unit)}`;
}

const quantity = (value: number | null, unit: Unit): string =>
  value === null ? '—' : formatQuantity(value, unit, { digits: 3 });

function wearText(line: WearLine): string {
  if (line.said !== undefined) return `${line.title}: ${line.said}`;
  const value = quantity(line.value, line.unit);
  return line.low === null || line.high === null
    ? `${line.title}: ${value}`
    : `${line.title}: ${value} (${formatInterval(line.low, line.high, line.unit)})`;
}

/** Words wrapped to the width; no-break spaces keep numbers with their units. */
export function wrap(text: string, indent = 0, width = WIDTH): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/[ \n]+/)) {
    if (line !== '' && line.length + 1 + word.length > width - indent) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  if (line !== '') lines.push(line);
  return lines.map((each) => ' '.repeat(indent) + each);
}
