import { copiesOf } from '../circuit/copies.ts';
import { printStart, startFrom, type StartVolts } from '../circuit/print.ts';
import type { RowVolts } from '../circuit/read.ts';
import { ownOutcomes } from './own.ts';
import { runItems, type Requests, type RowItem } from './requests.ts';
import { Stopped } from './stopped.ts';
import type {
  Circuit,
  Measures,
  MeasureValue,
  Row,
  RunOptions,
  Setting,
  Simulator,
  Stage,
  StageValues,
  Step,
  Traces,
  View,
} from '../types.ts';

export { Stopped } from './stopped.ts';

/** One tube in one circuit: a column of knob values. Many subjects share a netlist. */
export interface Subject {
  readonly row: Omit<Row, 'drive'>;
  /** Its tubes at the lowest line voltage, for settings that ask for it. */
  readonly lowLine?: Row['tubes'];
  /** Index, in the same batch, of the new tube under the same draw; undefined for a new tube itself. New tubes come first. */
  readonly newTube?: number;
  /** Measures of the central case of the same kind, where a step may look only near them. */
  readonly central?: Measures;
}

export interface Outcome {
  readonly measures: Measures;
  /** Why the simulation did not finish, where it did not. Its measures are then missing, never numbers. */
  readonly failed?: string;
  readonly notes: readonly string[];
  /** The traces of every step that finished, for curves and the drawing. */
  readonly traces: Traces;
}

export interface MeasureOptions extends RunOptions {
  /** Prefix of run ids; the engine echoes them. */
  readonly runId: string;
  /** Only these steps; all by default. */
  readonly steps?: readonly string[];
  /** Told after each request: done and all so far. */
  onProgress?(done: number, all: number): void;
}

/** Rows in one request: few enough to share among workers and to repeat cheaply when one row fails. */
const ROW_COPIES_PER_REQUEST = 480;
/** Copies that hang together over an audio cycle cost a long start, and then little a row. */
const ENVELOPE_ROW_COPIES = 1800;

interface Found {
  measures: Record<string, MeasureValue>;
  failed?: string;
  settings: Map<string, readonly Setting[]>;
  volts: Map<string, RowVolts[]>;
  notes: string[];
}

/**
 * Runs a stage's steps for a batch of subjects and takes their measures. Never rejects for a failed simulation: that
 * subject's outcome says so. Rejects only when stopped (`signal`).
 */
export async function measureSubjects(
  stage: Stage,
  circuit: Circuit,
  values: StageValues,
  subjects: readonly Subject[],
  simulator: Simulator,
  options: MeasureOptions,
): Promise<Outcome[]> {
  if (stage.own !== undefined)
    return ownOutcomes(stage.own, stage.measures, circuit, values, subjects, simulator, options);
  const found: Found[] = subjects.map(() => ({
    measures: {},
    settings: new Map(),
    volts: new Map(),
    notes: [],
  }));
  const traces = subjects.map((subject, i): Traces =>
    tracesOf(circuit, values, subject, found[i]!, () =>
      subject.newTube === undefined ? undefined : traces[subject.newTube],
    ),
  );
  const steps = stage.steps.filter((step) => options.steps?.includes(step.id) ?? true);
  let start: Promise<StartVolts> | undefined;
  const startOf = (): Promise<StartVolts> =>
    (start ??= startVolts(circuit, subjects, simulator, options));
  for (const step of steps) {
    await runStep(step, circuit, values, subjects, found, traces, startOf, simulator, options);
    // new tubes first: others compare with them
    const order = [...subjects.keys()].sort(
      (a, b) =>
        Number(subjects[a]!.newTube !== undefined) - Number(subjects[b]!.newTube !== undefined),
    );
    for (const i of order) {
      const own = found[i]!;
      if (own.failed !== undefined) continue;
      const pair = subjects[i]!.newTube;
      for (const measure of stage.measures)
        if (measure.step === step.id)
          own.measures[measure.id] = measure.of(
            traces[i]!,
            own.measures,
            pair === undefined ? undefined : found[pair]!.measures,
          );
    }
  }
  return found.map((own, i) => ({
    measures: own.measures,
    ...(own.failed === undefined ? {} : { failed: own.failed }),
    notes: own.notes,
    traces: traces[i]!,
  }));
}

function tracesOf(
  circuit: Circuit,
  values: StageValues,
  subject: Subject,
  own: Found,
  newTube: () => Traces | undefined,
): Traces {
  return {
    get newTube() {
      return newTube();
    },
    line: circuit.line,
    values,
    models: circuit.tubes,
    states: subject.row.tubes.map((tube) => tube.state),
    lowLineStates: subject.lowLine?.map((tube) => tube.state),
    leaks: subject.row.tubes.map((tube) => tube.leaks),
    knob(name) {
      const value = subject.row.knobs[name] ?? circuit.knobs[name]?.nominal;
      if (value === undefined) throw new Error(`no knob ${name}`);
      return value;
    },
    settings: (step) => own.settings.get(step) ?? [],
    volts(step, setting, node) {
      const rows = own.volts.get(step);
      if (rows === undefined) throw new Error(`step ${step} has not run`);
      return rows[setting]!.of(node);
    },
  };
}

