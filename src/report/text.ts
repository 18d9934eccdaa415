import { formatInterval, formatQuantity, unbroken } from '../units/format.ts';
import { capital, lower } from '../units/title.ts';
import type { Judged, PathVerdict, Report, Status, Unit, WearLine } from '../types.ts';
import { notJudgedLine } from './cautions.ts';
import { pathsByTube, percentOf } from './paths.ts';

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

/** Several reports in one text: first what came of each, last what holds for all of them. */
export function reportsText(reports: readonly Report[]): string {
  const blocks = [
    ...(reports.length < 2 ? [] : [['Verdicts', ...reports.flatMap(verdictLine)].join('\n')]),
    ...reports.map((report, i) =>
      [...(reports.length < 2 ? [] : [RULE]), ...blocksOf(report, i === reports.length - 1)].join(
        '\n\n',
      ),
    ),
  ];
  return `${blocks.join('\n\n')}\n`;
}

export const reportText = (report: Report): string => reportsText([report]);

const RULE = '─'.repeat(WIDTH);

function verdictLine(report: Report): string[] {
  const { verdict, decidedBy, circuitFault, measures, tube, socket } = report;
  const decider = measures.find(({ id }) => id === decidedBy.measure);
  const by = verdict === 'usable' || decider === undefined ? '' : `: ${lower(decider.title)}`;
  const words = `${STATUS_SIGNS[verdict]} ${tube.id} in ${socket.id}: ${STATUS_WORDS[verdict]}${by}`;
  return wrap(`${words}${circuitFault === null ? '' : '; the circuit is at fault'}`, 4).map(
    (line, i) => (i === 0 ? line.slice(2) : line),
  );
}

function blocksOf(report: Report, last: boolean): string[] {
  const { tube, socket } = report;
  const blocks: string[][] = [
    wrap(
      `${[tube, ...report.companions.filter((one) => one.socket === undefined)].map(nameOf).join(' with ')} in ${socket.id}: ${socket.title} (${lower(socket.stageTitle)})`,
    ),
    report.line === undefined ? [] : wrap(report.line.sentence),
    [
      `${STATUS_SIGNS[report.verdict]} ${STATUS_WORDS[report.verdict].toUpperCase()}`,
      ...wrap(report.decidedBy.sentence, 2),
    ],
    report.circuitFault === null ? [] : ['THE CIRCUIT', ...wrap(report.circuitFault.sentence, 2)],
    measureTable(report.measures),
    titled('Why', whyLines(report)),
    titled('What would change it', changeLines(report)),
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
    titled('The leakage alone, if all of it took one path', pathLines(report)),
    titled(
      'Not judged',
      report.notJudged.flatMap((line) => wrap(notJudgedLine(line), 2)),
    ),
    titled(
      'The circuit (an own circuit has no drawing)',
      (report.circuit.netlist ?? '')
        .split('\n')
        .flatMap((line) => (line === '' ? [] : [`  ${line}`])),
    ),
    titled(
      'Mind',
      [...report.warnings, ...(last ? report.cautions : [])].flatMap((line) => wrap(line, 2)),
    ),
    last ? wrap(methodOf(report)) : [],
  ];
  return blocks.filter((block) => block.length > 0).map((block) => block.join('\n'));
}

const methodOf = ({ draws, seed, method, engine }: Report): string =>
  draws === 0
    ? `Central values only, by ${method} in ${engine}.`
    : `90 % intervals from ${draws} draws, seed ${seed}, by ${method} in ${engine}.`;

const nameOf = ({
  id,
  type,
  section,
  taken,
}: Report['tube'] & { readonly taken?: 'new' }): string =>
  taken === 'new' ? id : `${id} (${type}${section === '' ? '' : `, section ${section}`})`;

/** What the sentences do not say already, with its interval. Readings that were not taken stand under "Not judged". */
const BESIDE_SENTENCES = ['saturation'];

function wearBlock(
  title: string,
  { wear, wearSentences }: Pick<Report, 'wear' | 'wearSentences'>,
): string[] {
  return titled(title, [
    ...wearSentences.flatMap((sentence) => wrap(sentence, 2)),
    ...wear
      .filter(({ id, said }) => BESIDE_SENTENCES.includes(id) && said === undefined)
      .flatMap((line) => wrap(wearText(line), 2)),
  ]);
}

