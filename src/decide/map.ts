import { findDevice } from '../../models/catalogue.ts';
import { subjectOf, tubesOf, type Case } from '../central.ts';
import type { FindDevice } from '../cases.ts';
import { circuitOf } from '../line-neighbours.ts';
import { measureSubjects } from '../measure/subjects.ts';
import { zeroLines } from '../numerics/contour.ts';
import { Problem } from '../problem.ts';
import type { Scenario, Socket, TestedTube } from '../scenario/scenario.ts';
import { formatQuantity } from '../units/format.ts';
import { limitsFor } from '../verdict/limit.ts';
import type { Electrode, RunOptions, Simulator } from '../types.ts';
import type { Readings } from '../wear/readings.ts';
import { benchSet, pathWords, type BenchSet } from './bench-set.ts';
import { fillField, isInside, squeeze, type Margins } from './map-field.ts';
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
  /** The tube that was asked for. */
  readonly point: MapPoint | null;
  /** Points simulated, of as many cells. */
  readonly simulated: number;
  readonly sentences: readonly string[];
}

export interface MapCell {
  readonly inside: boolean;
  /** The limit that is pressing: of the least margin, or the one without a number. */
  readonly measure: string | null;
  /** Least margin; null where there is no number. */
  readonly margin: number | null;
  /** Simulated at this very point; else from the surface between, where its sign is sure. */
  readonly exact: boolean;
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
  onProgress?(done: number): void;
}

const CELLS = 41;
const NODES = 12;
/** From the top of the scale to here a reading turns into "above the scale", of which general knowledge speaks. */
const BEYOND_TOP = 3;
/** Of a new tube's emission. */
const EMISSION_SPAN = [0.1, 1.1] as const;

/**
 * The map of one socket, at central values: no intervals, which the acceptance card has. A simulator with two workers takes about a second.
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

  const base = set.caseOf(set.newTube);
  const marginsOf = await marginsWith(base, simulator, options);
  let done = 0;
  const field = await fillField(emission, leakage_ln, marginsOf.limits.length, {
    nodes: NODES,
    async compute(points) {
      const found = await marginsOf.at(points.map((point) => set.caseOf(readingsAt(point))));
      options.onProgress?.((done += points.length));
      return found;
    },
  });
  const { limits } = marginsOf;
  const cells = field.margins.map((row, i) =>
    row.map((margins, k) => cellOf(margins, limits, field.exact[i]?.[k] === true)),
  );
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
    emission: {
      title: 'Emission',
      unit: scale.kind === 'percent' ? '%' : scale.kind === 'milliamps' ? 'mA' : 'divisions',
      values: emission,
    },
    leakage: {
      title: 'Grid leakage',
      unit: 'ohm',
      values: leakage_ln.map(Math.exp),
      top_ohm,
    },
    cells,
    contours: contours.filter(({ lines }) => lines.length > 0),
    point,
    simulated: field.computed,
    sentences: sentencesOf(cells, contours, path, options.path !== undefined, set, tube, start),
  };
}

/** Margins of all limits for many cases that share a socket and a type. */
async function marginsWith(base: Case, simulator: Simulator, options: RunOptions) {
  const { stage, values, limits: own } = base.socket;
  const run: RunOptions = {
    ...(options.signal === undefined ? {} : { signal: options.signal }),
    ...(options.timeout_ms === undefined ? {} : { timeout_ms: options.timeout_ms }),
  };
  const circuit = await circuitOf(base, simulator, run);
  const limits = limitsFor(
    stage.limits.filter(({ needs = [] }) =>
      needs.every((rating) =>
        tubesOf(base).every(({ model }) => model.ratings?.[rating] !== undefined),
      ),
    ),
    own,
    stage.measures.map(({ id }) => id),
    `${base.socket.id}.limits`,
  );
  const newTubes = tubesOf(base).map(({ wear }) => wear.newTube({}));
  const at = async (cases: readonly Case[]): Promise<Margins[]> => {
    const subjects = [
      newTubes,
      ...cases.map((one) => tubesOf(one).map(({ wear }) => wear.condition({}))),
    ].map((each, i) => subjectOf(values, circuit, each, {}, i === 0 ? undefined : 0));
    const [newTube, ...outcomes] = await measureSubjects(
      stage,
      circuit,
      values,
      subjects,
      simulator,
      { ...run, runId: 'map' },
    );
    if (newTube?.failed !== undefined)
      throw new Problem('simulation', 'the new tube could not be simulated in this socket', {
        place: base.socket.id,
        found: newTube.failed,
      });
    return outcomes.map(({ measures, failed }) =>
      limits.map((limit) => {
        const applied =
          failed === undefined ? limit.apply(measures, newTube?.measures ?? {}) : undefined;
        return applied?.value === undefined ? undefined : applied.margin;
      }),
    );
  };
  return { limits, at };
}

