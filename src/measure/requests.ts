import { printFirst, printRun, rowsIn, startFrom, type StartVolts } from '../circuit/print.ts';
import { readRows, type RowVolts } from '../circuit/read.ts';
import { Stopped } from './stopped.ts';
import type { Circuit, Row, RunOptions, Simulator, View } from '../types.ts';

/** One row of a step: a subject at one of its settings. */
export interface RowItem {
  readonly subject: number;
  readonly setting: number;
  readonly row: Row;
}

/** What the requests of one step share, and where their answers go. */
export interface Requests {
  readonly circuit: Circuit;
  readonly view: View;
  readonly simulator: Simulator;
  readonly options: RunOptions;
  /** The circuit at rest. */
  readonly startOf: () => Promise<StartVolts>;
  readonly hasFailed: (item: RowItem) => boolean;
  readonly keep: (item: RowItem, volts: RowVolts) => void;
  readonly note: (subject: number, notes: readonly string[]) => void;
  readonly refuse: (item: RowItem, why: string) => void;
}

/** Many rows in one request, on a machine that does other things besides. */
const BATCH_TIMEOUT_MS = 120_000;
/** Points from row to row, so many times as the step asks for, where rows were not found. */
const FINER = 4;

/** A swing that is found from rest at once. */
const SMALL_DRIVE_V = 0.5;
const LEAD_SHARES = [0.02, 0.3];
/** For a row that is not found among its neighbours. */
const LONG_LEAD_SHARES = [0.02, 0.1, 0.25, 0.45, 0.7];

/**
 * Rows before the first: from rest the engine finds a large swing only by stepping conductances, which takes it as long as
 * all the rows after it.
 */
export function leadIn(first: Row, view: View, alone: boolean): Row[] {
  return view.as === 'phases' && first.drive > SMALL_DRIVE_V
    ? (alone ? LONG_LEAD_SHARES : LEAD_SHARES).map((share) => ({
        ...first,
        drive: share * first.drive,
      }))
    : [];
}

/** Where other tubes begin at a swing that differs by more than this, others lie between them. */
const LEAP = 1.8;

/** Rows on the way from one row's swing to the next one's, with the tubes of that. A sweep of the same tubes has its own spacing. */
export function between(from: Row, to: Row, view: View): Row[] {
  if (view.as !== 'phases' || from.tubes === to.tubes || from.drive <= 0 || to.drive <= 0)
    return [];
  if (Math.max(from.drive, to.drive) <= SMALL_DRIVE_V) return [];
  const leaps = Math.log(to.drive / from.drive) / Math.log(LEAP);
  const count = Math.max(1, Math.ceil(Math.abs(leaps)));
  return Array.from({ length: count - 1 }, (_, i) => ({
    ...to,
    drive: from.drive * LEAP ** ((leaps * (i + 1)) / count),
  }));
}

/**
 * Rows of one view in one request. Where it fails what it found so far is kept, and the rest is asked for again from its
 * first row found by itself, and then in finer steps; where that leads no further each subject has a request of its own, up
 * its drives, and then its halves, so that a bad row costs only itself. The engine's helps are for rows of one subject: among
 * rows that differ much they fail as often, and slowly.
 */
export async function runItems(
  items: readonly RowItem[],
  runId: string,
  requests: Requests,
  coarse = true,
): Promise<void> {
  // nothing is asked for a subject that has failed already
  if (items.length === 1 && requests.hasFailed(items[0]!)) return;
  const { view } = requests;
  const finely = coarse && items.length > 1;
  let left = items;
  // among pulses a tube is nothing like at rest
  if (view.as !== 'levels' || !finely) {
    const start = await requests.startOf();
    left = await once(left, runId, requests, view, start);
  }
  // where a sweep stops, finer steps from the row before lead on; where they stop too, the next row found by itself
  let anew = left.length === items.length;
  for (let tries = 0; finely && left.length > 0; tries++) {
    const before = left;
    const last = anew ? undefined : items[items.length - left.length - 1];
    const first = await firstOf(last ?? left[0]!, `${runId}.first${tries}`, requests);
    for (const again of anew ? [view, finerOf(view)] : [finerOf(view)])
      if (!isWorthAnother(left, before))
        left = await once(left, `${runId}.again${tries}`, requests, again, first, last);
    if (anew && !isWorthAnother(left, before)) break;
    anew = !anew;
  }
  const parts = left.length === 0 ? [] : smaller(left);
  await Promise.all(
    parts.map((part, i) =>
      // a single subject that was not found finely is not looked for finely in its halves
      runItems(part, `${runId}.${i}`, requests, severalIn(items)),
    ),
  );
}

