import { normalCdf, Z90 } from '../numerics/normal.ts';
import type { Draw, Electrode, Known, Leak, Unknown, WeightedPath } from '../types.ts';
import { leakVolts, samePair } from './check.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import { gridPaths, pathAt, words } from './paths.ts';
import {
  ABOVE_SCALE,
  CABINET,
  COLD,
  HEATER_CATHODE,
  NOT_OHMIC,
  OUTPUT_HEAT,
  UNREAD_LEAK,
} from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { LeakValue, Readings } from './readings.ts';
import { steadyState, type TimedLeak } from './warm-up.ts';

type Pair = readonly [Electrode, Electrode];

/** One leakage: its conductance hot on the bench as a two-sided log-normal, and what carries it to the circuit. */
export interface LeakFact {
  /** Prefix of its unknowns. */
  readonly name: string;
  /** Undefined: from the control grid, path unknown. */
  readonly path?: Pair;
  readonly median_S: number;
  readonly sdLow: number;
  readonly sdHigh: number;
  /** Cannot be more than this: the instrument read beyond its scale. */
  readonly atMost_S?: number;
  readonly said: 'value' | 'lowerBound' | 'aboveScale' | 'unread';
  /** Bench to circuit: warmer, and at other volts. Priors of the hot circuit need neither. */
  readonly heat?: { readonly factor: number; readonly sd: number };
  readonly notOhmic_sd: number;
  /** The last reading came too early for its end to be sure. */
  readonly early: boolean;
}

export interface LeakReading {
  readonly unknowns: readonly Unknown[];
  /** Total conductance hot in the circuit of one fact, S. */
  siemens(fact: LeakFact, draw: Draw): number;
  /** Every leak under a draw; `scale` shrinks the unplaced grid leak (the part that is gas). */
  at(draw: Draw, scale?: number, placed?: Pair): Leak[];
  /** The same on the bench at the volts of a circuit: hot, but not as warm as in the set. */
  onBench(draw: Draw, scale?: number): Leak[];
  readonly facts: readonly LeakFact[];
  /** The grid leak whose path is unknown. */
  readonly unplaced: LeakFact | undefined;
  readonly heaterCathode: LeakFact | undefined;
  readonly paths: readonly WeightedPath[];
  readonly known: Known;
  readonly heaterCathodeKnown: Known;
}

/** Leakage readings, shorts and heater–cathode insulation -> ohmic paths. Warm-up fits are made once, here. */
export function readLeaks(
  readings: Readings,
  profile: InstrumentProfile,
  tube: TubeFacts,
): LeakReading {
  const facts: LeakFact[] = [];
  const grid = controlGrid(tube);
  const useful = profile.leakage.grid === 'negative';
  const grouped = groupByPath(readings.leakage ?? []);
  for (const { path, values } of grouped) {
    // With the grid positive the test draws the grid's normal electron current.
    if (!useful && (path === undefined || path.includes(grid))) continue;
    facts.push(gridFact(values, path, profile, tube));
  }
  const gridRead = facts.some(({ path }) => path === undefined || path.includes(grid));
  if (!gridRead && tube.family !== 'diode') facts.push(unreadFact());
  readings.shorts?.forEach((short, i) => {
    const hot = short.hot !== false;
    facts.push({
      name: `pairLeak${String(i + 1)}`,
      path: short.between,
      median_S: 1 / Math.max(short.ohms, 1),
      sdLow: 0.1,
      sdHigh: 0.1,
      said: 'value',
      heat: hot ? CABINET : COLD,
      notOhmic_sd: NOT_OHMIC.sd,
      early: false,
    });
  });
  const hasHeater = tube.electrodes.includes('heater') && tube.electrodes.includes('cathode');
  const heaterRead =
    readings.heaterCathode !== undefined && readings.heaterCathode.length > 0
      ? heaterFact(readings.heaterCathode, profile, tube)
      : undefined;
  const pairOf = (fact: LeakFact): boolean =>
    fact.path !== undefined && samePair(fact.path, ['heater', 'cathode']);
  const heaterCathode =
    heaterRead ?? facts.find(pairOf) ?? (hasHeater ? unreadHeater(tube) : undefined);
  if (heaterCathode !== undefined && !facts.includes(heaterCathode)) facts.push(heaterCathode);

  const unplaced = facts.find(({ path }) => path === undefined);
  const paths: WeightedPath[] =
    unplaced === undefined
      ? facts
          .filter(({ path }) => path?.includes(grid) === true)
          .map(({ path }) => ({ between: path ?? [grid, grid], weight: 1, why: 'stated' }))
      : gridPaths(tube, profile.leakage.tied);

  const siemens = (fact: LeakFact, draw: Draw): number =>
    atTest_S(fact, draw) * heatOf(fact, draw) * voltsOf(fact, draw);

  const placeAll = (draw: Draw, of: (fact: LeakFact) => number, placed: Pair | undefined): Leak[] =>
    facts.flatMap((fact) => {
      const between =
        fact.path ?? placed ?? pathAt(paths, normalCdf(draw['leakPath'] ?? 0))?.between;
      const carried = of(fact);
      return between !== undefined && carried > 0 ? [{ between, siemens: carried }] : [];
    });
  const at = (draw: Draw, scale = 1, placed?: Pair): Leak[] =>
    placeAll(draw, (fact) => siemens(fact, draw) * (fact === unplaced ? scale : 1), placed);
  const onBench = (draw: Draw, scale = 1): Leak[] =>
    placeAll(
      draw,
      (fact) => atTest_S(fact, draw) * voltsOf(fact, draw) * (fact === unplaced ? scale : 1),
      undefined,
    );

  return {
    unknowns: unknownsOf(facts, paths),
    siemens,
    at,
    onBench,
    facts,
    unplaced,
    heaterCathode,
    paths,
    known: gridRead ? 'read' : 'unread',
    heaterCathodeKnown:
      heaterCathode === undefined ? 'prior' : heaterCathode.said === 'unread' ? 'unread' : 'read',
  };
}

