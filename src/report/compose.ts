import {
  gridCircuitOf,
  labelsOf,
  tubesOf,
  type Case,
  type CaseTube,
  type Central,
} from '../central.ts';
import type {
  Circuit,
  Judged,
  Measures,
  MeasureSpec,
  NodeVolts,
  PathVerdict,
  Report,
  Wear,
} from '../types.ts';
import { CAUTIONS } from './cautions.ts';
import { lineReport } from './line.ts';
import { deciding, judgeMeasure, overall, type Judgement } from '../verdict/judge.ts';
import type { Limit } from '../verdict/limit.ts';
import { circuitFault, type FaultFindings } from '../verdict/circuit-fault.ts';
import { pathWords } from '../units/electrode.ts';
import {
  causeIn,
  gridSentence,
  reasonFor,
  type ReasonContext,
  type TubeContext,
} from '../verdict/reason.ts';

/** No calculation judges these; they refuse more first-audio tubes than gain does (common practice, no source). */
const NEVER_JUDGED = 'microphony, hiss, crackle, intermittent contacts and arcing';

const NOTHING_SAID: Pick<Report, 'wear' | 'wearSentences'> = { wear: [], wearSentences: [] };

export interface ReportParts {
  readonly given: Case;
  readonly circuit: Circuit;
  readonly central: Central;
  readonly judgements: readonly Judgement[];
  readonly limits: readonly Limit[];
  readonly seed: number;
  readonly draws: number;
  readonly changes: Report['wouldChange'];
  readonly howSure?: NonNullable<Report['howSure']>;
  /** Where a new tube, or this one, would not be usable here, and would in the circuit as it should be. */
  readonly fault?: FaultParts;
  readonly engine: string;
  readonly transient: boolean;
  /** Also what the readings say of the tubes, which is sampled. */
  readonly explain: boolean;
}

export interface FaultParts extends FaultFindings {
  /** This tube in the circuit as it should be. */
  readonly sound: Case;
  readonly central: Central;
}

/** Puts numbers, words and circuit together into the one report that every view renders. */
export function composeReport(parts: ReportParts): Report {
  const { given, circuit, central, judgements, limits } = parts;
  const { socket, tube, companions = [] } = given;
  const own = central.thisTube.measures;
  const newTube = central.newTube.measures;
  const tubes = tubesOf(given);
  const labels = labelsOf(given);
  const context: ReasonContext = {
    own,
    newTube,
    gridCircuit_ohm: gridCircuitOf(given.socket),
    tubes: tubes.map(({ wear }, i) => ({
      id: labels[i]!,
      marginWithoutLeak: (measure) =>
        leastMargin(limits, measure, central.each[i]!.withoutLeak.measures, newTube),
      marginWithNewCathode: (measure) =>
        leastMargin(limits, measure, central.each[i]!.withNewCathode.measures, newTube),
      ...(wear.blind === undefined ? {} : { blind: wear.blind }),
      ...liftsOf(given, i, central),
      get cathodeSentence() {
        return wear.sentences[0]?.replace(/\.$/, '') ?? 'The cathode gives less than a new one';
      },
    })),
  };
  const said = ({ summary, sentences }: Wear): typeof NOTHING_SAID =>
    parts.explain ? { wear: summary, wearSentences: sentences } : NOTHING_SAID;
  const measures = judgements.map((judgement): Judged => toJudged(judgement, context));
  const verdict = overall(judgements.map((judgement) => judgement.status));
  const decider = deciding(judgements);
  return {
    format: 'stagefit-report',
    version: 1,
    engine: parts.engine,
    seed: parts.seed,
    draws: parts.draws,
    method:
      socket.stage.own !== undefined
        ? 'own netlist'
        : parts.transient
          ? 'settled transient'
          : 'phase copies',
    socket: {
      id: socket.id,
      title: socket.title,
      stage: socket.stage.id,
      stageTitle: socket.stage.title,
    },
    tube: { id: tube.id, type: tube.type, section: tube.section },
    companions: companions.map(({ id, type, section, wear, taken, socket: other }) => ({
      id,
      type,
      section,
      ...(taken === undefined ? {} : { taken }),
      ...(other === undefined ? {} : { socket: other.id }),
      ...(taken === 'new' ? NOTHING_SAID : said(wear)),
    })),
    ...(given.line === undefined ? {} : { line: lineReport(given, given.line.id, central) }),
    verdict,
    decidedBy: {
      measure: decider?.spec.id ?? null,
      sentence: decider === undefined ? 'Nothing was judged.' : reasonFor(decider, context),
    },
    circuitFault: parts.fault === undefined ? null : faultReport(parts.fault, verdict),
    ...(parts.howSure === undefined ? {} : { howSure: parts.howSure }),
    measures,
    ...said(tube.wear),
    paths: pathVerdicts(parts),
    wouldChange: parts.changes,
    notJudged: [...ofEach(given, ({ wear }) => wear.untold), NEVER_JUDGED],
    cautions: CAUTIONS,
    warnings: [
      ...ofEach(given, ({ warnings }) => warnings),
      ...(socket.stage.doubts?.(socket.values) ?? []),
    ],
    circuit: {
      title: circuit.title,
      parts: circuit.parts.filter(({ elsewhere }) => elsewhere !== true),
      ...(circuit.spine === undefined ? {} : { spine: circuit.spine }),
      ...(circuit.named === undefined ? {} : { named: circuit.named }),
      ...(circuit.netlist === undefined ? {} : { netlist: circuit.netlist }),
    },
    nodeVolts: {
      newTube: nodeVolts(socket.stage, circuit, central.newTube),
      thisTube: nodeVolts(socket.stage, circuit, central.thisTube),
    },
  };
}

