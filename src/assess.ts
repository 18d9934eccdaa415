import {
  centralPair,
  faultsOf,
  labelsOf,
  runCentral,
  subjectOf,
  tubesOf,
  type Case,
  type Central,
} from './central.ts';
import { searchFaults, type FaultTools } from './fault-search.ts';
import { circuitOf } from './line-neighbours.ts';
import { measureSubjects, type Outcome } from './measure/subjects.ts';
import { LINE } from './stage/values.ts';
import type { Circuit, ReadingKind, Report, RunOptions, Simulator, Stage } from './types.ts';
import { drawsOf, unknownsOf } from './uncertainty/draws.ts';
import { howSure, type Input, type Sample } from './verdict/how-sure.ts';
import {
  bearsOn,
  deciding,
  judgeMeasure,
  overall,
  type Evidence,
  type Judgement,
  type Pair,
} from './verdict/judge.ts';
import { limitsFor, type Limit } from './verdict/limit.ts';
import { composeReport, type FaultParts } from './report/compose.ts';
import { findChanges, type ChangeTools } from './verdict/changes.ts';

export type { Case, CaseTube, Central } from './central.ts';

export interface AssessOptions extends RunOptions {
  readonly seed?: number;
  /** Draws for the 90 % intervals; 0 gives central values only. */
  readonly draws?: number;
  /** Settled transients instead of phase copies, for the central values. */
  readonly transient?: boolean;
  /** Run further seeds where a limit lies near an interval's end and the verdict hangs on it. Default true. */
  readonly moreSeeds?: boolean;
  /**
   * Look beside the verdict for what causes it: tubes that are cured of one fault, leaks on one path. Default true; without
   * it, and without `changes`, which need the causes too, the verdict is the same, and the report names no cause, no paths and
   * nothing that the readings say of the tubes.
   */
  readonly explain?: boolean;
  /** Look whether the circuit is at fault. Default as `explain`. */
  readonly circuitFault?: boolean;
  /** Look for changes that would make it usable. Default true. */
  readonly changes?: boolean;
  /** The same tube in other sockets: where it is not usable here, they are tried too. */
  readonly otherSockets?: readonly Case[];
  onProgress?(what: string, done: number, all: number): void;
  /** The report with central values and no causes yet, where the verdict does not wait for those; the rest waits for what it gives. */
  onPair?(report: Report): unknown;
  /** The report with central values only, before the draws. */
  onCentral?(report: Report): void;
  /** The report with intervals, before the search for changes; not called where none is made. */
  onIntervals?(report: Report): void;
}

export const DEFAULT_SEED = 1;
export const DEFAULT_DRAWS = 64;
const SEEDS_WHEN_WAVERING = 5;
/** Enough to search with; what is told is confirmed with all of them. */
const QUICK_DRAWS = 16;

