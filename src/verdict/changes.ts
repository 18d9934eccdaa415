import type { Case, Central } from '../assess.ts';
import { formatQuantity } from '../units/format.ts';
import type { Change, Circuit, Judged, Measures, Report, StageValues } from '../types.ts';
import { candidatesOf, distanceOf, type Candidate } from './change-ladder.ts';
import { overall, type Judgement, type Pair } from './judge.ts';
import type { Limit } from './limit.ts';
import { safeMargin } from './margins.ts';
import { listed, lower } from '../units/title.ts';

/** What the search may run; each of them simulates. */
export interface ChangeTools {
  /** Central measures of this tube and a new one with other values; undefined where a simulation failed. */
  central(values: StageValues): Promise<Pair | undefined>;
  /** The report with other values: `quick` with few draws and one seed, else as the verdict itself is made. */
  report(values: StageValues, quick: boolean): Promise<Report>;
  /** The same tube in other sockets. */
  readonly elsewhere: readonly {
    readonly id: string;
    readonly title: string;
    report(quick: boolean): Promise<Report>;
  }[];
}

/** Bounds of the cost, in reports with few draws and reports as the verdict's. */
const MOST_QUICK = 12;
const MOST_FULL = 3;
/** Sentences of one kind: ways to a usable tube, and ways to bring back one measure. */
const MOST_CURES = 2;
/** Where full draws refuse what few draws allowed, so many steps further are tried. */
const STEPS_ON = 2;
/** A loss below this is not called a price: of the margin, and of the value itself. */
const NO_PRICE = 0.03;

/**
 * What would change the verdict: for the measures that fail, the smallest single change of a value that brings them back; first
 * changes that make the tube usable. Sought with central values (a value must pass by as much as the interval is wide today, where any does),
 * then simulated with few draws, told only where all of them agree. A change counts only where the measure passes beside the
 * new tube of the circuit as it is, too (a stage made worse for every tube is no cure), and never where a rating or another measure breaks.
 */
export async function findChanges(
  given: Case,
  circuit: Circuit,
  judgements: readonly Judgement[],
  limits: readonly Limit[],
  central: Central,
  tools: ChangeTools,
): Promise<Change[]> {
  const verdict = overall(judgements.map((judgement) => judgement.status));
  const failing = judgements.filter(
    ({ status, limit }) => limit !== null && (status === 'unsuitable' || status === 'marginal'),
  );
  if (verdict === 'usable' || verdict === 'failed' || failing.length === 0) return [];
  const search = searchOf(given, circuit, judgements, limits, central, tools);
  const leak = failing.some(({ spec }) => leakHasPart(spec.id, central));
  const { gridCircuit } = given.socket.stage;
  const all = failing.map(({ spec }) => spec.id);
  const candidates = candidatesOf(given.socket.stage, given.socket.values, circuit, all).filter(
    ({ key }) => leak || !gridCircuit.includes(key),
  );
  const found = await Promise.all(
    candidates.map(async (candidate) => ({
      candidate,
      index: await Promise.all(failing.map(({ spec }) => search.first(candidate, spec.id))),
    })),
  );
  const changes: Change[] = [];
  // ways to a usable tube, the smallest change first
  const reached = await Promise.all(
    found.map(async ({ candidate, index }) => ({
      candidate,
      // an interval that is wide for what is wrong today is narrow for a cure: then the simulation says
      index: await Promise.all(
        failing.map(async ({ spec }, k) => index[k] ?? search.first(candidate, spec.id, true)),
      ),
    })),
  );
  const cures = reached
    .flatMap(({ candidate, index }) =>
      index.some((i) => i === undefined)
        ? []
        : [{ candidate, from: Math.max(...(index as number[])) }],
    )
    .sort((a, b) => reach(a) - reach(b));
  for (const { candidate, from } of cures) {
    if (changes.length >= MOST_CURES) break;
    const change = await search.confirmed(candidate, from, all, true);
    if (change !== undefined) changes.push(change);
  }
  for (const other of tools.elsewhere) {
    if (changes.length > MOST_CURES || !search.quickLeft()) break;
    if ((await search.counted(() => other.report(true), true))?.verdict !== 'usable') continue;
    if ((await search.counted(() => other.report(false), false))?.verdict !== 'usable') continue;
    changes.push({
      sentence: `In ${other.id} (${other.title}) it is usable as it is.`,
      key: null,
      from: null,
      to: null,
      verdict: 'usable',
    });
  }
  if (changes.length > 0) return changes;
  // no single change does everything: what brings back one measure
  for (const [k, { spec }] of failing.entries()) {
    if (changes.some(({ brings }) => brings?.includes(spec.id))) continue;
    const ways = found
      .flatMap(({ candidate, index }) =>
        index[k] === undefined ? [] : [{ candidate, from: index[k] }],
      )
      .sort((a, b) => reach(a) - reach(b));
    for (const { candidate, from } of ways.slice(0, 2)) {
      const change =
        (await search.confirmed(candidate, from, [spec.id], false)) ??
        (await search.halfway(candidate, from, spec.id));
      if (change === undefined) continue;
      // one change may bring back several
      if (!changes.some(({ key, to }) => key === change.key && to === change.to))
        changes.push(change);
      break;
    }
  }
  return changes;
}