/** Conductance as the instrument would read it hot, S. */
export function atTest_S(fact: LeakFact, draw: Draw): number {
  const z = draw[fact.name] ?? 0;
  const hot = fact.median_S * Math.exp((z < 0 ? fact.sdLow : fact.sdHigh) * z);
  return Math.min(hot, fact.atMost_S ?? Infinity);
}

function heatOf({ heat }: LeakFact, draw: Draw): number {
  return heat === undefined ? 1 : heat.factor * Math.exp(heat.sd * (draw['leakHeat'] ?? 0));
}

function voltsOf({ notOhmic_sd }: LeakFact, draw: Draw): number {
  return Math.exp(notOhmic_sd * (draw['leakVolts'] ?? 0));
}

function unknownsOf(facts: readonly LeakFact[], paths: readonly WeightedPath[]): Unknown[] {
  const unknowns: Unknown[] = facts.map((fact) => ({
    name: fact.name,
    known: fact.said === 'unread' ? 'unread' : fact.said === 'aboveScale' ? 'prior' : 'read',
    title: titleOf(fact),
  }));
  if (facts.some(({ heat }) => heat !== undefined)) {
    unknowns.push({ name: 'leakHeat', known: 'prior', title: 'how much warmer the set is' });
  }
  if (facts.some(({ notOhmic_sd }) => notOhmic_sd > 0)) {
    unknowns.push({
      name: 'leakVolts',
      known: 'prior',
      title: 'leakage at the voltages of the circuit against the test voltage',
    });
  }
  if (facts.some(({ path }) => path === undefined) && paths.length > 1) {
    unknowns.push({ name: 'leakPath', known: 'prior', title: 'path of the grid leakage' });
  }
  return unknowns;
}

export function titleOf(fact: LeakFact): string {
  if (fact.path === undefined) return 'grid leakage';
  return `leakage ${words(fact.path[0])} to ${words(fact.path[1])}`;
}

function groupByPath(
  readings: NonNullable<Readings['leakage']>,
): { path: Pair | undefined; values: LeakValue[] }[] {
  const groups: { path: Pair | undefined; values: LeakValue[] }[] = [];
  for (const one of readings) {
    const group = groups.find(({ path }) =>
      path === undefined || one.path === undefined ? path === one.path : samePair(path, one.path),
    );
    if (group === undefined) groups.push({ path: one.path, values: [one] });
    else group.values.push(one);
  }
  return groups;
}

function gridFact(
  values: readonly LeakValue[],
  path: Pair | undefined,
  profile: InstrumentProfile,
  tube: TubeFacts,
): LeakFact {
  const name = path === undefined ? 'leak' : `leak_${path[0]}_${path[1]}`;
  const found = benchConductance(values, profile);
  const placed = path === undefined ? {} : { path };
  const volts = leakVolts(values.at(-1) ?? {}, profile);
  if (found.said === 'aboveScale') return { name, ...placed, ...found, notOhmic_sd: 0 };
  return {
    name,
    ...placed,
    ...found,
    heat: tube.isOutputTube && !profile.leakage.withPlateCurrent ? OUTPUT_HEAT : CABINET,
    notOhmic_sd: notOhmic(volts),
  };
}

/** A factor 2 either way from 25 V to 250 V, less for a test nearer to the volts of a circuit. */
export function notOhmic(volts: number): number {
  const decades = Math.abs(Math.log10(NOT_OHMIC.circuit_V / volts));
  return NOT_OHMIC.sd * Math.min(Math.max(decades, 0.3), 1.3);
}

type Bench = Pick<LeakFact, 'median_S' | 'sdLow' | 'sdHigh' | 'said' | 'early' | 'atMost_S'>;

