import { assess, type AssessOptions } from '../assess.ts';
import type { FindDevice } from '../cases.ts';
import { lastPassing } from '../numerics/last-passing.ts';
import type { Scenario, Socket } from '../scenario/scenario.ts';
import { formatQuantity } from '../units/format.ts';
import type { Electrode, Report, Simulator } from '../types.ts';
import type { Readings } from '../wear/readings.ts';
import { benchSet, type BenchSet } from './bench-set.ts';
import { scoreOf } from '../verdict/margins.ts';
import type { Ladder, Tick } from './reading-ladder.ts';
import { lower } from '../units/title.ts';

/**
 * The acceptance card: which readings a socket still takes, before any tube is measured. Every figure on it is the last step
 * of the instrument's own scale that `assess` calls usable, with the next step one that it does not: found by trying.
 */
export interface AcceptanceCard {
  readonly format: 'stagefit-acceptance';
  readonly version: 1;
  readonly engine: string;
  readonly seed: number;
  readonly draws: number;
  readonly socket: {
    readonly id: string;
    readonly title: string;
    readonly stage: string;
    readonly stageTitle: string;
  };
  readonly tube: { readonly type: string; readonly section: string };
  /** Name of the instrument whose scales these are. */
  readonly bench: string;
  /** What a tube is taken to read where the card says nothing else. */
  readonly newTube: readonly { readonly title: string; readonly text: string }[];
  /** Whether a tube that reads as a new one is usable at all; the sentence says why not. */
  readonly verdict: Report['verdict'];
  readonly sentence: string;
  readonly limits: readonly CardLimit[];
  readonly trades: readonly CardTrade[];
  /** How to read the card, and what it rests on. */
  readonly notes: readonly string[];
  readonly notJudged: readonly string[];
  readonly cautions: readonly string[];
}

/** One reading, the others as a new tube's. */
export interface CardLimit {
  readonly reading: Ladder['reading'];
  readonly path: readonly [Electrode, Electrode] | null;
  readonly title: string;
  readonly sense: 'atLeast' | 'atMost';
  /** The last usable reading, in the unit of its scale. */
  readonly value: number;
  /** "MΩ", "µA", "%", "mA" or "divisions"; of an instrument with zones "%", the zone's middle. */
  readonly unit: string;
  /** "at least 71 %". */
  readonly text: string;
  /** The same at the test voltage in µA, for a leakage; else null. */
  readonly microamps: number | null;
  /** The next step of the scale, which is not usable. Null: even the end of the scale is. */
  readonly beyond: { readonly value: number; readonly text: string } | null;
  /** Measure that gives way there. */
  readonly measure: string | null;
  readonly sentence: string;
}

/** How one reading trades against others: for some readings of the first, the limits of the others. */
export interface CardTrade {
  readonly title: string;
  readonly columns: readonly string[];
  readonly rows: readonly (readonly string[])[];
  /** The same as numbers, in the units of the scales; null where nothing is usable. */
  readonly values: readonly (readonly (number | null)[])[];
}

export interface AcceptOptions extends Omit<
  AssessOptions,
  'onCentral' | 'onIntervals' | 'explain' | 'changes' | 'transient' | 'onProgress'
> {
  /** Designation; without it the first that the socket takes. */
  readonly type?: string;
  readonly find?: FindDevice;
  /** Only these readings, without trades; all by default. */
  readonly only?: readonly Ladder['reading'][];
  /** Rows between the ends of a trade; 0 leaves the trades out. Default 2. */
  readonly tradeRows?: number;
  onProgress?(what: string, done: number, all: number): void;
}

type Search = (ladder: Ladder, from: Readings, first: Report, start?: number) => Promise<Limits>;

interface Limits {
  readonly ladder: Ladder;
  readonly last: number;
  /** The report at the next step, where there is one. */
  readonly beyond: Report | undefined;
}

/**
 * The card of one socket.
 *
 * A simulator that remembers (`rememberingSimulator`) halves the time: a new tube under the draws is the same for every reading.
 *
 * @throws Problem for a type that does not fit or a profile that cannot be read; `Stopped` when stopped
 */