const reach = ({ candidate, from }: { candidate: Candidate; from: number }): number =>
  distanceOf(candidate, candidate.tries[from]!);

function searchOf(
  given: Case,
  circuit: Circuit,
  judgements: readonly Judgement[],
  limits: readonly Limit[],
  central: Central,
  tools: ChangeTools,
) {
  const left = { quick: MOST_QUICK, full: MOST_FULL };
  const known = new Map<string, Promise<Pair | undefined>>();
  const withValue = ({ key }: Candidate, value: number | string): StageValues => ({
    ...given.socket.values,
    [key]: { ...given.socket.values[key]!, value },
  });
  const pairAt = (candidate: Candidate, index: number): Promise<Pair | undefined> => {
    const value = candidate.tries[index]!;
    const name = `${candidate.key} ${value}`;
    const before = known.get(name) ?? tools.central(withValue(candidate, value));
    known.set(name, before);
    return before;
  };
  /** Least margin, beside the new tube of the changed circuit and of the circuit as it is. */
  const marginOf = (measure: string, pair: Pair): number =>
    Math.min(
      ...limits
        .filter(({ spec }) => spec.measure === measure)
        .flatMap((limit) => [
          limit.apply(pair.own, pair.newTube)?.margin ?? -1,
          limit.apply(pair.own, central.newTube.measures)?.margin ?? -1,
        ]),
    );
  /** What a central margin leaves at the interval's unsafe end, if that stays as far off, as a ratio of values, as it is today. */
  const unsafe = (measure: string, margin: number): number => {
    const today = judgements.find(({ spec }) => spec.id === measure);
    if (today?.limit === null || today?.margin == null || today.marginLow === null) return margin;
    // values over the bound: 1 + margin for "at least", 1 - margin for "at most"
    const sign = today.limit.sense === 'atLeast' ? 1 : -1;
    const [middle, worst] = [1 + sign * today.margin, 1 + sign * today.marginLow];
    // decibels are a ratio already
    const comparable = today.spec.unit !== 'dB' && middle > 0 && worst > 0 && 1 + sign * margin > 0;
    return comparable
      ? sign * (((1 + sign * margin) * worst) / middle - 1)
      : margin - (today.margin - today.marginLow);
  };
  const rated = new Set(
    limits.filter(({ spec }) => (spec.needs ?? []).length > 0).map(({ spec }) => spec.measure),
  );
  const present: Pair = { own: central.thisTube.measures, newTube: central.newTube.measures };
  /** Whether what passes still does, and what fails, and is not sought, fails by no more. */
  const safe = (pair: Pair, wanted: readonly string[]): boolean =>
    judgements.every(({ spec, status, limit }) => {
      if (limit === null || wanted.includes(spec.id)) return true;
      const margin = marginOf(spec.id, pair);
      if (status === 'unsuitable' || status === 'marginal')
        return margin >= marginOf(spec.id, present) - NO_PRICE;
      return (rated.has(spec.id) ? unsafe(spec.id, margin) : margin) >= 0;
    });
  const passes = async (
    candidate: Candidate,
    index: number,
    measure: string,
    centrally: boolean,
  ): Promise<boolean> => {
    const pair = await pairAt(candidate, index);
    if (centrally) return pair !== undefined && marginOf(measure, pair) >= 0;
    return pair !== undefined && unsafe(measure, marginOf(measure, pair)) >= 0;
  };
  const allowed = async (
    candidate: Candidate,
    index: number,
    wanted: readonly string[],
  ): Promise<boolean> => {
    const pair = await pairAt(candidate, index);
    return pair !== undefined && safe(pair, wanted);
  };

  /** The smallest step at which a measure passes; by bisection, which takes it that more helps more. */
  const first = async (
    candidate: Candidate,
    measure: string,
    centrally = false,
  ): Promise<number | undefined> => {
    let high = candidate.tries.length - 1;
    for (const end of [high, Math.floor(high / 2)]) {
      high = end;
      if (await passes(candidate, end, measure, centrally)) break;
      if (end === 0 || end !== candidate.tries.length - 1) return undefined;
    }
    let low = 0;
    while (low < high) {
      const middle = Math.floor((low + high) / 2);
      if (await passes(candidate, middle, measure, centrally)) high = middle;
      else low = middle + 1;
    }
    return high;
  };

  const counted = async (
    run: () => Promise<Report>,
    quick: boolean,
  ): Promise<Report | undefined> => {
    const kind = quick ? 'quick' : 'full';
    if (left[kind] === 0) return undefined;
    left[kind]--;
    return run();
  };

  /** Simulates a step and, where it does not do, the next ones; told only where the verdict's own draws agree. */
  const confirmed = async (
    candidate: Candidate,
    from: number,
    wanted: readonly string[],
    cure: boolean,
  ): Promise<Change | undefined> => {
    const does = (report: Report | undefined): boolean =>
      report !== undefined &&
      (cure
        ? report.verdict === 'usable'
        : wanted.every((id) => statusIn(report, id) === 'usable') &&
          judgements.every(
            ({ spec, status }) => status !== 'usable' || statusIn(report, spec.id) === 'usable',
          ));
    const last = Math.min(from + STEPS_ON, candidate.tries.length - 1);
    for (let index = from; index <= last; index++) {
      if (!(await allowed(candidate, index, wanted))) continue;
      const to = candidate.tries[index]!;
      const values = withValue(candidate, to);
      if (!does(await counted(() => tools.report(values, true), true))) continue;
      const report = await counted(() => tools.report(values, false), false);
      if (report === undefined || !does(report)) continue;
      const price = candidate.chosen?.price(values, circuit, given.socket.values);
      return changeOf(candidate, to, report, wanted, judgements, price, cure);
    }
    return undefined;
  };
  /**
   * Where the step that the interval of today asks for breaks something else: half way back to the one that central values ask
   * for, since an interval that is wide for what is wrong today may be narrow there.
   */
  const halfway = async (
    candidate: Candidate,
    from: number,
    measure: string,
  ): Promise<Change | undefined> => {
    const least = await first(candidate, measure, true);
    return least === undefined || least >= from - 1
      ? undefined
      : confirmed(candidate, Math.round((least + from) / 2), [measure], false);
  };
  return { first, confirmed, halfway, counted, quickLeft: () => left.quick > 0 };
}