function cellOf(
  margins: Margins,
  limits: readonly { readonly spec: { readonly measure: string } }[],
  exact: boolean,
): MapCell {
  const missing = margins.findIndex((margin) => margin === undefined);
  const numbers = margins.map((margin) => margin ?? Infinity);
  const least = numbers.indexOf(Math.min(...numbers));
  return {
    inside: isInside(margins),
    measure: limits[missing >= 0 ? missing : least]?.spec.measure ?? null,
    margin: missing >= 0 ? null : (margins[least] ?? null),
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

const steps = (from: number, to: number, count: number): number[] =>
  Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));

/** The tube's last readings; undefined ones leave it off the map. */
function pointOf(
  tube: TestedTube,
  scenario: Scenario,
  unit: 'percent' | 'milliamps' | 'divisions',
  full: number,
): MapPoint | null {
  const read = tube.readings.emission?.at(-1);
  const leak = tube.readings.leakage?.at(-1);
  const emission =
    read?.[unit] ?? (read?.percent === undefined ? undefined : (read.percent / 100) * full);
  if (emission === undefined || leak === undefined) return null;
  const { accuracy_percent: e } = scenario.bench.emission;
  const { accuracy_percent: l, volts } = scenario.bench.leakage;
  const above = leak.aboveMegohms !== undefined;
  const ohms =
    leak.microamps !== undefined
      ? (leak.atVolts ?? volts) / (Math.max(leak.microamps, 1e-6) * 1e-6)
      : (leak.megohms ?? leak.aboveMegohms ?? 0) * 1e6;
  const early = (leak.minutes ?? LEAKAGE_MINUTES) < 8;
  return {
    tube: tube.id,
    emission: { value: emission, low: emission * (1 - e / 100), high: emission * (1 + e / 100) },
    leakage: {
      value: above ? BEYOND_TOP * ohms : ohms,
      low: above ? ohms : ohms * (1 - l / 100),
      high: above ? null : ohms * (1 + l / 100),
    },
    sentence: `${tube.id} as it was read, with the errors of the readings.${above ? ' Its leakage lies above the scale.' : early ? ` The last leakage reading came after ${leak.minutes ?? 0} minutes: the tube may still move down.` : ''}`,
  };
}

function sentencesOf(
  cells: readonly (readonly MapCell[])[],
  contours: readonly MapContour[],
  path: readonly [Electrode, Electrode] | undefined,
  asked: boolean,
  set: BenchSet,
  tube: TestedTube | undefined,
  start: Readings,
): string[] {
  const all = cells.flat();
  const inside = all.filter((cell) => cell.inside).length;
  const by = contours
    .map(({ measure, title }) => ({
      title,
      count: all.filter((cell) => !cell.inside && cell.measure === measure).length,
    }))
    .filter(({ count }) => count > 0)
    .sort((a, b) => b.count - a.count);
  return [
    `A ${set.type} at central values: ${formatQuantity((100 * inside) / all.length, '%', { digits: 2 })} of the map lies within every limit. The intervals are left out; the acceptance card has them, and asks for more.`,
    ...(by.length === 0
      ? []
      : [
          `What ends it first: ${by.map(({ title }) => title.charAt(0).toLowerCase() + title.slice(1)).join(', ')}.`,
        ]),
    ...(path === undefined
      ? []
      : [`All of the leakage goes from ${pathWords(path)}${asked ? '' : ', the likeliest path'}.`]),
    ...(start.starvedHeater === undefined
      ? []
      : [
          `The drop with a starved heater is ${tube?.readings.starvedHeater === undefined ? 'a new tube’s' : `that of ${tube.id}`}, ${formatQuantity(start.starvedHeater.drop_percent, '%')}.`,
        ]),
  ];
}