/** The circuit at rest with the first subject in it: the first guess of every request. Empty where even that fails. */
async function startVolts(
  circuit: Circuit,
  subjects: readonly Subject[],
  simulator: Simulator,
  options: MeasureOptions,
): Promise<StartVolts> {
  const request = printStart(circuit, `${options.runId}.start`, subjects[0]!.row);
  const result = await simulator.run(request, options);
  if (!result.ok && result.why === 'cancelled') throw new Stopped();
  return result.ok ? startFrom(result.vectors) : {};
}

async function runStep(
  step: Step,
  circuit: Circuit,
  values: StageValues,
  subjects: readonly Subject[],
  found: Found[],
  traces: readonly Traces[],
  startOf: () => Promise<StartVolts>,
  simulator: Simulator,
  options: MeasureOptions,
): Promise<void> {
  const view = step.view(values);
  const items: RowItem[] = [];
  const { order, upward } = turnsOf(subjects, simulator.workers);
  order.forEach((index) => {
    const subject = subjects[index]!;
    const own = found[index]!;
    if (own.failed !== undefined) return;
    const settings = step.settings(values, own.measures, subject.central, traces[index]!);
    own.settings.set(step.id, settings);
    own.volts.set(step.id, []);
    const rows = settings.map((setting, i) => ({
      subject: index,
      setting: i,
      row: {
        knobs: { ...subject.row.knobs, ...setting.knobs },
        tubes: tubesAt(subject, setting),
        drive: setting.drive,
      },
    }));
    items.push(...(step.inOrder === true || upward.has(index) ? rows : rows.reverse()));
  });
  const requests: Requests = {
    circuit,
    view,
    simulator,
    options,
    startOf,
    hasFailed: ({ subject }) => found[subject]!.failed !== undefined,
    keep(item, volts) {
      found[item.subject]!.volts.get(step.id)![item.setting] = volts;
    },
    note(subject, notes) {
      found[subject]!.notes.push(...notes);
    },
    refuse({ subject }, why) {
      found[subject]!.failed ??= why;
    },
  };
  const chunks = chunksOf(items, subjects, upward, view, simulator);
  let done = 0;
  await Promise.all(
    chunks.map(async (chunk, i) => {
      await runItems(chunk, `${options.runId}.${step.id}.${i}`, requests);
      options.onProgress?.(++done, chunks.length);
    }),
  );
}

function tubesAt(subject: Subject, setting: Setting): Row['tubes'] {
  if (setting.lowLine !== true) return subject.row.tubes;
  if (subject.lowLine === undefined) throw new Error('a setting at low line, and no tubes for it');
  return subject.lowLine;
}

/**
 * In which order subjects are run: new tubes, then worn ones, each from the least leaky to the leakiest, so that neighbours
 * are alike; and those whose drives go up: every other one of a kind, beginning with the first, or all where they are so few
 * that each has a worker.
 */
function turnsOf(
  subjects: readonly Subject[],
  workers: number,
): { order: number[]; upward: ReadonlySet<number> } {
  const leaks_S = subjects.map(({ row }) =>
    row.tubes
      .flatMap(({ leaks }) => leaks)
      .filter(({ between }) => !between.includes('heater'))
      .reduce((sum, { siemens }) => sum + siemens, 0),
  );
  const [fresh, worn] = [true, false].map((isNew) =>
    [...subjects.keys()]
      .filter((index) => (subjects[index]!.newTube === undefined) === isNew)
      .sort((a, b) => leaks_S[a]! - leaks_S[b]!),
  ) as [number[], number[]];
  const upwardOf = (kind: readonly number[]): number[] =>
    kind.length <= workers ? [...kind] : kind.filter((_, i) => i % 2 === 0);
  return {
    order: [...fresh, ...worn],
    upward: new Set([...upwardOf(fresh), ...upwardOf(worn)]),
  };
}

/**
 * Whole subjects together and in pairs, up the drives and down again, so that each request begins at a small drive and
 * neighbouring rows are alike; about equal shares for the workers. New tubes have requests of their own: those are the
 * same for the next tube in this socket, and need not be run again; the others alone are then shared out.
 */
function chunksOf(
  items: readonly RowItem[],
  subjects: readonly Subject[],
  upward: ReadonlySet<number>,
  view: View,
  simulator: Simulator,
): RowItem[][] {
  const copies = copiesOf(view).length;
  const all =
    view.as === 'envelope' || view.as === 'cycle' ? ENVELOPE_ROW_COPIES : ROW_COPIES_PER_REQUEST;
  const most = Math.max(1, Math.floor(all / copies));
  const isNew = (item: RowItem): boolean => subjects[item.subject]!.newTube === undefined;
  const fresh = items.filter(isNew).length;
  const size = Math.min(most, Math.ceil(Math.max(fresh, items.length - fresh) / simulator.workers));
  const chunks: RowItem[][] = [];
  for (const item of items) {
    const current = chunks.at(-1);
    const before = current?.at(-1);
    const full =
      before === undefined ||
      isNew(before) !== isNew(item) ||
      (current!.length >= size && item.subject !== before.subject && upward.has(item.subject));
    if (full) chunks.push([item]);
    else current!.push(item);
  }
  return chunks;
}
