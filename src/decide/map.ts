import { findDevice } from '../../models/catalogue.ts';
import type { FindDevice } from '../cases.ts';
import { DEFAULT_SEED } from '../assess.ts';
import { zeroLines, type Point } from '../numerics/contour.ts';
import { Problem } from '../problem.ts';
import type { Scenario, Socket, TestedTube } from '../scenario/scenario.ts';
import type { Electrode, RunOptions, Simulator } from '../types.ts';
import { squeeze, unsqueeze } from '../verdict/margins.ts';
import type { Readings } from '../wear/readings.ts';
import { benchSet, type BenchSet } from './bench-set.ts';
import { bandAround, leastOf, MAP_DRAWS, type Band } from './map-band.ts';
import { fillField, isInside } from './map-field.ts';
import { findingOf } from './map-finding.ts';
import type { Margins } from './map-guess.ts';
import { marginsWith } from './map-margins.ts';
import { BEYOND_TOP, pointOf, sentencesOf } from './map-words.ts';
import { LEAKAGE_MINUTES } from './reading-ladder.ts';

/** Emission against leakage for one socket: where a tube's central case lies within every limit, and which limit ends that. */
export interface AcceptanceMap {
  readonly format: 'stagefit-map';
  readonly version: 1;
  readonly engine: string;
  readonly socket: {
    readonly id: string;
    readonly title: string;
    readonly stage: string;
    readonly stageTitle: string;
  };
  readonly tube: { readonly type: string; readonly section: string };
  readonly bench: string;
  /** Where all of the leakage goes. */
  readonly path: readonly [Electrode, Electrode] | null;
  /** What other paths there are to ask for. */
  readonly paths: readonly (readonly [Electrode, Electrode])[];
  /** Readings along the map, in the unit of the scale; rising. */
  readonly emission: {
    readonly title: string;
    readonly unit: string;
    readonly values: readonly number[];
  };
  /**
   * Resistance as the instrument reads it after ten minutes, ohm; rising, in equal ratios. Beyond `top_ohm`, the end of the scale,
   * values stand for "above the scale", the last one wholly.
   */
  readonly leakage: {
    readonly title: string;
    readonly unit: 'ohm';
    readonly values: readonly number[];
    readonly top_ohm: number;
  };
  /** By emission, then by leakage. */
  readonly cells: readonly (readonly MapCell[])[];
  readonly contours: readonly MapContour[];
  /** Of the least of all margins: where it is 0, where its interval ends there, and levels beside. */
  readonly lines: readonly MapLine[];
  /** How the intervals were found: judged with draws at so many points along the boundary, taken from there between. */
  readonly intervals: { readonly points: number; readonly draws: number; readonly seed: number };
  /** What a new tube reads: its leakage lies above the scale. */
  readonly newTube: { readonly emission: number; readonly leakage_ohm: number };
  readonly finding: MapFinding;
  /** The tube that was asked for. */
  readonly point: MapPoint | null;
  /** Points simulated, of as many cells. */
  readonly simulated: number;
  readonly sentences: readonly string[];
}

export type Standing = 'usable' | 'marginal' | 'unsuitable';

export interface MapCell {
  readonly inside: boolean;
  /** The limit that is pressing: of the least margin, or the one without a number. */
  readonly measure: string | null;
  /** Least margin; null where there is no number. */
  readonly margin: number | null;
  /** Least margin at the unsafe and at the safe end of the 90 % intervals; null where there is no number. */
  readonly low: number | null;
  readonly high: number | null;
  /** The limit of `low`: which one makes it marginal. */
  readonly decides: string | null;
  /** As an assessment says it: the whole interval within every limit, one limit inside it, or all of it beyond one. */
  readonly verdict: Standing;
  /** Simulated at this very point; else from the surface between, where its sign is sure. */
  readonly exact: boolean;
}

/** A line of the least margin as polylines of [emission, ohm]. */
export interface MapLine {
  readonly kind: 'limit' | 'usable' | 'unsuitable' | 'margin';
  /** Of the least margin; of `usable` and `unsuitable`, 0 at that end of the interval. */
  readonly margin: number;
  readonly lines: readonly (readonly (readonly [number, number])[])[];
}

/** What a leakage leaves to the emission, and an emission to the leakage: stretches from and to. */
export interface MapFinding {
  /** Whose readings: the tube that was asked for, or a new one. */
  readonly of: string;
  readonly leakage_ohm: number;
  readonly emission: number;
  readonly usableEmission: readonly (readonly [number, number])[];
  readonly unsuitableEmission: readonly (readonly [number, number])[];
  readonly usableLeakage_ohm: readonly (readonly [number, number])[];
  readonly unsuitableLeakage_ohm: readonly (readonly [number, number])[];
  readonly sentences: readonly string[];
}

