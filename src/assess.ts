import { atHeaterVoltage } from '../models/cathode.ts';
import { measureSubjects, type Outcome, type Subject } from './measure/subjects.ts';
import { heaterFactor, LINE } from './stage/values.ts';
import type {
  Circuit,
  Draw,
  ReadingKind,
  Report,
  RunOptions,
  Simulator,
  Stage,
  StageValues,
  TubeCondition,
  TubeModel,
  Wear,
} from './types.ts';
import { drawsOf, knobsUnder, unknownsOf } from './uncertainty/draws.ts';
import { judgeMeasure, type Evidence, type Judgement, type Pair } from './verdict/judge.ts';
import { limitsFor, type Limit } from './verdict/limit.ts';
import { composeReport } from './report/compose.ts';
import { transientOutcomes } from './measure/transient.ts';
import { gridChange } from './verdict/grid-change.ts';

/** One tube and one socket, ready to be put together. */
export interface Case {
  readonly socket: {
    readonly id: string;
    readonly title: string;
    readonly stage: Stage;
    readonly values: StageValues;
    readonly limits: Readonly<Record<string, number | string>>;
  };
  readonly tube: {
    readonly id: string;
    readonly type: string;
    readonly section: string;
    readonly model: TubeModel;
    readonly wear: Wear;
    /** Remarks on the readings, e.g. keys that were not understood. */
    readonly warnings: readonly string[];
  };
}

export interface AssessOptions extends RunOptions {
  readonly seed?: number;
  /** Draws for the 90 % intervals; 0 gives central values only. */
  readonly draws?: number;
  /** Settled transients instead of phase copies, for the central values. */
  readonly transient?: boolean;
  /** Run further seeds where a limit lies near an interval's end. Default true. */
  readonly moreSeeds?: boolean;
  /** Look for the grid resistance that would make it usable. Default true. */
  readonly changes?: boolean;
  onProgress?(what: string, done: number, all: number): void;
  /** The report with central values only, before the draws. */
  onCentral?(report: Report): void;
}

export const DEFAULT_SEED = 1;
export const DEFAULT_DRAWS = 64;
const SEEDS_WHEN_WAVERING = 5;
/** Enough to search with; what is told is confirmed with all of them. */
const QUICK_DRAWS = 16;
const READINGS: readonly ReadingKind[] = [
  'emission',
  'starvedHeater',
  'leakage',
  'gridCurrent',
  'heaterCathode',
];

/**
 * Does this tube work in this socket? The whole flow from wear to report.
 *
 * Pure apart from the simulator: the same case, seed and draws give the same report. Rejects only with `Stopped`
 * (cancelled) or a `Problem` (a limit that cannot be read); a failed simulation is in the report.
 */
export async function assess(
  given: Case,
  simulator: Simulator,
  options: AssessOptions = {},
): Promise<Report> {
  const { seed = DEFAULT_SEED, draws = DEFAULT_DRAWS } = options;
  const { stage, values } = given.socket;
  const circuit = stage.circuit(values, [given.tube.model]);
  const limits = limitsFor(
    stage.limits.filter(({ needs = [] }) =>
      needs.every((rating) => given.tube.model.ratings?.[rating] !== undefined),
    ),
    given.socket.limits,
    stage.measures.map((measure) => measure.id),
    `${given.socket.id}.limits`,
  );
  const central = await runCentral(given, circuit, simulator, options);
  const compose = (
    judgements: readonly Judgement[],
    count: number,
    changes: Report['wouldChange'],
  ) =>
    composeReport({
      given,
      circuit,
      central,
      judgements,
      limits,
      seed,
      draws: count,
      changes,
      engine: simulator.engine,
      transient: options.transient === true,
    });
  const centralEvidence = evidenceOf(central, [], 0);
  options.onCentral?.(compose(judgeAll(stage, limits, centralEvidence), 0, []));
  if (draws === 0) return compose(judgeAll(stage, limits, centralEvidence), 0, []);

  const judgements = await judgeWithDraws(
    given,
    circuit,
    limits,
    central,
    seed,
    draws,
    simulator,
    options,
  );
  const changes =
    options.changes === false
      ? []
      : await gridChange(given, judgements, central, (values, quick) =>
          verdictWith({ ...given, socket: { ...given.socket, values } }, simulator, {
            ...options,
            seed,
            draws: quick ? Math.min(draws, QUICK_DRAWS) : draws,
            moreSeeds: !quick,
          }),
        );
  return compose(judgements, draws, changes);
}

