import type { Explained, NextMeasurement } from '../decide/in-set/diagnose.ts';
import type { InSetLine, InSetReport, Shown } from '../decide/in-set/in-set.ts';
import { formatInterval, formatQuantity } from '../units/format.ts';
import { wrap } from './text.ts';

/** The check in the set as text, at most 80 columns. Renders; computes nothing. */
export function inSetText(report: InSetReport): string {
  const { tube, socket, meter } = report;
  const blocks: string[][] = [
    wrap(`${tube.id} (${tube.type}) in ${socket.id}: ${socket.title}, measured in the set`),
    report.cautions.flatMap((caution) => wrap(caution, 2)),
    wrap(
      `What a meter of ${formatQuantity(meter.ohms, 'ohm', { digits: 3 })} should read to chassis, at rest and without a signal:`,
    ),
    table(report.lines),
    ...(report.diagnosis === null
      ? [
          wrap(
            'Read any of these in the set and give what you read: --read "grid=-0.4 V" --read "plate=108 V". The likeliest explanation and the next measurement follow from them.',
          ),
        ]
      : [
          ['What explains the readings', ...explanations(report.diagnosis.explanations)],
          next(report.diagnosis.next),
          report.diagnosis.unseen.length === 0
            ? []
            : [
                'What these readings cannot show, and so do not exclude',
                ...report.diagnosis.unseen.flatMap((title) => wrap(title, 2)),
              ],
        ]),
    wrap(
      `90 % intervals: readings of the tube, tolerances, line voltage; seed ${report.seed}. ${report.engine}.`,
    ),
  ];
  return `${blocks
    .filter((block) => block.length > 0)
    .map((block) => block.join('\n'))
    .join('\n\n')}\n`;
}

const COLUMNS = [24, 6, 20, 20, 10] as const;

function table(lines: readonly InSetLine[]): string[] {
  const row = (cells: readonly string[]): string =>
    cells
      .map((cell, i) => (i === 0 ? cell.padEnd(COLUMNS[0]) : cell.padStart(COLUMNS[i]!)))
      .join('')
      .trimEnd();
  return [
    row(['', 'pin', 'new tube', 'this tube', 'read']),
    ...lines.map((line) =>
      row([
        line.point === 'heater' ? 'heater, % of rated' : line.title,
        line.pins.join(' '),
        shown(line.newTube, line),
        shown(line.thisTube, line),
        line.read === null ? '' : volts(line.read, line),
      ]),
    ),
    '',
    ...lines.flatMap((line) => {
      const loading = loadingOf(line);
      return loading === undefined ? [] : wrap(loading, 2);
    }),
  ];
}

const unitOf = ({ point }: Pick<InSetLine, 'point'>): 'V' | '%' => (point === 'heater' ? '%' : 'V');
const volts = (value: number, line: Pick<InSetLine, 'point'>): string =>
  formatQuantity(value, unitOf(line), { digits: 3 });

function shown(value: Shown | null, line: InSetLine): string {
  // a meter shows hundredths of a volt
  const told = (volt: number): number => Math.round(volt * 100) / 100 + 0;
  return value === null
    ? 'not computed'
    : formatInterval(told(value.low), told(value.high), unitOf(line));
}

/** Said where the meter itself moves the reading by a twentieth or more. */
function loadingOf({ title, thisTube, unloaded }: InSetLine): string | undefined {
  if (thisTube === null || unloaded === null) return undefined;
  const change = Math.abs(thisTube.value - unloaded);
  if (change < 0.05 * Math.abs(unloaded) || change < 0.02) return undefined;
  return `The meter loads the ${title}: ${formatQuantity(unloaded, 'V', { digits: 3 })} without it, ${formatQuantity(thisTube.value, 'V', { digits: 3 })} with it.`;
}

/** The first, and what is not far behind it. */
const TOLD = 5;
const LEAST_TOLD = 0.02;

function explanations(all: readonly Explained[]): string[] {
  const told = all.filter(({ likelihood }, i) => i < TOLD && likelihood >= LEAST_TOLD);
  const lines = told.flatMap(({ title, likelihood, size, fits }) =>
    wrap(
      `${Math.round(100 * likelihood)} %  ${title}${size === null ? '' : ` (${size.title} about ${formatQuantity(size.value, size.unit, { digits: 2 })}, ${formatInterval(size.low, size.high, size.unit)})`}${fits ? '' : ' – and even this does not fit well'}`,
      2,
    ),
  );
  return all[0]?.fits === false
    ? [
        ...lines,
        ...wrap(
          'None of the explanations fits these readings: read again, check the socket’s values, or there is more than one fault.',
          2,
        ),
      ]
    : lines;
}

function next(measurement: NextMeasurement | null): string[] {
  if (measurement === null) return [];
  return [
    'The measurement that would tell them apart',
    ...wrap(`Read ${measurement.what}.`, 2),
    ...measurement.expected.flatMap(({ title, volts: value, low, high }) =>
      wrap(
        `${volts(value, measurement)} (${formatInterval(low, high, unitOf(measurement))}) if ${title}`,
        4,
      ),
    ),
    ...wrap(
      measurement.procedure === 'as-it-stands'
        ? `Give it as --read "${measurement.point}=…".`
        : `Give it as --read "${measurement.point}@${measurement.procedure}=…".`,
      2,
    ),
  ];
}
