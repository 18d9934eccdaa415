import type { AcceptanceCard } from '../decide/accept.ts';
import type { AcceptanceMap } from '../decide/map.ts';
import type { PlacingReport } from '../decide/place.ts';
import type { CircuitFault, Report } from '../types.ts';
import { columnsOf, listed, type CsvRow, type Table } from './csv.ts';
import type { Picture } from './picture.ts';

/** The answers as tables, one line a figure: the same numbers as their JSON, SI and percent. */

/** What is wrong with the circuit, how a new tube fares in it and this one without it, and which fault alone is worth mending. */
export const FAULT_COLUMNS = 'circuitFaults newTubeHere inSoundCircuit enoughToMend';

/** Empty where the circuit is not to blame. */
export const faultCells = (fault: CircuitFault | null | undefined): CsvRow =>
  fault === null || fault === undefined
    ? {}
    : {
        circuitFaults: listed(fault.faults),
        newTubeHere: fault.status,
        inSoundCircuit: fault.inSoundCircuit,
        enoughToMend: listed(fault.enough),
      };

/** Measures of each tube in each socket; then what its readings come to. */
export const assessmentTable = (reports: readonly Report[]): Table => ({
  columns: columnsOf(
    `tube type section with socket stage verdict kind id title unit status decides
     newTube value low high limitSense limit margin reason ${FAULT_COLUMNS} seed draws`,
  ),
  rows: reports.flatMap((report): CsvRow[] => {
    const { tube, socket, verdict, seed, draws } = report;
    const about = {
      tube: tube.id,
      type: tube.type,
      section: tube.section,
      with: listed(report.companions.map(({ id }) => id)),
      socket: socket.id,
      stage: socket.stage,
      verdict,
      ...faultCells(report.circuitFault),
      seed,
      draws,
    };
    return [
      ...report.measures.map(({ limit, ...one }) => ({
        ...about,
        kind: 'measure',
        ...one,
        decides: one.id === report.decidedBy.measure,
        limitSense: limit?.sense,
        limit: limit?.bound,
      })),
      ...report.wear.map(({ known, said, ...one }) => ({
        ...about,
        kind: 'wear',
        ...one,
        status: known,
        reason: said,
      })),
    ];
  }),
});

/** Limits of each reading; then how emission trades against the others. `unit` is the instrument's scale. */
export const cardTable = (cards: readonly AcceptanceCard[]): Table => ({
  columns: columnsOf(
    `socket type section bench verdict kind reading path title atEmission sense value beyond unit
     leakage_uA measure text seed draws`,
  ),
  rows: cards.flatMap((card): CsvRow[] => {
    const { socket, tube, bench, verdict, seed, draws } = card;
    const about = { socket: socket.id, ...tube, bench, verdict, seed, draws };
    if (card.limits.length === 0) return [{ ...about, kind: 'none', text: card.sentence }];
    return [
      ...card.limits.map(({ reading, path, title, sense, value, unit, measure, text, ...one }) => ({
        ...about,
        kind: 'limit',
        reading,
        path: path?.join('-'),
        title,
        sense,
        value,
        unit,
        beyond: one.beyond?.value,
        leakage_uA: one.microamps,
        measure,
        text,
      })),
      ...card.trades.flatMap(({ columns, values, rows }) =>
        values.flatMap(([atEmission, ...others], i) =>
          others.map((value, k) => ({
            ...about,
            kind: 'trade',
            title: columns[k + 1],
            atEmission,
            value,
            text: rows[i]?.[k + 1],
          })),
        ),
      ),
    ];
  }),
});

/** Every tube in every socket, pairs of tubes, and sockets that stay empty; `placed` tells the best placing. */
export function placingTable(report: PlacingReport): Table {
  const placedIn = (socket: string, tubes: readonly string[]): boolean =>
    report.placing.some(
      (one) =>
        one.socket === socket &&
        one.tubes.length === tubes.length &&
        tubes.every((tube) => one.tubes.includes(tube)),
    );
  const typeOf = (id: string) => report.tubes.find((tube) => tube.id === id)?.type;
  const { seed, draws } = report;
  const rows: CsvRow[] = [
    ...report.cells.map((cell) => ({
      kind: 'tube',
      ...cell,
      type: typeOf(cell.tube),
      placed: placedIn(cell.socket, [cell.tube]),
    })),
    ...report.pairs.flatMap(({ socket, pairs }) =>
      pairs.map(({ tubes, difference: currentDifference, ...pair }) => ({
        kind: 'pair',
        socket,
        tube: tubes[0],
        tube2: tubes[1],
        type: typeOf(tubes[0]),
        ...pair,
        currentDifference,
        placed: placedIn(socket, tubes),
      })),
    ),
    ...report.placing
      .filter(({ tubes }) => tubes.length === 0)
      .map(({ socket, sentence }) => ({ kind: 'empty', socket, placed: true, sentence })),
  ];
  return {
    columns: columnsOf(
      `kind socket tube type tube2 verdict margin measure currentDifference placed sentence
       seed draws`,
    ),
    rows: rows.map((row) => ({ ...row, seed, draws })),
  };
}

/** One line a cell of the map. */
export function mapTable(map: AcceptanceMap): Table {
  const emission = `emission_${map.emission.unit === '%' ? 'percent' : map.emission.unit}`;
  return {
    columns: columnsOf(
      `${emission} leakage_ohm status limit margin from verdict margin_low margin_high`,
    ),
    rows: map.cells.flatMap((column, i) =>
      column.map((cell, k) => ({
        [emission]: map.emission.values[i],
        leakage_ohm: map.leakage.values[k],
        status: cell.inside ? 'inside' : 'outside',
        limit: cell.measure,
        margin: cell.margin,
        from: cell.exact ? 'simulated' : 'between',
        verdict: cell.verdict,
        margin_low: cell.low,
        margin_high: cell.high,
      })),
    ),
  };
}

/** The points of a picture, in the units of its axes. */
export const pictureTable = ({ x, y, marks, lines }: Picture): Table => ({
  columns: ['curve', x.title, y.title, 'low', 'high'],
  rows: [
    ...marks.map((mark) => ({
      curve: mark.title,
      [x.title]: mark.x,
      [y.title]: mark.y,
      low: mark.low,
      high: mark.high,
    })),
    ...lines.flatMap((line) =>
      line.points.map(([a, b], i) => ({
        curve: line.title,
        [x.title]: a,
        [y.title]: b,
        low: line.band?.[i]?.[0],
        high: line.band?.[i]?.[1],
      })),
    ),
  ],
});
