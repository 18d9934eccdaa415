import { heaterParts } from '../../models/heater-leak.ts';
import { normalCdf } from '../numerics/normal.ts';
import type { Draw, Electrode, Known, Leak, Unknown, WeightedPath } from '../types.ts';
import { benchLeak, type AboveScale } from './bench-leak.ts';
import { leakVolts, samePair } from './check.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import { words } from '../units/electrode.ts';
import { gridPaths, pathAt } from './paths.ts';
import {
  ABOVE_SCALE,
  CABINET,
  COLD,
  HEATER_CATHODE,
  HEATER_EMISSION,
  HEATER_PLACE,
  NOT_OHMIC,
  OUTPUT_HEAT,
  UNREAD_LEAK,
} from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { LeakValue, Readings } from './readings.ts';

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
  /** Volts of the test. */
  readonly test_V?: number;
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
      if (between === undefined || carried <= 0) return [];
      return samePair(between, ['heater', 'cathode'])
        ? [heaterLeak(between, carried, fact.test_V, draw)]
        : [{ between, siemens: carried }];
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
  if (facts.some(({ path }) => path !== undefined && samePair(path, ['heater', 'cathode']))) {
    unknowns.push(
      {
        name: 'heaterEmission',
        known: 'prior',
        title: 'emission between heater and cathode, which flows at low voltage',
      },
      {
        name: 'heaterPlace',
        known: 'prior',
        title: 'where along the heater the leakage sits',
      },
    );
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
  const found = benchLeak(values, profile, aboveGridScale);
  const placed = path === undefined ? {} : { path };
  const volts = leakVolts(values.at(-1) ?? {}, profile);
  const heat = tube.isOutputTube && !profile.leakage.withPlateCurrent ? OUTPUT_HEAT : CABINET;
  // What is known of tubes above the scale is known of them hot in the set, at its volts.
  const read = 1 - found.beyond;
  return {
    name,
    ...placed,
    ...found,
    heat: { factor: heat.factor ** read, sd: heat.sd * read },
    notOhmic_sd: notOhmic(volts) * read,
  };
}

/** A factor 2 either way from 25 V to 250 V, less for a test nearer to the volts of a circuit. */
export function notOhmic(volts: number): number {
  const decades = Math.abs(Math.log10(NOT_OHMIC.circuit_V / volts));
  return NOT_OHMIC.sd * Math.min(Math.max(decades, 0.3), 1.3);
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

/** Tubes above the scale normally have more than 1 GΩ; a short scale says less. */
function aboveGridScale(below_S: number): AboveScale {
  return {
    median_S: Math.min(1 / ABOVE_SCALE.median_ohm, below_S / 3),
    sd: ABOVE_SCALE.sd + 0.3 * Math.max(0, Math.log(100e6 * below_S)),
  };
}

function heaterFact(
  values: readonly LeakValue[],
  profile: InstrumentProfile,
  tube: TubeFacts,
): LeakFact {
  const usual_ohm = tube.isOutputTube ? HEATER_CATHODE.output_ohm : HEATER_CATHODE.small_ohm;
  const found = benchLeak(values, profile, (below_S) => ({
    median_S: Math.min(1 / usual_ohm, below_S / 2),
    sd: HEATER_CATHODE.sd,
  }));
  return {
    name: 'heaterCathode',
    path: ['heater', 'cathode'],
    test_V: leakVolts(values.at(-1) ?? {}, profile),
    ...found,
    notOhmic_sd: NOT_OHMIC.heaterSd * (1 - found.beyond),
  };
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

/** A path from heater to cathode in its parts. */
export function heaterLeak(
  between: Pair,
  siemens: number,
  test_V: number = HEATER_EMISSION.test_V,
  draw: Draw = {},
): Leak {
  const over = HEATER_EMISSION.over * Math.exp(HEATER_EMISSION.sd * (draw['heaterEmission'] ?? 0));
  const { from, to } = HEATER_PLACE;
  const place = from + (to - from) * normalCdf(draw['heaterPlace'] ?? 0);
  return { between, siemens, heater: heaterParts(siemens, test_V, over, place) };
}

function both(sd: number): { sdLow: number; sdHigh: number } {
  return { sdLow: sd, sdHigh: sd };
}