/**
 * Does this tube work in this socket, with its companions where a stage has several? The whole flow from wear to report.
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
  const { stage } = given.socket;
  const tubes = tubesOf(given);
  const circuit = await circuitOf(given, simulator, plain(options));
  const limits = limitsFor(
    stage.limits.filter(({ needs = [] }) =>
      needs.every((rating) => tubes.every(({ model }) => model.ratings?.[rating] !== undefined)),
    ),
    given.socket.limits,
    stage.measures.map((measure) => measure.id),
    `${given.socket.id}.limits`,
  );
  const compose = (
    central: Central,
    judgements: readonly Judgement[],
    count: number,
    changes: Report['wouldChange'],
    fault: FaultParts | undefined,
    sure?: Report['howSure'],
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
      ...(sure === undefined ? {} : { howSure: sure }),
      ...(fault === undefined ? {} : { fault }),
      engine: simulator.engine,
      transient: options.transient === true,
      explain: options.explain !== false,
    });
  const judged = (central: Central): Judgement[] =>
    judgeAll(stage, limits, evidenceOf(central, [], 0));
  // what blames the circuit or a neighbour on the line is not said without its cause
  const causesDecide = given.line !== undefined || faultsOf(given).length > 0;
  const central = await runCentral(given, circuit, simulator, {
    ...plain(options),
    transient: options.transient === true,
    explain: options.explain !== false || (draws > 0 && options.changes !== false),
    mayDecide: hangsOn(stage),
    onProgress: (what, done, all) => options.onProgress?.(what, done, all),
    onPair: (pair) =>
      causesDecide ? undefined : options.onPair?.(compose(pair, judged(pair), 0, [], undefined)),
  });
  const atCentral = judged(central);
  const search =
    (options.circuitFault ?? options.explain) === false
      ? undefined
      : await searchFaults(given, central, limits, faultTools(limits, simulator, options));
  const first = compose(central, atCentral, 0, [], await search?.central(atCentral));
  options.onCentral?.(first);
  if (draws === 0) return first;

  const { judgements, samples } = await judgeWithDraws(
    given,
    circuit,
    limits,
    central,
    seed,
    draws,
    simulator,
    options,
  );
  const sure = howSure(
    samples,
    limits,
    deciding(judgements),
    overall(judgements.map((judgement) => judgement.status)),
    inputsOf(given, circuit),
    tubesOf(given).map(({ wear }) => wear.blind),
  );
  const fault = await search?.drawn(judgements);
  if (options.changes !== false)
    options.onIntervals?.(compose(central, judgements, draws, [], fault, sure));
  const changes =
    options.changes === false
      ? []
      : await findChanges(
          given,
          circuit,
          judgements,
          limits,
          central,
          changeTools(given, simulator, { ...options, seed, draws }),
        );
  return compose(central, judgements, draws, changes, fault, sure);
}

const hangsOn =
  ({ measures }: Stage) =>
  (reading: ReadingKind): boolean =>
    measures.some((spec) => bearsOn(spec, reading));

/** What the search for faults of the circuit may run, with the options of the verdict itself. */
const faultTools = (
  limits: readonly Limit[],
  simulator: Simulator,
  options: AssessOptions,
): FaultTools => ({
  central: async (other) => {
    const circuit = await circuitOf(other, simulator, plain(options));
    const central = await runCentral(other, circuit, simulator, {
      ...plain(options),
      transient: options.transient === true,
      explain: false,
      mayDecide: hangsOn(other.socket.stage),
    });
    const judgements = judgeAll(other.socket.stage, limits, evidenceOf(central, [], 0));
    return { given: other, circuit, central, judgements };
  },
  drawn: async ({ given, circuit, central }) => {
    const { seed = DEFAULT_SEED, draws = DEFAULT_DRAWS } = options;
    return (await judgeWithDraws(given, circuit, limits, central, seed, draws, simulator, options))
      .judgements;
  },
});

/** Every unknown of the draws with what it belongs to: the tubes' own, and the circuit's parts and line voltage. */
function inputsOf(given: Case, circuit: Circuit): Input[] {
  const tubes = tubesOf(given);
  const labels = labelsOf(given);
  const ofTubes = tubes.flatMap(({ wear }, i) =>
    wear.unknowns.map((unknown): Input => ({
      ...unknown,
      group: unknown.group ?? 'emission',
      ...(tubes.length > 1 ? { tube: labels[i]! } : {}),
    })),
  );
  const names = new Set(ofTubes.map(({ name }) => name));
  const ofParts = Object.values(circuit.knobs).flatMap(({ unknown }): Input[] => {
    if (names.has(unknown)) return [];
    names.add(unknown);
    const title = given.socket.stage.values[unknown]?.title ?? unknown;
    return [{ name: unknown, group: unknown === LINE ? 'line' : 'parts', known: 'prior', title }];
  });
  return [...ofTubes, ...ofParts];
}