const FAILING: ReadonlySet<Judged['status']> = new Set(['unsuitable', 'marginal']);

const statusIn = (report: Report, measure: string): Judged['status'] | undefined =>
  report.measures.find(({ id }) => id === measure)?.status;

function changeOf(
  candidate: Candidate,
  to: number | string,
  report: Report,
  wanted: readonly string[],
  judgements: readonly Judgement[],
  price: string | undefined,
  cure: boolean,
): Change {
  const costs = costsOf(report, wanted, judgements);
  // what was not sought may come back with it
  const brings = judgements
    .filter(
      ({ spec, status }) =>
        wanted.includes(spec.id) || (FAILING.has(status) && statusIn(report, spec.id) === 'usable'),
    )
    .map(({ spec }) => spec.id);
  // usable beside a new tube in the changed circuit is no cure where that is a worse stage for every tube
  const verdict =
    cure || report.verdict !== 'usable'
      ? report.verdict
      : overall(judgements.map(({ status }) => status));
  const does =
    verdict === 'usable'
      ? 'it is usable'
      : `${listed(
          brings.map((id) => lower(titleIn(report, id))),
          'and',
        )} ${brings.length > 1 ? 'come' : 'comes'} back within the limit, and the tube is still ${verdict}`;
  return {
    sentence: [
      `With ${changeWords(candidate, to)} ${does}.`,
      ...(price === undefined ? [] : [price]),
      ...(costs === undefined ? [] : [costSentence(report, costs)]),
    ].join(' '),
    key: candidate.key,
    from: candidate.present,
    to,
    verdict,
    brings,
    ...(costs === undefined ? {} : { costs }),
  };
}