export interface MapContour {
  readonly measure: string;
  readonly title: string;
  readonly limit: string;
  /** Polylines of [emission, ohm]. */
  readonly lines: readonly (readonly (readonly [number, number])[])[];
}

/** Readings with what nine in ten of such readings keep. */
export interface MapPoint {
  readonly tube: string;
  readonly emission: { readonly value: number; readonly low: number; readonly high: number };
  /** `high` null: above the scale. */
  readonly leakage: {
    readonly value: number;
    readonly low: number;
    readonly high: number | null;
  };
  readonly sentence: string;
}

export interface MapOptions extends RunOptions {
  readonly find?: FindDevice;
  readonly type?: string;
  /** A tube of the scenario: its own drop is taken, and its point is put on the map. */
  readonly tube?: TestedTube;
  /** Path of the leakage; without it the likeliest one. */
  readonly path?: readonly [Electrode, Electrode];
  /** Cells a direction. Default 41. */
  readonly cells?: number;
  /** Points simulated, of as many so far (how many it takes is not known); then points of the boundary that have their intervals. */
  onProgress?(what: 'points' | 'intervals', done: number, all: number): void;
}

const CELLS = 41;
const NODES = 8;
/** Of a new tube's emission. */
const EMISSION_SPAN = [0.1, 1.1] as const;

/** Levels of the least margin that are drawn beside 0. */
const LEVELS = [-0.5, -0.2, 0.2, 0.5];

/**
 * The map of one socket: central values exact to a cell, and how far the 90 % intervals reach, judged at some points of the boundary and
 * of where the intervals end. The acceptance card tries its limits one by one. A simulator that remembers runs the new tube's draws once.
 *
 * @throws Problem where the profile has no continuous scale or no test of the grid's leakage; `Stopped` when stopped
 */
export async function acceptanceMap(
  scenario: Scenario,
  socket: Socket,
  simulator: Simulator,
  options: MapOptions = {},
): Promise<AcceptanceMap> {
  const { find = findDevice, tube } = options;
  const set = benchSet(scenario, socket, find, options.type ?? tube?.type);
  const { scale } = scenario.bench.emission;
  if (scale.kind === 'zones')
    throw new Problem('does-not-fit', 'a map needs an emission scale with figures', {
      place: 'bench.emission.scale',
      found: 'zones',
      expected: 'percent, milliamps or divisions',
      hint: 'The acceptance card takes zones: stagefit accept.',
    });
  if (set.leakage === undefined)
    throw new Problem('does-not-fit', 'this instrument says nothing of the grid’s leakage', {
      place: 'bench.leakage.grid',
      found: scenario.bench.leakage.grid,
      expected: 'negative, and a tube with a control grid',
    });
  const path = pathOf(set, options.path);
  const count = options.cells ?? CELLS;
  const full = set.emission.ticks[0]?.value ?? 0;
  const { top_ohm, short_ohm } = scenario.bench.leakage;
  const emission = steps(EMISSION_SPAN[0] * full, EMISSION_SPAN[1] * full, count);
  const leakage_ln = steps(
    Math.log(Math.max(1.1 * short_ohm, 1e5)),
    Math.log(BEYOND_TOP * top_ohm),
    count,
  );
  const start: Readings = { ...set.newTube, ...drop(tube) };
  const readingsAt = ([e, ln]: readonly [number, number]): Readings => ({
    ...start,
    emission: [{ [scale.kind]: e }],
    leakage: [
      {
        megohms: Math.exp(ln) * 1e-6,
        minutes: LEAKAGE_MINUTES,
        ...(path === undefined ? {} : { path }),
      },
    ],
  });

  const toShares = ([e, ln]: Point): Point => [along(emission, e), along(leakage_ln, ln)];
  const base = set.caseOf(set.newTube);
  const marginsOf = await marginsWith(base, simulator, options);
  let done = 0;
  const field = await fillField(emission, leakage_ln, marginsOf.limits.length, {
    nodes: NODES,
    async compute(points) {
      const found = await marginsOf.at(
        points.map((point) => ({ at: toShares(point), given: set.caseOf(readingsAt(point)) })),
      );
      done += points.length;
      options.onProgress?.('points', done, done);
      return found;
    },
  });
  const { limits } = marginsOf;
  const least = field.margins.map((column) => column.map(leastOf));
  const { band, judged } = await bandAround(field.margins, emission, leakage_ln, simulator, {
    ...options,
    limits,
    toShares,
    caseAt: (point) => set.caseOf(readingsAt(point)),
    onDone: (count, all) => options.onProgress?.('intervals', count, all),
  });
  const cells = field.margins.map((column, i) =>
    column.map((margins, k) => cellOf(margins, limits, field.exact[i]?.[k] === true, band, i, k)),
  );
  const zeros = (
    kind: MapLine['kind'],
    margin: number,
    values: readonly (readonly number[])[],
  ): MapLine => ({
    kind,
    margin,
    lines: zeroLines(
      emission,
      leakage_ln,
      values.map((column) => column.map((value) => value - squeeze(margin))),
    ).map((line) => line.map(([e, ln]) => [e, Math.exp(ln)] as const)),
  });
  const { stage } = base.socket;
  const contours = limits.map(({ spec }, m): MapContour => ({
    measure: spec.measure,
    title: stage.measures.find(({ id }) => id === spec.measure)?.title ?? spec.measure,
    limit: spec.formula,
    lines: zeroLines(
      emission,
      leakage_ln,
      field.margins.map((row) =>
        row.map((margins) => (margins[m] === undefined ? Number.NaN : squeeze(margins[m]))),
      ),
    ).map((line) => line.map(([e, ln]) => [e, Math.exp(ln)] as const)),
  }));
  const point = tube === undefined ? null : pointOf(tube, scenario, scale.kind, full);
  const newTube = { emission: full, leakage_ohm: BEYOND_TOP * top_ohm };
  const unit = scale.kind === 'percent' ? '%' : scale.kind === 'milliamps' ? 'mA' : 'divisions';
  return {
    format: 'stagefit-map',
    version: 1,
    engine: simulator.engine,
    socket: {
      id: socket.id,
      title: base.socket.title,
      stage: stage.id,
      stageTitle: stage.title,
    },
    tube: { type: set.type, section: set.section },
    bench: scenario.bench.name,
    path: path ?? null,
    paths: set.onPath.flatMap((one) => (one.path === undefined ? [] : [one.path])),
    emission: {
      title: 'Emission',
      unit,
      values: emission,
    },
    leakage: {
      title: 'Grid leakage',
      unit: 'ohm',
      values: leakage_ln.map(Math.exp),
      top_ohm,
    },
    cells,
    // one that no line of the map meets may still be what refuses a cell
    contours: contours.filter(
      ({ lines, measure }) =>
        lines.length > 0 || cells.some((column) => column.some((cell) => cell.measure === measure)),
    ),
    lines: [
      zeros('limit', 0, least),
      zeros('usable', 0, band.low),
      zeros('unsuitable', 0, band.high),
      ...LEVELS.map((margin) => zeros('margin', margin, least)),
    ].filter(({ lines }) => lines.length > 0),
    intervals: { points: judged, draws: MAP_DRAWS, seed: DEFAULT_SEED },
    newTube,
    finding: findingOf(point, newTube, emission, leakage_ln, band, { unit, top_ohm }),
    point,
    simulated: field.computed,
    sentences: sentencesOf(cells, contours, judged, {
      path,
      asked: options.path !== undefined,
      set,
      tube,
      point,
      start,
    }),
  };
}

