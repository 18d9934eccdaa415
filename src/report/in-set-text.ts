import type { Explained, NextMeasurement } from '../decide/in-set/diagnose.ts';
import type { InSetLine, InSetReport } from '../decide/in-set/in-set.ts';
import { formatQuantity } from '../units/format.ts';
import {
  intervalText,
  loadingText,
  NONE_FITS,
  sizeText,
  voltsText,
  worthTelling,
} from './in-set-words.ts';
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
        line.pins.join(', '),
        intervalText(line.newTube, line),
        intervalText(line.thisTube, line),
        line.read === null ? '' : voltsText(line.read, line),
      ]),
    ),
    '',
    ...lines.flatMap((line) => {
      const loading = loadingText(line);
      return loading === undefined ? [] : wrap(loading, 2);
    }),
  ];
}

function explanations(all: readonly Explained[]): string[] {
  const lines = worthTelling(all).flatMap((one) => {
    const size = sizeText(one);
    return wrap(
      `${Math.round(100 * one.likelihood)} %  ${one.title}${size === '' ? '' : ` (${size})`}`,
      2,
    );
  });
  return all[0]?.fits === false ? [...lines, ...wrap(NONE_FITS, 2)] : lines;
}

function next(measurement: NextMeasurement | null): string[] {
  if (measurement === null) return [];
  return [
    'The measurement that would tell them apart',
    ...wrap(`Read ${measurement.what}.`, 2),
    ...measurement.expected.flatMap(({ title, volts: value, low, high }) =>
      wrap(
        `${voltsText(value, measurement)} (${intervalText({ low, high }, measurement)}) if ${title}`,
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