/** The verdict alone, with intervals, for trying a change. */
async function verdictWith(
  given: Case,
  simulator: Simulator,
  options: AssessOptions,
): Promise<Report['verdict']> {
  const { seed = DEFAULT_SEED, draws = DEFAULT_DRAWS, moreSeeds = true } = options;
  const report = await assess(given, simulator, {
    ...plain(options),
    seed,
    draws,
    moreSeeds,
    changes: false,
  });
  return report.verdict;
}

/** Central outcomes by role. */
export interface Central {
  readonly newTube: Outcome;
  readonly thisTube: Outcome;
  readonly withoutLeak: Outcome;
  readonly withNewCathode: Outcome;
  readonly unread: readonly { readonly reading: ReadingKind; readonly outcome: Outcome }[];
  readonly paths: readonly { readonly path: Wear['paths'][number]; readonly outcome: Outcome }[];
}

async function runCentral(
  given: Case,
  circuit: Circuit,
  simulator: Simulator,
  options: AssessOptions,
): Promise<Central> {
  const { wear } = given.tube;
  const { stage, values } = given.socket;
  const newTube = wear.newTube({});
  const mine = wear.condition({});
  const unread = READINGS.flatMap((reading) => {
    const condition = wear.plausiblyBad(reading);
    return condition === undefined ? [] : [{ reading, condition }];
  });
  const paths = wear.paths.length > 1 ? wear.paths : [];
  const conditions: TubeCondition[] = [
    {
      ...mine,
      leaks: newTube.leaks,
      gasRatio: newTube.gasRatio,
      gridEmission_A: newTube.gridEmission_A,
    },
    {
      ...mine,
      area: newTube.area,
      saturation_A: newTube.saturation_A,
      interface_ohm: newTube.interface_ohm,
    },
    ...unread.map(({ condition }) => condition),
    ...paths.map((path) => wear.onPath(path)),
  ];
  const run = (
    part: readonly TubeCondition[],
    near: Outcome | undefined,
    runId: string,
  ): Promise<Outcome[]> =>
    measureSubjects(
      stage,
      circuit,
      values,
      [newTube, ...part].map((condition, i) => ({
        ...subjectOf(values, circuit, condition, {}, i === 0 ? undefined : 0),
        ...(near === undefined ? {} : { central: near.measures }),
      })),
      simulator,
      {
        ...plain(options),
        runId,
        onProgress: (done, all) => options.onProgress?.('operating point', done, all),
      },
    );
  const outcomes = await run([mine], undefined, 'central');
  const others = await run(conditions, outcomes[1], 'others');
  if (options.transient === true) {
    // transients are slow: only the drives near the central answers
    const subjects = [newTube, mine].map((condition, i) => ({
      ...subjectOf(values, circuit, condition, {}, i === 0 ? undefined : 0),
      central: outcomes[i]!.measures,
    }));
    const near = await measureSubjects(stage, circuit, values, subjects, simulator, {
      ...plain(options),
      runId: 'near',
    });
    const settled = await transientOutcomes(stage, circuit, values, subjects, near, simulator, {
      ...plain(options),
      onProgress: (done, all) => options.onProgress?.('settled transients', done, all),
    });
    outcomes.splice(0, 2, ...settled);
  }
  return {
    newTube: outcomes[0]!,
    thisTube: outcomes[1]!,
    withoutLeak: others[1]!,
    withNewCathode: others[2]!,
    unread: unread.map(({ reading }, i) => ({ reading, outcome: others[3 + i]! })),
    paths: paths.map((path, i) => ({ path, outcome: others[3 + unread.length + i]! })),
  };
}

