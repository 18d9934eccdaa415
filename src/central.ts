import { atHeaterVoltage } from '../models/cathode.ts';
import { measureSubjects, type Outcome, type Subject } from './measure/subjects.ts';
import { transientOutcomes } from './measure/transient.ts';
import { faultsIn, socketLeaks, soundValues, type Fault } from './stage/faults.ts';
import { heaterFactor, LINE, LOWEST_LINE } from './stage/values.ts';
import type {
  Circuit,
  Draw,
  Measures,
  MeasureValue,
  Electrode,
  LineKind,
  ReadingKind,
  RunOptions,
  Simulator,
  Stage,
  StageValues,
  TubeCondition,
  TubeModel,
  Wear,
} from './types.ts';
import { knobsUnder } from './uncertainty/draws.ts';

/** The central case: every unknown at its median, and what else the verdict and its words need beside it. */

export interface CaseTube {
  readonly id: string;
  readonly type: string;
  readonly section: string;
  readonly model: TubeModel;
  /** Base pin numbers of the section's electrodes, where the base is known. */
  readonly pins?: Readonly<Partial<Record<Electrode, readonly number[]>>>;
  /** Names of its unknowns are its own: no two tubes of a case share one. */
  readonly wear: Wear;
  /** Remarks on the readings, e.g. keys that were not understood. */
  readonly warnings: readonly string[];
  /** Nobody has read it: a new tube of the type stands in its place. */
  readonly taken?: 'new';
  /** The socket that it stands in, where that is another one on the same line. */
  readonly socket?: Case['socket'];
}

/** One tube and one socket, ready to be put together. */
export interface Case {
  readonly socket: {
    readonly id: string;
    readonly title: string;
    readonly stage: Stage;
    readonly values: StageValues;
    readonly limits: Readonly<Record<string, number | string>>;
  };
  /** The tube that the verdict is about. */
  readonly tube: CaseTube;
  /** Tubes that are judged together with it, in the order of `Circuit.tubes` after it. */
  readonly companions?: readonly CaseTube[];
  /** The line that companions with sockets of their own share with it; of AGC, `ahead` of them stand before it in the signal's way. */
  readonly line?: {
    readonly id: string;
    readonly carries: LineKind;
    readonly ahead: number;
  };
}

/** All tubes of a case, by tube index of the circuit. */
export const tubesOf = ({ tube, companions = [] }: Case): readonly CaseTube[] => [
  tube,
  ...companions,
];

/** What each tube is called where there are several: its id, and its section where two of them are of one bottle. */
export function labelsOf(given: Case): string[] {
  const tubes = tubesOf(given);
  return tubes.map(({ id, section }) =>
    tubes.filter((one) => one.id === id).length > 1 ? `${id} section ${section}` : id,
  );
}

/** A fault of the circuit that a value states, and the socket it is in where that is another one on the line. */
export interface CaseFault extends Fault {
  readonly socket?: string;
}

/** Values that the sockets of its line have in common. */
const sharedValues = ({ socket: { stage }, line }: Case): readonly string[] =>
  (line?.carries === 'bias' ? stage.biasLine : stage.agcLine)?.values ?? [];

/** The other sockets on its line, each once. */
const socketsBeside = ({ companions = [] }: Case): Case['socket'][] => {
  const sockets = companions.flatMap(({ socket }) => (socket === undefined ? [] : [socket]));
  return sockets.filter(({ id }, i) => sockets.findIndex((one) => one.id === id) === i);
};

/** What is wrong with the circuit, by its values; in the other sockets of its line too. */
export function faultsOf(given: Case): CaseFault[] {
  const { socket } = given;
  const shared = sharedValues(given);
  return [
    ...faultsIn(socket.stage.values, socket.values),
    ...socketsBeside(given).flatMap((other): CaseFault[] =>
      faultsIn(other.stage.values, other.values)
        .filter(({ key }) => !shared.includes(key))
        .map((fault) => ({ ...fault, socket: other.id })),
    ),
  ];
}

/** The same tubes in the circuit as it should be, or with only one of its faults mended. */
export function soundCase(given: Case, only?: CaseFault): Case {
  const shared = sharedValues(given);
  const sound = (socket: Case['socket']): Case['socket'] => ({
    ...socket,
    values: soundValues(
      socket.stage.values,
      socket.values,
      (key) =>
        only === undefined ||
        (only.key === key &&
          ((only.socket ?? given.socket.id) === socket.id ||
            (only.socket === undefined && shared.includes(key)))),
    ),
  });
  return {
    ...given,
    socket: sound(given.socket),
    ...(given.companions === undefined
      ? {}
      : {
          companions: given.companions.map((one) =>
            one.socket === undefined ? one : { ...one, socket: sound(one.socket) },
          ),
        }),
  };
}

/** DC resistance between the grid and where its return stands still, ohm; a bias supply that is not used is none of it. */
export function gridCircuitOf({ stage, values }: Case['socket']): number {
  const { gridCircuit, biasLine } = stage;
  const supplied = biasLine?.needs.every((key) => values[key]!.value !== null) === true;
  return gridCircuit
    .filter((key) => supplied || biasLine?.values.includes(key) !== true)
    .reduce((sum, key) => sum + (values[key]!.value as number), 0);
}