/** A request that found this share of what it was asked for is worth another for the rest. */
const WORTH_ANOTHER = 0.1;
const isWorthAnother = (left: readonly RowItem[], before: readonly RowItem[]): boolean =>
  before.length - left.length >= WORTH_ANOTHER * before.length;

/** Asks once, on from the `last` row found where there is one; takes what was found, and returns what is left to be asked for. */
async function once(
  items: readonly RowItem[],
  runId: string,
  { circuit, simulator, options, keep, note, refuse }: Requests,
  view: View,
  start: StartVolts,
  last?: RowItem,
): Promise<readonly RowItem[]> {
  const rows = leadIn((last ?? items[0]!).row, view, items.length === 1);
  if (last !== undefined) rows.push(last.row);
  const places = items.map(({ row }, i) => {
    if (i > 0 || last !== undefined) rows.push(...between(rows.at(-1)!, row, view));
    return rows.push(row) - 1;
  });
  const printed = printRun(circuit, runId, view, rows, start, !severalIn(items));
  const result = await simulator.run(printed.request, { timeout_ms: BATCH_TIMEOUT_MS, ...options });
  if (!result.ok && result.why === 'cancelled') throw new Stopped();
  const answer = result.ok ? { ...result, points: printed.request.points } : result.found;
  const rowsFound = answer === undefined ? 0 : rowsIn(view, answer.points);
  const volts = answer === undefined ? [] : readRows(circuit, view, rowsFound, answer);
  const found = items.filter((item, i) => {
    const there = volts[places[i]!];
    if (there !== undefined) keep(item, there);
    return there !== undefined;
  });
  const left = items.slice(found.length);
  if (result.ok)
    for (const subject of new Set(items.map((item) => item.subject)))
      note(subject, [...result.notes, ...result.warnings]);
  else if (items.length === 1 || result.why === 'parse' || result.why === 'timeout') {
    for (const item of left) refuse(item, `${result.why}: ${result.text}`);
    return [];
  }
  return left;
}

/** Where a request begins that starts at this row, found with the engine's helps. */
async function firstOf(
  { row }: RowItem,
  runId: string,
  { circuit, view, simulator, options, startOf }: Requests,
): Promise<StartVolts> {
  const first = leadIn(row, view, false)[0] ?? row;
  const atRest = await startOf();
  const result = await simulator.run(printFirst(circuit, runId, view, first, atRest), options);
  if (!result.ok && result.why === 'cancelled') throw new Stopped();
  return result.ok ? startFrom(result.vectors) : atRest;
}

/** The same in finer steps. */
const finerOf = (view: View): View =>
  view.as === 'transient' ? view : { ...view, substeps: FINER * (view.substeps ?? 1) };

const severalIn = (items: readonly RowItem[]): boolean =>
  items.some(({ subject }) => subject !== items[0]!.subject);

/** What to try instead of a request that failed: its subjects, or the halves of its only one. */
function smaller(items: readonly RowItem[]): RowItem[][] {
  if (severalIn(items))
    return [...new Set(items.map(({ subject }) => subject))].map((one) =>
      items.filter(({ subject }) => subject === one).toSorted((a, b) => a.setting - b.setting),
    );
  const middle = Math.ceil(items.length / 2);
  return [items.slice(0, middle), items.slice(middle)];
}