/** Draws for one seed; further seeds only where the limit lies so near an interval's end that they might differ. */
async function judgeWithDraws(
  given: Case,
  circuit: Circuit,
  limits: readonly Limit[],
  central: Central,
  seed: number,
  count: number,
  simulator: Simulator,
  options: AssessOptions,
): Promise<Judgement[]> {
  const judge = async (ofSeed: number): Promise<Judgement[]> => {
    const { pairs, failedShare } = await runDraws(
      given,
      circuit,
      central,
      ofSeed,
      count,
      simulator,
      options,
    );
    return judgeAll(given.socket.stage, limits, evidenceOf(central, pairs, failedShare));
  };
  const first = await judge(seed);
  if (options.moreSeeds === false || !first.some((judgement) => judgement.wavering)) return first;
  const others: Judgement[][] = [];
  for (let i = 1; i < SEEDS_WHEN_WAVERING; i++) others.push(await judge(seed + i));
  return first.map((judgement, i) =>
    judgement.missing !== undefined ||
    others.every((judgements) => judgements[i]!.status === judgement.status)
      ? judgement
      : {
          ...judgement,
          status: 'marginal',
          doubt: 'other samples of the same unknowns say otherwise',
        },
  );
}

async function runDraws(
  given: Case,
  circuit: Circuit,
  central: Central,
  seed: number,
  count: number,
  simulator: Simulator,
  options: AssessOptions,
): Promise<{ pairs: Pair[]; failedShare: number }> {
  const { wear } = given.tube;
  const { stage, values } = given.socket;
  const draws = drawsOf(unknownsOf(circuit, [wear]), count, seed);
  const subjects = [
    ...draws.map((draw) => ({
      ...subjectOf(values, circuit, wear.newTube(draw), draw, undefined),
      central: central.newTube.measures,
    })),
    ...draws.map((draw, i) => ({
      ...subjectOf(values, circuit, wear.condition(draw), draw, i),
      central: central.thisTube.measures,
    })),
  ];
  const outcomes = await measureSubjects(stage, circuit, values, subjects, simulator, {
    ...plain(options),
    runId: `draws.${seed}`,
    onProgress: (done, all) => options.onProgress?.('intervals', done, all),
  });
  const pairs = draws.flatMap((_, i): Pair[] => {
    const [newTube, own] = [outcomes[i]!, outcomes[count + i]!];
    return own.failed === undefined && newTube.failed === undefined
      ? [{ own: own.measures, newTube: newTube.measures }]
      : [];
  });
  return { pairs, failedShare: 1 - pairs.length / count };
}

function subjectOf(
  values: StageValues,
  circuit: Circuit,
  condition: TubeCondition,
  draw: Draw,
  newTube: number | undefined,
): Subject {
  const heater = heaterFactor(values, draw[LINE] ?? 0);
  return {
    row: {
      knobs: knobsUnder(circuit, draw),
      tubes: [{ state: atHeaterVoltage(condition, heater), leaks: condition.leaks }],
    },
    ...(newTube === undefined ? {} : { newTube }),
  };
}

function evidenceOf(central: Central, draws: readonly Pair[], failedShare: number): Evidence {
  const pairWith = (outcome: Outcome): Pair => ({
    own: outcome.measures,
    newTube: central.newTube.measures,
  });
  const failed = central.thisTube.failed ?? central.newTube.failed;
  return {
    central: pairWith(central.thisTube),
    draws,
    failedShare,
    unread: central.unread.map(({ reading, outcome }) => ({ reading, pair: pairWith(outcome) })),
    failed,
  };
}

function judgeAll(stage: Stage, limits: readonly Limit[], evidence: Evidence): Judgement[] {
  return stage.measures.map((measure) =>
    judgeMeasure(
      measure,
      limits.filter((limit) => limit.spec.measure === measure.id),
      evidence,
    ),
  );
}

function plain(options: AssessOptions): RunOptions {
  return {
    ...(options.signal === undefined ? {} : { signal: options.signal }),
    ...(options.timeout_ms === undefined ? {} : { timeout_ms: options.timeout_ms }),
  };
}