/** Measures of an outcome with another one as its new tube. Nothing is simulated. */
export function measuresBeside(stage: Stage, outcome: Outcome, newTube: Outcome): Measures {
  const traces = { ...outcome.traces, newTube: newTube.traces };
  const own: Record<string, MeasureValue> = {};
  for (const step of stage.steps)
    for (const measure of stage.measures)
      if (measure.step === step.id) own[measure.id] = measure.of(traces, own, newTube.measures);
  return own;
}

/** Central outcomes by role. */
export interface Central {
  readonly newTube: Outcome;
  readonly thisTube: Outcome;
  /** No tube leaks, every tube has a new cathode. */
  readonly withoutLeak: Outcome;
  readonly withNewCathode: Outcome;
  /** The same for each tube alone, the others as read; by tube index. */
  readonly each: readonly { readonly withoutLeak: Outcome; readonly withNewCathode: Outcome }[];
  /** One tube with an unread reading plausibly bad, or with all of its leakage on one path; the others as read. */
  readonly unread: readonly {
    readonly reading: ReadingKind;
    readonly tube: number;
    readonly outcome: Outcome;
  }[];
  readonly paths: readonly {
    readonly path: Wear['paths'][number];
    readonly tube: number;
    readonly outcome: Outcome;
  }[];
}

export interface CentralOptions extends RunOptions {
  /** Settled transients instead of phase copies, for the new tubes and these. */
  readonly transient: boolean;
  /** Also what only the words need: cured tubes, leaks on one path. Without it those are as read. */
  readonly explain: boolean;
  /** Whether a measure of the stage hangs on a reading: else it need not be looked at how a bad one would be. */
  readonly mayDecide: (reading: ReadingKind) => boolean;
  readonly onProgress?: (what: string, done: number, all: number) => void;
  /**
   * Told as soon as all is measured that the verdict waits for: cured tubes and single paths are then as read. What it gives is
   * waited for. Not called with `transient`.
   */
  readonly onPair?: (pair: Central) => unknown;
}

const READINGS: readonly ReadingKind[] = [
  'emission',
  'starvedHeater',
  'leakage',
  'gridCurrent',
  'heaterCathode',
];

/** The conditions of all tubes of a subject, by tube index. */
type Conditions = readonly TubeCondition[];

export async function runCentral(
  given: Case,
  circuit: Circuit,
  simulator: Simulator,
  options: CentralOptions,
): Promise<Central> {
  const { stage, values } = given.socket;
  const { transient, explain, mayDecide, onProgress, onPair, ...run } = options;
  const wears = tubesOf(given).map(({ wear }) => wear);
  const newTubes = wears.map((wear) => wear.newTube({}));
  const mine = wears.map((wear) => wear.condition({}));
  const all = otherConditions(wears, newTubes, mine);
  // the verdict waits for these; the others are for the words
  const unread = all.filter((one) => one.role === 'unread' && mayDecide(one.reading));
  const cured = explain ? all.filter(({ role }) => role !== 'unread') : [];
  const measure = (
    conditions: readonly Conditions[],
    near: { readonly newTube: Outcome; readonly own: Outcome } | undefined,
    runId: string,
  ): Promise<Outcome[]> =>
    measureSubjects(
      stage,
      circuit,
      values,
      [newTubes, ...conditions].map((each, i) => ({
        ...subjectOf(values, circuit, each, {}, i === 0 ? undefined : 0),
        ...(near === undefined ? {} : { central: (i === 0 ? near.newTube : near.own).measures }),
      })),
      simulator,
      {
        ...run,
        runId,
        onProgress: (done, all) => onProgress?.('operating point', done, all),
      },
    );
  const [ofNew, ofMine, ...ofUnread] = await measure(
    [mine, ...unread.map(({ conditions }) => conditions)],
    undefined,
    'central',
  );
  const outcomes = [ofNew!, ofMine!];
  const from = (others: readonly Other[], found: readonly Outcome[]): Central =>
    byRole(wears.length, outcomes, [...unread, ...others], [...ofUnread, ...found]);
  if (!transient && cured.length > 0) await onPair?.(from([], []));
  const found =
    cured.length === 0
      ? []
      : (
          await measure(
            cured.map(({ conditions }) => conditions),
            { newTube: ofNew!, own: ofMine! },
            'others',
          )
        ).slice(1);
  if (transient) {
    // transients are slow: only the drives near the central answers
    const subjects = [newTubes, mine].map((conditions, i) => ({
      ...subjectOf(values, circuit, conditions, {}, i === 0 ? undefined : 0),
      central: outcomes[i]!.measures,
    }));
    const near = await measureSubjects(stage, circuit, values, subjects, simulator, {
      ...run,
      runId: 'near',
    });
    const settled = await transientOutcomes(stage, circuit, values, subjects, near, simulator, {
      ...run,
      onProgress: (done, all) => onProgress?.('settled transients', done, all),
    });
    outcomes.splice(0, 2, ...settled);
  }
  return from(cured, found);
}

