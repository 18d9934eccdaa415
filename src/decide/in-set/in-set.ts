import { gridCircuitOf, tubesOf, type Case } from '../../central.ts';
import { circuitIn } from '../../line-neighbours.ts';
import type { Scenario } from '../../scenario/scenario.ts';
import { lower } from '../../units/title.ts';
import { Problem } from '../../problem.ts';
import { quantile } from '../../numerics/quantiles.ts';
import type { Electrode, PinVolts, RunOptions, Simulator, TubeCondition } from '../../types.ts';
import { drawsOf, unknownsOf } from '../../uncertainty/draws.ts';
import { atHeaterVoltage } from '../../../models/cathode.ts';
import { heaterFactor } from '../../stage/values.ts';
import {
  diagnose,
  unknownsOfSet,
  type Diagnosis,
  type Meter,
  type Procedure,
  type SetReading,
} from './diagnose.ts';
import { explanationsOf, type SetState } from './explanations.ts';
import { predictor, type Predictor, type Volts } from './predict.ts';
import { AS_IT_STANDS, proceduresFor } from './procedures.ts';
import { setCircuit, type MeterPoint, type SetCircuit } from './set-circuit.ts';

/** Check in the set: what a meter should read at each pin, and what explains what it did read. */

export interface InSetOptions extends RunOptions {
  readonly meter: Meter;
  /** What the person read, volts to chassis, by point: "grid", "B+"; after a procedure where one was asked for. */
  readonly readings: readonly {
    readonly point: string;
    readonly volts: number;
    readonly procedure?: string;
  }[];
  readonly seed?: number;
}

/** A meter of today, and a vacuum-tube voltmeter's order of magnitude. */
export const USUAL_METER: Meter = { ohms: 10e6, accuracy_percent: 3 };

/** What the scenario keeps of this tube in this socket: the meter and its readings. */
export function keptCheck(
  { inSet: checks }: Pick<Scenario, 'inSet'>,
  { tube, socket }: Case,
): Pick<InSetOptions, 'meter' | 'readings'> {
  const kept = checks.find((one) => one.tube === tube.id && one.socket === socket.id);
  return {
    meter: {
      ohms: kept?.meter ?? USUAL_METER.ohms,
      accuracy_percent: kept?.accuracy_percent ?? USUAL_METER.accuracy_percent,
    },
    readings: (kept?.readings ?? []).map(({ after, ...reading }) => ({
      ...reading,
      ...(after === undefined ? {} : { procedure: after }),
    })),
  };
}