export async function acceptanceCard(
  scenario: Scenario,
  socket: Socket,
  simulator: Simulator,
  options: AcceptOptions = {},
): Promise<AcceptanceCard> {
  const set = benchSet(scenario, socket, options.find, options.type);
  const { only, tradeRows: rows = 2 } = options;
  const judge = (readings: Readings, quick: boolean): Promise<Report> =>
    assess(set.caseOf(readings), simulator, {
      ...options,
      onProgress: () => undefined,
      changes: false,
      explain: false,
      ...(quick ? { moreSeeds: false } : {}),
    });
  const base = await judge(set.newTube, false);
  const ladders = laddersOf(set).filter(({ reading }) => only?.includes(reading) ?? true);
  const trades = base.verdict === 'usable' && only === undefined ? rows : 0;
  const all = base.verdict === 'usable' ? ladders.length + 2 * trades : 0;
  let done = 0;
  const search: Search = async (ladder, from, first, start) => {
    const found = await lastUsable(ladder, from, first, judge, start);
    options.onProgress?.(ladder.title, ++done, all);
    return found;
  };
  const found =
    base.verdict === 'usable'
      ? await pooled(ladders, (ladder) => search(ladder, set.newTube, base))
      : [];
  const { volts } = scenario.bench.leakage;
  const traded = trades === 0 ? [] : await tradesOf(set, found, trades, search, judge);
  return {
    format: 'stagefit-acceptance',
    version: 1,
    engine: base.engine,
    seed: base.seed,
    draws: base.draws,
    socket: base.socket,
    tube: { type: set.type, section: set.section },
    bench: scenario.bench.name,
    newTube: [set.emission, set.drop, set.leakage, set.heaterCathode, set.gridCurrent].flatMap(
      (ladder) =>
        ladder === undefined ? [] : [{ title: ladder.title, text: ladder.ticks[0]?.text ?? '' }],
    ),
    verdict: base.verdict,
    sentence:
      base.verdict === 'usable'
        ? `A ${set.type} that reads as a new one is usable here.`
        : `Even a ${set.type} that reads as a new one is not called usable here (${base.verdict}): ${base.decidedBy.sentence}`,
    limits: found.map((one) => limitOf(one, volts)),
    trades: traded,
    notes: notesOf(scenario, set, traded.length > 0),
    notJudged: base.notJudged,
    cautions: base.cautions,
  };
}

function laddersOf(set: BenchSet): Ladder[] {
  return [
    set.emission,
    set.drop,
    set.leakage,
    ...set.onPath,
    set.heaterCathode,
    set.gridCurrent,
  ].filter((ladder) => ladder !== undefined);
}

/**
 * The last step of a ladder that is usable; the first is known to be. Sought with one seed; then with all of them, inwards from
 * what was found: further seeds can only take "usable" back.
 */
async function lastUsable(
  ladder: Ladder,
  from: Readings,
  first: Report,
  judge: (readings: Readings, quick: boolean) => Promise<Report>,
  start: number | undefined,
): Promise<Limits> {
  const failed = new Map<number, Report>();
  const tried = async (index: number, quick: boolean): Promise<number> => {
    const report = await judge((ladder.ticks[index] as Tick).put(from), quick);
    if (report.verdict !== 'usable') failed.set(index, report);
    return scoreOf(report);
  };
  let last = await lastPassing(
    ladder.ticks.length,
    scoreOf(first),
    (index) => tried(index, true),
    start,
  );
  while (last > 0 && (await tried(last, false)) < 0) last--;
  return { ladder, last, beyond: failed.get(last + 1) };
}

const FALLING: readonly Ladder['reading'][] = ['emission', 'leakage', 'heaterCathode'];
const ABOVE = /^above /;

function limitOf({ ladder, last, beyond }: Limits, volts: number): CardLimit {
  const tick = ladder.ticks[last] as Tick;
  const next = ladder.ticks[last + 1];
  const sense = FALLING.includes(ladder.reading) ? 'atLeast' : 'atMost';
  const text = ABOVE.test(tick.text)
    ? tick.text
    : `${sense === 'atLeast' ? 'at least' : 'at most'} ${tick.text}`;
  const isLeak = ladder.reading === 'leakage' || ladder.reading === 'heaterCathode';
  const microamps = isLeak ? volts / tick.value : null;
  const same =
    microamps === null
      ? ''
      : ` (${formatQuantity(microamps * 1e-6, 'A', { digits: 2 })} at ${formatQuantity(volts, 'V')})`;
  const decider = beyond?.measures.find(({ id }) => id === beyond.decidedBy.measure);
  return {
    reading: ladder.reading,
    path: ladder.path ?? null,
    title: ladder.title,
    sense,
    value: tick.value,
    unit: ladder.unit,
    text,
    microamps,
    beyond: next === undefined ? null : { value: next.value, text: next.text },
    measure: decider?.id ?? null,
    sentence:
      next === undefined
        ? `${ladder.title}: ${sense === 'atLeast' ? 'down' : 'up'} to the end of the scale, ${tick.text}${same}, it makes no difference here.`
        : `${ladder.title} ${text}${same}: at ${next.text} ${decider === undefined ? 'it is no longer usable' : `“${lower(decider.title)}” ${beyond?.verdict === 'failed' ? 'cannot be computed' : `is ${beyond?.verdict ?? ''}`}`}.`,
  };
}