/** Paths of one tube that come to the same are told together. */
function pathLines(report: Report): string[] {
  const likely = (path: PathVerdict): string => `${path.title} (${percentOf(path)} %)`;
  return pathsByTube(report).flatMap(({ whose, harmful, harmless }) =>
    [
      ...harmful.map(
        (path) =>
          `${whose}${STATUS_WORDS[path.status]} by ${likely(path)}, ${path.why}. ${path.sentence}`,
      ),
      ...(harmless.length === 0
        ? []
        : [
            `${whose}usable by ${harmful.length === 0 ? 'any: ' : ''}${harmless.map(likely).join(', ')}.`,
          ]),
    ].flatMap((line) => wrap(capital(line), 2)),
  );
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

/** Columns as wide as their figures; the titles have what is left, on several lines if need be. */
function measureTable(measures: Report['measures']): string[] {
  const rows = [
    { sign: ' ', title: '', cells: ['new', 'this', '90 % interval', 'limit'] },
    ...measures.filter(varies).map((measure) => ({
      sign: STATUS_SIGNS[measure.status],
      title: measure.title,
      cells: [
        quantity(measure.newTube, measure.unit),
        quantity(measure.value, measure.unit),
        measure.low === null || measure.high === null
          ? ''
          : formatInterval(measure.low, measure.high, measure.unit),
        limitCell(measure),
      ],
    })),
  ];
  const widths = [0, 1, 2, 3].map(
    (k) => GAP + Math.max(...rows.map(({ cells }) => cells[k]!.length)),
  );
  const first = WIDTH - widths.reduce((sum, width) => sum + width, 0);
  return rows.flatMap(({ sign, title, cells }) => {
    const [start = '', ...more] = wrap(title, 0, first - 2);
    const figures = cells.map((cell, k) => cell.padStart(widths[k]!)).join('');
    return [`${sign} ${start}`.padEnd(first) + figures, ...more.map((line) => `  ${line}`)].map(
      (line) => line.trimEnd(),
    );
  });
}

const GAP = 2;

/** A rating that a limit names stands in the limit's column: it is no figure of the tube. */
const varies = ({ limit, value, low, high, newTube }: Judged): boolean =>
  limit !== null || low === null || !(low === high && value === newTube && value === low);

/** Measures beside the one that decides, by what they come from. Their figures are in the table. */
function whyLines({ measures, decidedBy }: Report): string[] {
  const decider = measures.find(({ id }) => id === decidedBy.measure);
  const others = measures.filter(
    ({ id, status }) => id !== decidedBy.measure && status !== 'usable' && status !== 'unjudged',
  );
  const plain = others.filter(shows);
  const causes = [...new Set(plain.map(({ cause }) => cause))];
  const grouped = causes.flatMap((cause) =>
    (['unsuitable', 'marginal', 'undetermined'] as const).flatMap((status) => {
      const mine = plain.filter((one) => one.cause === cause && one.status === status);
      if (mine.length === 0) return [];
      const titles = mine.map(({ title }) => lower(title)).join('; ');
      return cause !== undefined && cause === decider?.cause
        ? [`For the same reason ${STATUS_WORDS[status]}: ${titles}.`]
        : [`${capital(STATUS_WORDS[status])}: ${titles}.${cause === undefined ? '' : ` ${cause}`}`];
    }),
  );
  const alone = others
    .filter((one) => !plain.includes(one))
    .map(({ status, reason }) => `${capital(STATUS_WORDS[status])}: ${reason}`);
  return [...grouped, ...alone].flatMap((line) => wrap(line, 2));
}

/** Where the tube fails and nothing was found, that is said: silence would read as not looked for. */
function changeLines({ verdict, wouldChange, circuitFault, draws }: Report): string[] {
  const failing = verdict === 'unsuitable' || verdict === 'marginal';
  const none = failing && draws > 0 && circuitFault === null && wouldChange.length === 0;
  const told = [
    ...(failing && circuitFault?.inSoundCircuit === 'usable'
      ? ['First mend the circuit: then the tube is usable as it is.']
      : []),
    ...wouldChange.map(({ sentence }) => sentence),
  ];
  return (
    none ? ['No single change of a value that was tried brings back a measure that fails.'] : told
  ).flatMap((line) => wrap(line, 2));
}

/** Whether the table's interval and limit tell the status, or its cause does. */
function shows({ status, limit, low, high, value, cause }: Judged): boolean {
  if (limit === null) return false;
  if (status === 'undetermined') return cause !== undefined;
  if (value === null) return false;
  return (
    status === 'unsuitable' ||
    (low !== null && high !== null && low <= limit.bound && limit.bound <= high)
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
  for (const word of unbroken(text).split(/[ \n]+/)) {
    if (line !== '' && line.length + 1 + word.length > width - indent) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  if (line !== '') lines.push(line);
  return lines.map((each) => ' '.repeat(indent) + each);
}