function cellOf(
  margins: Margins,
  limits: readonly { readonly spec: { readonly measure: string } }[],
  exact: boolean,
  band: Band,
  i: number,
  k: number,
): MapCell {
  const missing = margins.findIndex((margin) => margin === undefined);
  const numbers = margins.map((margin) => margin ?? Infinity);
  const least = numbers.indexOf(Math.min(...numbers));
  const [low, high] = [band.low[i]?.[k] ?? -1, band.high[i]?.[k] ?? -1];
  return {
    inside: isInside(margins),
    measure: limits[missing >= 0 ? missing : least]?.spec.measure ?? null,
    margin: missing >= 0 ? null : (margins[least] ?? null),
    low: missing >= 0 ? null : unsqueeze(low),
    high: missing >= 0 ? null : unsqueeze(high),
    decides: limits[band.decides[i]?.[k] ?? -1]?.spec.measure ?? null,
    verdict: low >= 0 ? 'usable' : high < 0 ? 'unsuitable' : 'marginal',
    exact,
  };
}

/** The path that was asked for, as the tube has it; the likeliest without one. Throws `Problem`. */
function pathOf(
  set: BenchSet,
  asked: readonly [Electrode, Electrode] | undefined,
): readonly [Electrode, Electrode] | undefined {
  if (asked === undefined) return set.onPath[0]?.path;
  const found = set.onPath.find(({ path }) => asked.every((one) => path?.includes(one)));
  if (found?.path !== undefined) return found.path;
  throw new Problem('bad-value', 'the grid of this tube has no such path', {
    place: 'path',
    found: asked.join('-'),
    expected: set.onPath.map(({ path = [] }) => path.join('-')).join(', '),
  });
}

const drop = (tube: TestedTube | undefined): Pick<Readings, 'starvedHeater'> =>
  tube?.readings.starvedHeater === undefined ? {} : { starvedHeater: tube.readings.starvedHeater };

/** Where a value stands on an even axis, in shares of it. */
const along = (axis: readonly number[], value: number): number => {
  const [from, to] = [axis[0] as number, axis.at(-1) as number];
  return (value - from) / (to - from);
};

const steps = (from: number, to: number, count: number): number[] =>
  Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));