/** Rows from a new tube's emission down to the lowest usable one: how much drop and how little leakage each still allows. */
async function tradesOf(
  set: BenchSet,
  found: readonly Limits[],
  count: number,
  search: Search,
  judge: (readings: Readings, quick: boolean) => Promise<Report>,
): Promise<CardTrade[]> {
  const emission = found.find(({ ladder }) => ladder === set.emission);
  const others = [set.drop, set.leakage].filter((ladder) => ladder !== undefined);
  if (emission === undefined || emission.last === 0 || others.length === 0) return [];
  const indices = [
    ...new Set(
      Array.from({ length: count + 2 }, (_, i) => Math.round((emission.last * i) / (count + 1))),
    ),
  ];
  const cells = await pooled(indices, async (index): Promise<(Tick | undefined)[]> => {
    const readings = (set.emission.ticks[index] as Tick).put(set.newTube);
    const first = index === 0 ? undefined : await judge(readings, false);
    const row: (Tick | undefined)[] = [];
    for (const ladder of others) {
      const alone = found.find((one) => one.ladder === ladder);
      const limits =
        index === 0
          ? alone
          : first?.verdict === 'usable'
            ? await search(ladder, readings, first, alone?.last)
            : undefined;
      row.push(limits === undefined ? undefined : ladder.ticks[limits.last]);
    }
    return row;
  });
  const tick = (i: number): Tick => set.emission.ticks[indices[i] as number] as Tick;
  return [
    {
      title: 'With less emission, the drop and the leakage that are still usable',
      columns: [
        lower(set.emission.title),
        ...others.map(({ reading }) =>
          reading === 'leakage' ? 'leakage, with a new tube’s drop' : 'drop, with no leakage',
        ),
      ],
      rows: cells.map((row, i) => [
        tick(i).text,
        ...row.map((cell, k) =>
          cell === undefined
            ? 'none'
            : ABOVE.test(cell.text)
              ? cell.text
              : cell === others[k]?.ticks.at(-1)
                ? 'any'
                : `${others[k]?.reading === 'leakage' ? 'at least' : 'at most'} ${cell.text}`,
        ),
      ]),
      values: cells.map((row, i) => [tick(i).value, ...row.map((cell) => cell?.value ?? null)]),
    },
  ];
}

function notesOf(scenario: Scenario, set: BenchSet, withTable: boolean): string[] {
  const { leakage, starvedHeater } = scenario.bench;
  return [
    `Each limit holds while the other readings are as a new tube’s; where two are worse than that, ${withTable ? 'the table says what goes together, and ' : ''}an assessment of the tube itself decides.`,
    set.leakage === undefined
      ? 'This instrument makes the grid positive in its leakage test, which says nothing of leakage: without another test the socket’s verdict stays undetermined.'
      : `Leakage is read at ${formatQuantity(leakage.volts, 'V')}, ten minutes after switch-on.`,
    ...(starvedHeater === undefined
      ? [
          'This instrument has no test with a starved heater: a cathode near its end can pass for a sound one.',
        ]
      : []),
    ...(set.gridCurrent === undefined
      ? []
      : [
          'Grid current is read with the tube under load (plate volts and bias of the published operating point), after 20 minutes; a bench with cold plates cannot read it.',
        ]),
  ];
}

/** How many searches go side by side: one assessment alone leaves workers idle between its steps. */
const AT_ONCE = 2;

/** Results in the order of the items, whatever ends first. */
async function pooled<T, R>(items: readonly T[], work: (item: T) => Promise<R>): Promise<R[]> {
  const results: R[] = [];
  const left = items.entries();
  const worker = async (): Promise<void> => {
    for (const [i, item] of left) results[i] = await work(item);
  };
  await Promise.all(Array.from({ length: AT_ONCE }, worker));
  return results;
}