/** A value that a meter shows, volts to chassis, with its 90 % interval. */
export interface Shown {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

export interface InSetLine {
  readonly point: string;
  readonly title: string;
  /** Base pins of the electrode; empty for a supply or where the base is not known. */
  readonly pins: readonly number[];
  readonly newTube: Shown | null;
  readonly thisTube: Shown | null;
  /** This tube without the meter's own current; null where it was not found. */
  readonly unloaded: number | null;
  readonly read: number | null;
}

export interface InSetReport {
  readonly format: 'stagefit-in-set';
  readonly version: 1;
  readonly engine: string;
  readonly seed: number;
  readonly socket: { readonly id: string; readonly title: string; readonly stageTitle: string };
  readonly tube: { readonly id: string; readonly type: string };
  readonly meter: Meter;
  /** What can be done before reading, to tell explanations apart. */
  readonly procedures: readonly { readonly id: string; readonly title: string }[];
  readonly lines: readonly InSetLine[];
  /** Null where nothing was read. */
  readonly diagnosis: Diagnosis | null;
  readonly cautions: readonly string[];
}

/** Said at the top of every sheet. The usual service cautions; common practice, from memory. */
export const IN_SET_CAUTIONS: readonly string[] = [
  'The voltages in such a set kill. Follow local codes and a licensed practitioner; if you are not used to this work, leave it.',
  'Fasten the meter’s negative lead to chassis first, keep one hand away, and touch one point at a time.',
  'Discharge filter capacitors through 1 to 10 kΩ before you touch anything, and measure that they are empty: they recover.',
  'A transformerless set can have line voltage on its chassis in either plug position: use an isolation transformer.',
  'Never run an output stage without its load or a fixed-bias stage without its bias. High-voltage and picture-tube circuits are not measured this way.',
];

const DRAWS = 32;
const WEAR_DRAWS = 32;

/**
 * @throws Problem for a point that the circuit does not have, a point read twice, or a stage that has no rest
 * @throws Stopped
 */
export async function inSet(
  given: Case,
  simulator: Simulator,
  options: InSetOptions,
): Promise<InSetReport> {
  const { socket, tube } = given;
  const { stage, values } = socket;
  const { meter, seed = 1 } = options;
  if (stage.neverAtRest === true)
    throw new Problem('does-not-fit', 'this stage has no state of rest to be measured', {
      place: socket.id,
      found: lower(stage.title),
      expected: 'a stage whose voltages stand still without a signal',
    });
  const tubes = tubesOf(given);
  const set = setCircuit(circuitIn(given));
  const newTube = tube.wear.newTube({});
  const procedures = proceduresFor(set, stage, newTube);
  const readings = options.readings.map((reading) => readAt(set, procedures, reading));
  checkTwice(readings);
  const run = predictor(
    set,
    values,
    tubes.slice(1).map(({ wear }) => wear.condition({})),
    simulator,
    options,
  );
  const lines = await linesOf(given, set, run, meter, readings, seed);
  const diagnosis =
    readings.length === 0
      ? null
      : await diagnosisOf(given, set, run, meter, procedures, readings, seed);
  return {
    format: 'stagefit-in-set',
    version: 1,
    engine: simulator.engine,
    seed,
    socket: { id: socket.id, title: socket.title, stageTitle: stage.title },
    tube: { id: tube.id, type: tube.type },
    procedures: procedures
      .filter(({ id, points }) => id !== AS_IT_STANDS && points.length > 0)
      .map(({ id, title }) => ({ id, title })),
    meter,
    lines,
    diagnosis,
    cautions: IN_SET_CAUTIONS,
  };
}

function readAt(
  set: SetCircuit,
  procedures: readonly Procedure[],
  { point, volts, procedure = AS_IT_STANDS }: InSetOptions['readings'][number],
): SetReading {
  const done = procedures.find(({ id }) => id === procedure);
  if (done === undefined)
    throw new Problem('unknown-name', 'this is nothing that can be done in this socket', {
      place: 'read',
      found: procedure,
      expected: procedures.map(({ id }) => id).join(', '),
    });
  const wanted = point.trim().toLowerCase();
  const found = set.points.find(({ id }) => id.toLowerCase() === wanted);
  if (found === undefined)
    throw new Problem('unknown-name', 'this socket has no such point to measure', {
      place: 'read',
      found: point,
      expected: set.points.map(({ id }) => id).join(', '),
    });
  return { point: found, procedure: done, volts };
}

function checkTwice(readings: readonly SetReading[]): void {
  const twice = readings.find(
    ({ point, procedure }, i) =>
      readings.findIndex((other) => other.point === point && other.procedure === procedure) < i,
  );
  if (twice !== undefined)
    throw new Problem('contradiction', 'a point was read twice in the same state', {
      place: 'read',
      found: twice.point.id,
      expected: 'one reading a point',
    });
}

const resting = (condition: TubeCondition): SetState => ({
  knobs: {},
  line: 1,
  supply: 1,
  condition,
});

async function linesOf(
  given: Case,
  set: SetCircuit,
  run: Predictor,
  meter: Meter,
  readings: readonly SetReading[],
  seed: number,
): Promise<InSetLine[]> {
  const { tube } = given;
  const tubes = tubesOf(given);
  const draws = [{}, ...drawsOf(unknownsOf(set.circuit, [tube.wear]), DRAWS, seed)];
  const looks = [
    { state: resting(tube.wear.condition({})) },
    ...(['newTube', 'condition'] as const).flatMap((which) =>
      draws.flatMap((draw) =>
        set.points.map((point) => ({
          state: resting(tube.wear[which](draw)),
          draw,
          meter: { point, ohms: meter.ohms },
        })),
      ),
    ),
  ];
  const [bare, ...metered] = await run.volts(looks, 'lines');
  const shown = (which: number, k: number): Shown | null => {
    const base = which * draws.length * set.points.length;
    const found = draws.map((_, i) => metered[base + i * set.points.length + k]?.[k]);
    const [central, ...others] = found;
    const good = others.filter((volts) => volts !== undefined);
    if (central === undefined || good.length < others.length / 2) return null;
    return { value: central, low: quantile(good, 0.05), high: quantile(good, 0.95) };
  };
  return set.points.map((point, k) => ({
    point: point.id,
    title: point.title,
    pins: pinsOf(point, tubes),
    newTube: shown(0, k),
    thisTube: shown(1, k),
    unloaded: bare?.[k] ?? null,
    read:
      readings.find((one) => one.point === point && one.procedure.id === AS_IT_STANDS)?.volts ??
      null,
  }));
}

function pinsOf(
  { electrode, tube, heater }: MeterPoint,
  tubes: ReturnType<typeof tubesOf>,
): readonly number[] {
  if (heater === true) return tubes[0]!.pins?.heater ?? [];
  return electrode === undefined || tube === undefined
    ? []
    : (tubes[tube]?.pins?.[electrode] ?? []);
}

async function diagnosisOf(
  { socket, tube }: Case,
  set: SetCircuit,
  run: Predictor,
  meter: Meter,
  procedures: readonly Procedure[],
  readings: readonly SetReading[],
  seed: number,
): Promise<Diagnosis> {
  const { stage, values } = socket;
  const newTube = tube.wear.newTube({});
  const [volts] = await run.volts([{ state: resting(newTube) }], 'new');
  const names = tube.wear.unknowns.map(({ name }) => name);
  const explanations = explanationsOf(set, values, stage.values, gridCircuitOf(socket), {
    condition: tube.wear.condition({}),
    draws: drawsOf(names, WEAR_DRAWS, seed).map((draw) => tube.wear.condition(draw)),
    newTube,
    electrodes: tube.model.electrodes,
    leakageRead: tube.wear.plausiblyBad('leakage').length === 0,
    cathode_A: cathodeCurrent(tube, set, volts, newTube, heaterFactor(values, 0)),
  });
  return diagnose({
    set,
    predictor: run,
    explanations,
    procedures,
    readings,
    meter,
    unknowns: unknownsOfSet(set),
  });
}

function cathodeCurrent(
  { model }: Case['tube'],
  set: SetCircuit,
  volts: Volts,
  condition: TubeCondition,
  heater: number,
): number {
  if (volts === undefined) return 0;
  const at: Partial<Record<Electrode, number>> = { cathode: 0 };
  set.points.forEach(({ electrode, tube }, i) => {
    if (electrode !== undefined && tube === 0) at[electrode] = volts[i]!;
  });
  const pinVolts: PinVolts = { grid: 0, ...at };
  return -(model.currents(pinVolts, atHeaterVoltage(condition, heater)).cathode ?? 0);
}