/** Hot steady state on the bench from a series of readings. */
function benchConductance(values: readonly LeakValue[], profile: InstrumentProfile): Bench {
  const accuracy = profile.leakage.accuracy_percent / 100 / Z90;
  const rows = values.map((value) => conductance(value, profile));
  const last = rows.at(-1);
  if (last === undefined) return unreadFact();
  if (last.below_S !== undefined) {
    const top_ohm = 1 / last.below_S;
    return {
      median_S: 1 / Math.max(ABOVE_SCALE.median_ohm, 3 * top_ohm),
      // A short scale says less.
      ...both(ABOVE_SCALE.sd + 0.3 * Math.max(0, Math.log(100e6 / top_ohm))),
      atMost_S: last.below_S,
      said: 'aboveScale',
      early: false,
    };
  }
  const timed = values.flatMap((value, i): TimedLeak[] => {
    const row = rows[i];
    if (value.minutes === undefined || row === undefined) return [];
    const seconds = Math.max(value.minutes * 60, 5);
    return row.below_S === undefined
      ? [{ seconds, siemens: row.siemens }]
      : [{ seconds, belowSiemens: row.below_S }];
  });
  const minutesKnown = values.at(-1)?.minutes !== undefined;
  if (!minutesKnown) return untimed(last.siemens, accuracy);
  const fit = steadyState(timed, Math.max(accuracy, 0.03));
  if (fit === undefined) return untimed(last.siemens, accuracy);
  // Two thirds, not nine tenths, within the factor 2: the least that round trips bear out.
  const factor2 = fit.early ? Math.log(2) : 0;
  return {
    median_S: fit.median,
    sdLow: Math.max(Math.log(fit.median / fit.low), accuracy, factor2),
    sdHigh: Math.max(
      Math.log(fit.high / fit.median),
      accuracy,
      fit.stillSteepening ? Math.log(6) / Z90 : factor2,
    ),
    said: fit.stillSteepening ? 'lowerBound' : 'value',
    early: fit.early,
  };
}

/** Nobody wrote down when: as likely after one minute as after two, five or ten. */
function untimed(siemens: number, accuracy: number): Bench {
  const ends = [60, 120, 300, 600].map((seconds) => {
    const fit = singleReading(seconds);
    return { ln: Math.log(fit.median), sd: Math.log(fit.high / fit.low) / 2 };
  });
  const mean = ends.reduce((sum, { ln }) => sum + ln, 0) / ends.length;
  const variance =
    ends.reduce((sum, { ln, sd }) => sum + sd ** 2 + (ln - mean) ** 2, 0) / ends.length;
  return {
    median_S: siemens * Math.exp(mean),
    ...both(Math.hypot(Math.sqrt(variance), accuracy)),
    said: 'value',
    early: true,
  };
}

/** The end of a warm-up that read 1 at this time; the law is linear, so one fit serves every tube. */
const singles = new Map<number, { low: number; median: number; high: number }>();
function singleReading(seconds: number): { low: number; median: number; high: number } {
  const before = singles.get(seconds);
  if (before !== undefined) return before;
  const fit = steadyState([{ seconds, siemens: 1 }]) ?? { low: 1, median: 1, high: 1 };
  singles.set(seconds, fit);
  return fit;
}

/** Conductance of one reading, or the bound where it lies beyond the scale. */
function conductance(
  value: LeakValue,
  profile: InstrumentProfile,
): { siemens: number; below_S?: undefined } | { siemens: undefined; below_S: number } {
  const top_S = 1 / profile.leakage.top_ohm;
  if (value.aboveMegohms !== undefined) {
    return { siemens: undefined, below_S: 1e-6 / value.aboveMegohms };
  }
  const siemens =
    value.megohms === undefined
      ? ((value.microamps ?? 0) * 1e-6) / leakVolts(value, profile)
      : 1e-6 / Math.max(value.megohms, 1e-6);
  return siemens < top_S / 3 ? { siemens: undefined, below_S: top_S } : { siemens };
}

function unreadFact(): LeakFact {
  return {
    name: 'leak',
    median_S: 1 / UNREAD_LEAK.median_ohm,
    ...both(UNREAD_LEAK.sd),
    said: 'unread',
    notOhmic_sd: 0,
    early: false,
  };
}

function heaterFact(
  values: readonly LeakValue[],
  profile: InstrumentProfile,
  tube: TubeFacts,
): LeakFact {
  const path = ['heater', 'cathode'] as const;
  const found = benchConductance(values, profile);
  if (found.said === 'aboveScale') {
    const top_ohm = 1 / (found.atMost_S ?? found.median_S);
    const usual = tube.isOutputTube ? HEATER_CATHODE.output_ohm : HEATER_CATHODE.small_ohm;
    return {
      name: 'heaterCathode',
      path,
      ...found,
      median_S: 1 / Math.max(usual, 2 * top_ohm),
      ...both(HEATER_CATHODE.sd),
      notOhmic_sd: 0,
    };
  }
  return { name: 'heaterCathode', path, ...found, notOhmic_sd: NOT_OHMIC.heaterSd };
}

function unreadHeater(tube: TubeFacts): LeakFact {
  return {
    name: 'heaterCathode',
    path: ['heater', 'cathode'],
    median_S: 1 / (tube.isOutputTube ? HEATER_CATHODE.output_ohm : HEATER_CATHODE.small_ohm),
    ...both(HEATER_CATHODE.sd),
    said: 'unread',
    notOhmic_sd: 0,
    early: false,
  };
}

function both(sd: number): { sdLow: number; sdHigh: number } {
  return { sdLow: sd, sdHigh: sd };
}
