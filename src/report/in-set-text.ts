import type { Diagnosis, Explained, NextMeasurement } from '../decide/in-set/diagnose.ts';
import type { InSetLine, InSetReport } from '../decide/in-set/in-set.ts';
import { formatQuantity } from '../units/format.ts';
import {
  intervalText,
  NONE_FITS,
  remarks,
  shownText,
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
    ...(report.diagnosis === null ? [] : diagnosisBlocks(report.diagnosis)),
    wrap(
      `What a meter of ${formatQuantity(meter.ohms, 'ohm', { digits: 3 })} should read to chassis, at rest and without a signal:`,
    ),
    table(report.lines),
    remarks(report.lines).flatMap((text) => wrap(text, 2)),
    ...(report.diagnosis === null
      ? [
          wrap(
            'Read any of these in the set and give what you read: --read "grid=-0.4 V" --read "plate=108 V". The likeliest explanation and the next measurement follow from them.',
          ),
        ]
      : []),
    report.procedures.length === 0
      ? []
      : [
          'What can be done before reading, for --read "grid@pulled=0.1 V"',
          ...report.procedures.flatMap(({ id, title }) => wrap(`${id}: ${title}`, 2)),
        ],
    wrap(
      `90 % intervals: readings of the tube, tolerances, line voltage; seed ${report.seed}. ${report.engine}.`,
    ),
  ];
  return `${blocks
    .filter((block) => block.length > 0)
    .map((block) => block.join('\n'))
    .join('\n\n')}\n`;
}

function diagnosisBlocks({ explanations, next, unseen }: Diagnosis): string[][] {
  return [
    ['What explains the readings', ...explained(explanations)],
    nextLines(next),
    unseen.length === 0
      ? []
      : [
          'What these readings cannot show, and so do not exclude',
          ...unseen.flatMap((title) => wrap(title, 2)),
        ],
  ];
}

const GAP = 2;

/** Columns as wide as what stands in them. */
function table(lines: readonly InSetLine[]): string[] {
  const rows = [
    ['', 'pin', 'new tube', 'this tube', 'read'],
    ...lines.map((line) => [
      line.point === 'heater' ? 'heater, %' : line.title,
      line.pins.join(', '),
      intervalText(line.newTube, line),
      shownText(line.thisTube, line),
      line.read === null ? '' : voltsText(line.read, line),
    ]),
  ];
  const widths = rows[0]!.map((_, k) => Math.max(...rows.map((row) => row[k]!.length)));
  return rows.map((row) =>
    row
      .map((cell, k) => (k === 0 ? cell.padEnd(widths[0]!) : cell.padStart(widths[k]! + GAP)))
      .join('')
      .trimEnd(),
  );
}

function explained(all: readonly Explained[]): string[] {
  const lines = worthTelling(all).flatMap((one) => {
    const size = sizeText(one);
    return wrap(
      `${Math.round(100 * one.likelihood)} %  ${one.title}${size === '' ? '' : ` (${size})`}`,
      2,
    );
  });
  return all[0]?.fits === false ? [...lines, ...wrap(NONE_FITS, 2)] : lines;
}

function nextLines(measurement: NextMeasurement | null): string[] {
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
