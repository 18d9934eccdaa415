import { quantile } from '../numerics/quantiles.ts';
import type {
  LimitReport,
  Measures,
  MeasureSpec,
  MeasureValue,
  ReadingKind,
  Status,
} from '../types.ts';
import type { Applied, Limit } from './limit.ts';

/** Measures of this tube and of a new one under the same draw. */
export interface Pair {
  readonly own: Measures;
  readonly newTube: Measures;
}

export interface Evidence {
  readonly central: Pair;
  /** Empty where intervals were not asked for. */
  readonly draws: readonly Pair[];
  /** Share of draws whose simulation failed. */
  readonly failedShare: number;
  /** Central case with an unread reading plausibly bad. */
  readonly unread: readonly {
    readonly reading: ReadingKind;
    /** Index of the tube; the first where absent. */
    readonly tube?: number;
    readonly pair: Pair;
  }[];
  /** Why the central simulation failed, if it did. */
  readonly failed: string | undefined;
}

/** A measure against its most pressing limit: numbers and status, no words yet. */
export interface Judgement {
  readonly spec: MeasureSpec;
  readonly value: number | null;
  /** Set where there is no number. */
  readonly noValue: string | undefined;
  readonly low: number | null;
  readonly high: number | null;
  readonly newTube: number | null;
  readonly limit: LimitReport | null;
  readonly margin: number | null;
  /** 90 % interval of the margin. */
  readonly marginLow: number | null;
  readonly marginHigh: number | null;
  readonly status: Status;
  /** Why a usable measure is only called marginal: draws that failed, or seeds that differ. */
  readonly doubt?: string;
  /** The missing reading that makes it undetermined. */
  readonly missing: ReadingKind | undefined;
  /** Index of the tube that lacks it. */
  readonly missingTube?: number;
  /** The limit lies in the interval already: the reading could put all of it beyond. */
  readonly missingAdds?: true;
  /** The limit lies so near an end of the interval that another seed might say otherwise. */
  readonly wavering: boolean;
}

const LOW = 0.05;
const HIGH = 0.95;
/** Ends of an interval from some sixty stratified draws wobble by about this share of its width from seed to seed. */
const WOBBLE = 0.25;
/** Share of its limit by which a measure is worse, and not merely otherwise. */
const WORSE = 0.02;
/** Where a reading is missing, a limit is passed for sure by this share of it; with that reading plausibly bad by less where the ends wobble less. */
const SURE = 0.05;
/** More failed draws than this and "usable" is not said. */
const FAILED_DRAWS = 0.05;

const numberIn = (value: MeasureValue | undefined): number | null =>
  typeof value === 'number' && Number.isFinite(value) ? value : null;

/** Judges one measure against its limits; the limit with the least margin counts. Pure. */
export function judgeMeasure(
  spec: MeasureSpec,
  limits: readonly Limit[],
  evidence: Evidence,
): Judgement {
  const own = evidence.central.own[spec.id];
  const base = {
    spec,
    value: numberIn(own),
    noValue: typeof own === 'object' ? own.noValue : own === undefined ? 'not computed' : undefined,
    newTube: numberIn(evidence.central.newTube[spec.id]),
    missing: undefined,
    wavering: false,
  };
  if (evidence.failed !== undefined)
    return { ...base, value: null, noValue: evidence.failed, ...nothing, status: 'failed' };
  const applied = limits
    .map((limit) => ({ limit, at: limit.apply(evidence.central.own, evidence.central.newTube) }))
    .filter((entry): entry is { limit: Limit; at: Applied } => entry.at !== undefined)
    .sort((a, b) => a.at.margin - b.at.margin);
  const pressing = applied[0];
  if (pressing === undefined) {
    const [low, high] = plainInterval(spec.id, evidence);
    // a limit that could not be applied (the new tube has no number either) is not passed: nothing is known
    const status: Status = limits.length === 0 ? 'unjudged' : 'undetermined';
    return { ...base, ...nothing, low, high, status };
  }
  const { limit, at } = pressing;
  const drawn = evidence.draws
    .map((pair) => limit.apply(pair.own, pair.newTube))
    .filter((draw) => draw !== undefined);
  const margins = drawn.map((draw) => draw.margin);
  const marginLow = margins.length === 0 ? at.margin : quantile(margins, LOW);
  // what is only known to be "at least" may lie inside: it is no evidence that the limit is missed
  const marginHigh =
    margins.length === 0
      ? at.margin
      : quantile(
          drawn.map((draw) => (draw.open ? 0 : draw.margin)),
          HIGH,
        );
  const scale = Math.max(Math.abs(at.bound), 1e-12);
  const toValue = (margin: number): number =>
    limit.sense === 'atLeast' ? at.bound + margin * scale : at.bound - margin * scale;
  const ends = [toValue(marginLow), toValue(marginHigh)].sort((a, b) => a - b);
  const known: Status = marginLow >= 0 ? 'usable' : marginHigh < 0 ? 'unsuitable' : 'marginal';
  const judged = margins.length === 0 && evidence.draws.length > 0 ? 'undetermined' : known;
  const guard = WOBBLE * (marginHigh - marginLow);
  const near = (end: number): boolean => margins.length > 0 && Math.abs(end) < guard;
  const { missing, surely } = unreadFor(spec, limit, evidence, {
    margin: at.margin,
    marginLow,
    known,
    guard,
  });
  const doubt =
    judged !== 'usable'
      ? undefined
      : evidence.failedShare > FAILED_DRAWS
        ? `${Math.round(100 * evidence.failedShare)} % of the draws could not be simulated`
        : surely
          ? undefined
          : 'an end of the interval is too near the limit while a reading is missing';
  const status: Status = doubt === undefined ? judged : 'marginal';
  return {
    ...base,
    low: margins.length === 0 ? null : ends[0]!,
    high: margins.length === 0 ? null : ends[1]!,
    limit: {
      text: limit.spec.formula,
      sense: limit.sense,
      bound: at.bound,
      reason: limit.spec.reason,
      source: limit.spec.source,
    },
    margin: at.margin,
    marginLow,
    marginHigh,
    ...(doubt === undefined ? {} : { doubt }),
    status: missing !== undefined && status !== 'unsuitable' ? 'undetermined' : status,
    missing: missing?.reading,
    ...(missing?.tube === undefined ? {} : { missingTube: missing.tube }),
    ...(missing !== undefined && known === 'marginal' ? { missingAdds: true as const } : {}),
    wavering: near(marginLow) || near(marginHigh),
  };
}