function changeWords({ title, unit, present, zero }: Candidate, to: number | string): string {
  const said = (value: number | string): string =>
    typeof value === 'string'
      ? value
      : value === 0 && zero !== undefined
        ? zero
        : formatQuantity(value, unit, { digits: 2 });
  return typeof to === 'string'
    ? `the ${title} ${to} (${said(present)} now)`
    : `${said(to)} for the ${title} (${said(present)} now)`;
}

/** The judged measure that loses most: of its margin, or of its own value where limits move with the new tube. */
function costsOf(
  report: Report,
  wanted: readonly string[],
  judgements: readonly Judgement[],
): Change['costs'] {
  return judgements
    .flatMap((before) => {
      const after = report.measures.find(({ id }) => id === before.spec.id);
      const marginTo = after === undefined ? undefined : safeMargin(after);
      if (wanted.includes(before.spec.id) || before.marginLow === null) return [];
      if (after === undefined || marginTo === undefined) return [];
      const worse =
        before.value === null || after.value === null
          ? 0
          : ((before.limit?.sense === 'atMost' ? 1 : -1) * (after.value - before.value)) /
            Math.max(Math.abs(before.value), Math.abs(before.limit?.bound ?? 0), 1e-12);
      return [
        {
          loss: Math.max(worse, Math.min(1, before.marginLow) - Math.min(1, marginTo)),
          costs: {
            measure: before.spec.id,
            valueFrom: before.value,
            valueTo: after.value,
            marginFrom: before.marginLow,
            marginTo,
          },
        },
      ];
    })
    .filter(({ loss }) => loss > NO_PRICE)
    .sort((a, b) => b.loss - a.loss)[0]?.costs;
}

function costSentence(report: Report, costs: NonNullable<Change['costs']>): string {
  const measure = report.measures.find(({ id }) => id === costs.measure);
  const say = (value: number | null): string =>
    value === null ? 'no number' : formatQuantity(value, measure?.unit ?? '', { digits: 3 });
  const share = (margin: number): string => formatQuantity(100 * margin, '%', { digits: 2 });
  const title = lower(titleIn(report, costs.measure));
  const values = `${title} ${say(costs.valueTo)} instead of ${say(costs.valueFrom)}`;
  const margins = `${share(costs.marginTo)} instead of ${share(costs.marginFrom)}`;
  if (costs.marginTo >= costs.marginFrom) return `The price: ${values}.`;
  const rise = (costs.valueTo ?? NaN) - (costs.valueFrom ?? NaN);
  // where the value itself gains, only its interval, or a limit that moved too, is what is lost
  return (measure?.limit?.sense === 'atMost' ? -rise : rise) >= 0
    ? `The price: less margin of ${title} at the unsafe end of its interval, ${margins}.`
    : `The price: ${values}, its margin ${margins}.`;
}

const titleIn = (report: Report, measure: string): string =>
  report.measures.find(({ id }) => id === measure)?.title ?? measure;

/** Without the leak the measure would be more than a hundredth elsewhere. */
function leakHasPart(measure: string, central: Central): boolean {
  const of = ({ measures }: { measures: Measures }): unknown => measures[measure];
  const [a, b] = [of(central.thisTube), of(central.withoutLeak)];
  if (typeof a !== 'number' || typeof b !== 'number') return typeof a !== typeof b;
  return Math.abs(a - b) > 0.01 * Math.max(Math.abs(a), Math.abs(b), 1e-9);
}