/** What the search for changes may run, with the options of the verdict itself. */
function changeTools(
  given: Case,
  simulator: Simulator,
  options: AssessOptions & { readonly draws: number },
): ChangeTools {
  const report = (other: Case, quick: boolean): Promise<Report> =>
    assess(other, simulator, {
      ...plain(options),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
      draws: quick ? Math.min(options.draws, QUICK_DRAWS) : options.draws,
      moreSeeds: !quick && options.moreSeeds !== false,
      changes: false,
      explain: false,
    });
  const withValues = (values: Case['socket']['values']): Case => ({
    ...given,
    socket: { ...given.socket, values },
  });
  return {
    central: async (values) => {
      const other = withValues(values);
      const circuit = await circuitOf(other, simulator, plain(options));
      return centralPair(other, circuit, simulator, plain(options));
    },
    report: (values, quick) => report(withValues(values), quick),
    elsewhere: (options.otherSockets ?? []).map((other) => ({
      id: other.socket.id,
      title: other.socket.title,
      report: (quick) => report(other, quick),
    })),
  };
}

/** Draws for one seed; further seeds only where a limit lies so near an interval's end that they might give another verdict. */
async function judgeWithDraws(
  given: Case,
  circuit: Circuit,
  limits: readonly Limit[],
  central: Central,
  seed: number,
  count: number,
  simulator: Simulator,
  options: AssessOptions,
): Promise<{ judgements: Judgement[]; samples: Sample[] }> {
  const samples: Sample[] = [];
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
    samples.push(...pairs);
    return judgeAll(given.socket.stage, limits, evidenceOf(central, pairs, failedShare));
  };
  const first = await judge(seed);
  // a measure that wavers is marginal where other samples differ: they are asked where that would change the verdict
  const statuses = first.map(({ status }) => status);
  const doubted = first.map(({ wavering, missing, status }) =>
    wavering && missing === undefined ? 'marginal' : status,
  );
  const mayChange = overall(doubted) !== overall(statuses);
  if (options.moreSeeds === false || !mayChange) return { judgements: first, samples };
  const others: Judgement[][] = [];
  for (let i = 1; i < SEEDS_WHEN_WAVERING; i++) others.push(await judge(seed + i));
  const judgements = first.map((judgement, i): Judgement =>
    judgement.missing !== undefined ||
    others.every((judgements) => judgements[i]!.status === judgement.status)
      ? judgement
      : {
          ...judgement,
          status: 'marginal',
          doubt: 'an end of the interval is too near the limit to tell',
        },
  );
  return { judgements, samples };
}

async function runDraws(
  given: Case,
  circuit: Circuit,
  central: Central,
  seed: number,
  count: number,
  simulator: Simulator,
  options: AssessOptions,
): Promise<{ pairs: Sample[]; failedShare: number }> {
  const wears = tubesOf(given).map(({ wear }) => wear);
  const { stage, values } = given.socket;
  const draws = drawsOf(unknownsOf(circuit, wears), count, seed);
  const subjects = [
    ...draws.map((draw) => ({
      ...subjectOf(
        values,
        circuit,
        wears.map((wear) => wear.newTube(draw)),
        draw,
        undefined,
      ),
      central: central.newTube.measures,
    })),
    ...draws.map((draw, i) => ({
      ...subjectOf(
        values,
        circuit,
        wears.map((wear) => wear.condition(draw)),
        draw,
        i,
      ),
      central: central.thisTube.measures,
    })),
  ];
  const outcomes = await measureSubjects(stage, circuit, values, subjects, simulator, {
    ...plain(options),
    runId: `draws.${seed}`,
    onProgress: (done, all) => options.onProgress?.('intervals', done, all),
  });
  const pairs = draws.flatMap((draw, i): Sample[] => {
    const [newTube, own] = [outcomes[i]!, outcomes[count + i]!];
    return own.failed === undefined && newTube.failed === undefined
      ? [{ own: own.measures, newTube: newTube.measures, draw }]
      : [];
  });
  return { pairs, failedShare: 1 - pairs.length / count };
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
    unread: central.unread.map(({ reading, tube, outcome }) => ({
      reading,
      tube,
      pair: pairWith(outcome),
    })),
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