/** Lines about each tube, with its name before them where there are several. */
function ofEach(given: Case, lines: (tube: CaseTube) => readonly string[]): string[] {
  const labels = labelsOf(given);
  return tubesOf(given).flatMap((tube, i) =>
    lines(tube).map((line) =>
      labels.length > 1 && tube.taken === undefined ? `${labels[i]}: ${line}` : line,
    ),
  );
}

/** Direct volts are told to a millivolt: what is smaller is the engine's tolerance, and no meter's reading. */
function told(value: number | null, { unit, alternating }: MeasureSpec): number | null {
  return value === null || unit !== 'V' || alternating === true
    ? value
    : Math.round(value * 1e3) / 1e3 + 0;
}

function toJudged(judgement: Judgement, context: ReasonContext): Judged {
  const cause = causeIn(judgement, context);
  return {
    id: judgement.spec.id,
    title: judgement.spec.title,
    unit: judgement.spec.unit,
    value: told(judgement.value, judgement.spec),
    low: told(judgement.low, judgement.spec),
    high: told(judgement.high, judgement.spec),
    newTube: told(judgement.newTube, judgement.spec),
    limit: judgement.limit,
    margin: judgement.margin,
    status: judgement.status,
    reason: reasonFor(judgement, context),
    ...(cause === undefined ? {} : { cause }),
  };
}

function leastMargin(
  limits: readonly Limit[],
  measure: string,
  own: Measures,
  newTube: Measures,
): number | undefined {
  const margins = limits
    .filter((limit) => limit.spec.measure === measure)
    .map((limit) => limit.apply(own, newTube)?.margin)
    .filter((margin) => margin !== undefined);
  return margins.length === 0 ? undefined : Math.min(...margins);
}

/** A leak that changes a margin by less than this has no part in a measure. */
const NO_PART = 0.02;

/**
 * What becomes of the tube with all of the leakage on one path: only the measures in which the leak has a part, and which hold
 * without it, are judged, at central values. Empty where it has no part in any on any path.
 */
function pathVerdicts(parts: ReportParts): PathVerdict[] {
  const { central, limits } = parts;
  const newTube = central.newTube.measures;
  const touched = (measures: Measures, tube: number): { id: string; holds: boolean }[] =>
    parts.given.socket.stage.measures.flatMap(({ id }) => {
      const on = leastMargin(limits, id, measures, newTube);
      const without = leastMargin(limits, id, central.each[tube]!.withoutLeak.measures, newTube);
      const part = on !== undefined && without !== undefined && Math.abs(on - without) > NO_PART;
      return part ? [{ id, holds: without >= 0 }] : [];
    });
  const found = central.paths.map((one) => {
    const all = touched(one.outcome.measures, one.tube);
    return {
      part: all.length > 0,
      verdict: pathVerdict(
        parts,
        one,
        all.flatMap(({ id, holds }) => (holds ? [id] : [])),
      ),
    };
  });
  return found.some(({ part }) => part) ? found.map(({ verdict }) => verdict) : [];
}