/**
 * The unread reading that decides a measure, if one does; and whether the measure passes for sure without those that bear
 * on it: it must not be told better than it would be with them.
 */
function unreadFor(
  spec: MeasureSpec,
  limit: Limit,
  { unread }: Evidence,
  found: { margin: number; marginLow: number; known: Status; guard: number },
): { missing: Evidence['unread'][number] | undefined; surely: boolean } {
  const { margin, marginLow, known, guard } = found;
  const hair = Math.min(guard, WORSE);
  // a reading that makes nothing worse decides nothing
  const worse = margin - hair;
  const bad = unread
    .map((one) => ({
      ...one,
      margin: limit.apply(one.pair.own, one.pair.newTube)?.margin ?? -1,
      declared: bearsOn(spec, one.reading),
    }))
    .filter((one) => one.declared || one.margin < worse);
  // with the bad tube "usable" must hold for sure; where the limit lies inside, it must not be worse; and beyond the limit
  // already, the reading could make certain what its range leaves open
  const decisive =
    known === 'usable'
      ? Math.max(0, Math.min(guard, SURE, worse))
      : known === 'marginal'
        ? margin < 0
          ? margin + hair
          : Math.max(0, worse)
        : 0;
  // what else is uncertain stays so when the reading has turned out bad
  const spread = margin - marginLow;
  return {
    missing: bad.find((one) => one.margin < decisive),
    surely:
      bad.length === 0 ||
      (marginLow >= SURE &&
        bad.every(
          ({ declared, reading, margin: theirs }) =>
            !(declared && ofCathode(reading)) || theirs - spread >= guard,
        )),
  };
}

const ofCathode = (reading: ReadingKind): boolean =>
  reading === 'emission' || reading === 'starvedHeater';

/** What emission bears on the drop does too: a cathode that reads little may be small or saturated, and only the drop tells. */
export const bearsOn = ({ readings }: MeasureSpec, reading: ReadingKind): boolean =>
  readings.includes(reading) || (reading === 'starvedHeater' && readings.includes('emission'));

const nothing = {
  low: null,
  high: null,
  limit: null,
  margin: null,
  marginLow: null,
  marginHigh: null,
} as const;

function plainInterval(id: string, evidence: Evidence): [number | null, number | null] {
  const values = evidence.draws
    .map((pair) => numberIn(pair.own[id]))
    .filter((value) => value !== null);
  return values.length === 0 ? [null, null] : [quantile(values, LOW), quantile(values, HIGH)];
}

const RANK: Readonly<Record<Status, number>> = {
  failed: 5,
  unsuitable: 4,
  undetermined: 3,
  marginal: 2,
  usable: 1,
  unjudged: 0,
};

/** Overall: unsuitable outranks undetermined outranks marginal outranks usable. A failed simulation outranks what was not shown to be unsuitable. */
export function overall(statuses: readonly Status[]): Exclude<Status, 'unjudged'> {
  if (statuses.includes('unsuitable')) return 'unsuitable';
  const worst = statuses.reduce<Status>((a, b) => (RANK[b] > RANK[a] ? b : a), 'unjudged');
  return worst === 'unjudged' ? 'undetermined' : worst;
}

/** The judgement that decides: of the worst status, the least margin. */
export function deciding(judgements: readonly Judgement[]): Judgement | undefined {
  const verdict = overall(judgements.map((judgement) => judgement.status));
  return judgements
    .filter((judgement) => judgement.status === verdict)
    .sort((a, b) => (a.marginLow ?? -1) - (b.marginLow ?? -1))[0];
}