/** `outcomes` of the new tubes and these, `found` of the others; those that were not looked at are as read. */
function byRole(
  tubes: number,
  outcomes: readonly Outcome[],
  others: readonly Other[],
  found: readonly Outcome[],
): Central {
  const outcomeOf = (role: 'withoutLeak' | 'withNewCathode', tube: number | 'all'): Outcome =>
    found[others.findIndex((one) => one.role === role && one.tube === tube)] ?? outcomes[1]!;
  const both = (tube: number | 'all') => ({
    withoutLeak: outcomeOf('withoutLeak', tube),
    withNewCathode: outcomeOf('withNewCathode', tube),
  });
  return {
    newTube: outcomes[0]!,
    thisTube: outcomes[1]!,
    ...both('all'),
    each: Array.from({ length: tubes }, (_, tube) => both(tubes === 1 ? 'all' : tube)),
    unread: others.flatMap((one, i) =>
      one.role === 'unread' ? [{ reading: one.reading, tube: one.tube, outcome: found[i]! }] : [],
    ),
    paths: others.flatMap((one, i) =>
      one.role === 'path' ? [{ path: one.path, tube: one.tube, outcome: found[i]! }] : [],
    ),
  };
}

/** Measures of the new tubes and these alone, for trying values; undefined where a simulation failed. */
export async function centralPair(
  given: Case,
  circuit: Circuit,
  simulator: Simulator,
  run: RunOptions,
): Promise<{ readonly own: Measures; readonly newTube: Measures } | undefined> {
  const { stage, values } = given.socket;
  const tubes = tubesOf(given);
  const subjects = [
    tubes.map(({ wear }) => wear.newTube({})),
    tubes.map(({ wear }) => wear.condition({})),
  ].map((each, i) => subjectOf(values, circuit, each, {}, i === 0 ? undefined : 0));
  const [newTube, own] = await measureSubjects(stage, circuit, values, subjects, simulator, {
    ...run,
    runId: 'trial',
  });
  return newTube?.failed === undefined && own?.failed === undefined
    ? { own: own!.measures, newTube: newTube!.measures }
    : undefined;
}

type Other = { readonly conditions: Conditions } & (
  | { readonly role: 'withoutLeak' | 'withNewCathode'; readonly tube: number | 'all' }
  | { readonly role: 'unread'; readonly reading: ReadingKind; readonly tube: number }
  | { readonly role: 'path'; readonly path: Wear['paths'][number]; readonly tube: number }
);

/** What is looked at beside the new tubes and these: cured ones, plausibly bad ones, leaks on one path. */
function otherConditions(wears: readonly Wear[], newTubes: Conditions, mine: Conditions): Other[] {
  const tight = mine.map((own, i): TubeCondition => ({
    ...own,
    leaks: newTubes[i]!.leaks,
    gasRatio: newTubes[i]!.gasRatio,
    gridEmission_A: newTubes[i]!.gridEmission_A,
  }));
  const recoated = mine.map((own, i): TubeCondition => ({
    ...own,
    area: newTubes[i]!.area,
    saturation_A: newTubes[i]!.saturation_A,
    interface_ohm: newTubes[i]!.interface_ohm,
  }));
  const withOne = (tube: number, condition: TubeCondition): Conditions =>
    mine.map((own, i) => (i === tube ? condition : own));
  const several = wears.length > 1;
  return [
    { role: 'withoutLeak', tube: 'all', conditions: tight },
    { role: 'withNewCathode', tube: 'all', conditions: recoated },
    ...wears.flatMap((wear, tube): Other[] => [
      ...(several
        ? [
            { role: 'withoutLeak' as const, tube, conditions: withOne(tube, tight[tube]!) },
            {
              role: 'withNewCathode' as const,
              tube,
              conditions: withOne(tube, recoated[tube]!),
            },
          ]
        : []),
      ...READINGS.flatMap((reading) =>
        wear.plausiblyBad(reading).map((condition): Other => ({
          role: 'unread',
          reading,
          tube,
          conditions: withOne(tube, condition),
        })),
      ),
      ...(wear.paths.length > 1 ? wear.paths : []).map((path): Other => ({
        role: 'path',
        path,
        tube,
        conditions: withOne(tube, wear.onPath(path)),
      })),
    ]),
  ];
}

/** One column of a run's table: all tubes of the circuit under one draw. */
export function subjectOf(
  values: StageValues,
  circuit: Circuit,
  conditions: Conditions,
  draw: Draw,
  newTube: number | undefined,
): Subject {
  const tubesAt = (z: number): Subject['row']['tubes'] =>
    conditions.map((condition, tube) => ({
      state: atHeaterVoltage(condition, heaterFactor(values, z)),
      leaks: [...condition.leaks, ...socketLeaks(values, circuit, tube)],
    }));
  return {
    row: { knobs: knobsUnder(circuit, draw), tubes: tubesAt(draw[LINE] ?? 0) },
    lowLine: tubesAt(LOWEST_LINE),
    ...(newTube === undefined ? {} : { newTube }),
  };
}