function pathVerdict(
  parts: ReportParts,
  { path, tube, outcome: { measures: own, failed } }: Central['paths'][number],
  touched: readonly string[],
): PathVerdict {
  const newTube = parts.central.newTube.measures;
  const judgements = parts.given.socket.stage.measures
    .filter((measure) => failed !== undefined || touched.includes(measure.id))
    .map((measure) =>
      judgeMeasure(
        measure,
        parts.limits.filter((limit) => limit.spec.measure === measure.id),
        { central: { own, newTube }, draws: [], failedShare: 0, unread: [], failed },
      ),
    );
  const labels = labelsOf(parts.given);
  const base = {
    ...(labels.length > 1 ? { tube: labels[tube]! } : {}),
    between: path.between,
    title: pathWords(path.between),
    weight: path.weight,
    why: path.why,
  };
  if (judgements.length === 0)
    return {
      ...base,
      status: 'usable',
      sentence: 'The leak breaks nothing that holds without it.',
    };
  const context = withoutCauses(parts.given, own, newTube, parts.central);
  const grid = gridSentence(context, tube);
  const decider = deciding(judgements)!;
  return {
    ...base,
    status: overall(judgements.map((judgement) => judgement.status)),
    sentence: grid === undefined ? reasonFor(decider, context) : `${grid}.`,
  };
}

/** Of each tube on a bias line its own part of what moves the grid: through the supply, and its own grid's resistor too. */
function liftsOf(given: Case, tube: number, central: Central): Pick<TubeContext, 'lifts'> {
  const { stage, values } = given.socket;
  if (given.line?.carries !== 'bias') return {};
  const cured = central.each[tube]!.withoutLeak.measures;
  const elsewhere = tubesOf(given)[tube]!.socket !== undefined;
  const ofPlace = `gridVoltage${tube + 1}`;
  const supply = stage.gridCircuit.filter((key) => stage.biasLine!.values.includes(key));
  return {
    lifts: {
      cured_V: cured[!elsewhere && ofPlace in cured ? ofPlace : 'gridVoltage'],
      through_ohm: elsewhere
        ? supply.reduce((sum, key) => sum + (values[key]!.value as number), 0)
        : gridCircuitOf(given.socket),
    },
  };
}

/** For sentences that look for no cause. */
const withoutCauses = (
  given: Case,
  own: Measures,
  newTube: Measures,
  central?: Central,
): ReasonContext => ({
  own,
  newTube,
  gridCircuit_ohm: gridCircuitOf(given.socket),
  tubes: tubesOf(given).map(({ wear: { blind } }, i) => ({
    id: labelsOf(given)[i]!,
    ...(central === undefined ? {} : liftsOf(given, i, central)),
    ...(blind === undefined ? {} : { blind }),
    marginWithoutLeak: () => undefined,
    marginWithNewCathode: () => undefined,
    cathodeSentence: '',
  })),
});

function faultReport(
  fault: FaultParts,
  verdict: Report['verdict'],
): NonNullable<Report['circuitFault']> {
  const { thisTube, newTube } = fault.central;
  const context = withoutCauses(fault.sound, thisTube.measures, newTube.measures);
  return circuitFault(fault, context, verdict);
}

function nodeVolts(
  { shown, steps }: Case['socket']['stage'],
  circuit: Circuit,
  outcome: Central['newTube'],
): NodeVolts {
  if (outcome.failed !== undefined) return {};
  // a step that this socket has no use for has no settings
  const { step, setting } = [shown, ...steps.map(({ id }) => ({ step: id, setting: 0 }))].find(
    (at) => at !== undefined && outcome.traces.settings(at.step).length > at.setting,
  )!;
  return Object.fromEntries(
    circuit.watch.map((node) => {
      const samples = outcome.traces.volts(step, setting, node);
      return [node, samples.reduce((sum, x) => sum + x, 0) / samples.length];
    }),
  );
}
