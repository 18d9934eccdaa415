import type { InSetReport } from '../decide/in-set/in-set.ts';
import { columnsOf, listed, type CsvRow, type Table } from './csv.ts';
import { unitOf } from './in-set-words.ts';

/**
 * A check in the set as a table. Lines of kind `point` are what a meter should show and what it did; `explanation`, how likely
 * each is and how large it would be; `next`, what the next measurement shows under each of the likeliest.
 */
export function inSetTable(report: InSetReport): Table {
  const { tube, socket, meter, seed, diagnosis } = report;
  const about = {
    tube: tube.id,
    type: tube.type,
    socket: socket.id,
    seed,
    meter_ohm: meter.ohms,
    meterAccuracy_percent: meter.accuracy_percent,
  };
  const next = diagnosis?.next ?? undefined;
  const rows: CsvRow[] = [
    ...report.lines.map(({ newTube, ...line }) => ({
      kind: 'point',
      id: line.point,
      title: line.title,
      pins: listed(line.pins),
      unit: unitOf(line),
      ...line.thisTube,
      newTube: newTube?.value,
      newTubeLow: newTube?.low,
      newTubeHigh: newTube?.high,
      withoutMeter: line.unloaded,
      read: line.read,
    })),
    ...(diagnosis?.explanations ?? []).map(({ id, title, size, likelihood, fits }) => ({
      kind: 'explanation',
      ...size,
      id,
      title,
      likelihood,
      fits,
    })),
    ...(next?.expected ?? []).map(({ id, title, volts, low, high }) => ({
      kind: 'next',
      id,
      title: `${next!.what}, if ${title}`,
      unit: unitOf(next!),
      value: volts,
      low,
      high,
    })),
  ];
  return {
    columns: columnsOf(
      `tube type socket kind id title pins unit value low high newTube newTubeLow newTubeHigh
       withoutMeter read likelihood fits meter_ohm meterAccuracy_percent seed`,
    ),
    rows: rows.map((row) => ({ ...about, ...row })),
  };
}
