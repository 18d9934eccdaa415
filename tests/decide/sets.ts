/** Seeded sets with one known fault, measured with an ordinary meter: what the diagnosis has to find. */
import { findDevice } from '../../models/catalogue.ts';
import type { Device } from '../../models/device.ts';
import { tubeModel } from '../../models/tube.ts';
import type { Case } from '../../src/assess.ts';
import { factsOf, sectionsOf } from '../../src/cases.ts';
import type { Meter } from '../../src/decide/in-set/diagnose.ts';
import { explanationsOf, type Explanation } from '../../src/decide/in-set/explanations.ts';
import { inSet, type InSetReport } from '../../src/decide/in-set/in-set.ts';
import { predictor } from '../../src/decide/in-set/predict.ts';
import { AS_IT_STANDS, proceduresFor } from '../../src/decide/in-set/procedures.ts';
import { setCircuit } from '../../src/decide/in-set/set-circuit.ts';
import { seededRandom, type Random } from '../../src/numerics/random.ts';
import { normalQuantile } from '../../src/numerics/normal.ts';
import { findStage } from '../../src/stage/catalogue.ts';
import { defaultValues } from '../../src/stage/values.ts';
import type { Draw, Simulator, StageValues } from '../../src/types.ts';
import type { InstrumentProfile } from '../../src/wear/profile.ts';
import { wearFrom } from '../../src/wear/wear.ts';

const BENCH: InstrumentProfile = {
  name: 'set up with care (invented)',
  emission: {
    scale: { kind: 'percent' },
    openTerminal_V: 10,
    newTubeTerminal_V: 9,
    accuracy_percent: 5,
  },
  starvedHeater: { heater_percent: 90, heldSeconds: 90, accuracy_points: 2 },
  leakage: {
    volts: 100,
    grid: 'negative',
    withPlateCurrent: false,
    top_ohm: 1e9,
    short_ohm: 200e3,
    accuracy_percent: 10,
  },
};

export interface Socket {
  readonly stage: string;
  readonly type: string;
  readonly values?: Readonly<Record<string, number>>;
}

export const SOCKETS: readonly Socket[] = [
  { stage: 'rc-amplifier', type: '12AX7' },
  { stage: 'rc-amplifier', type: '6AU6', values: { plateLoad: 220e3 } },
  { stage: 'rc-amplifier', type: '6AV6', values: { cathodeResistor: 0, gridResistor: 10e6 } },
  { stage: 'agc-if-amplifier', type: '6BA6' },
  { stage: 'output-single-ended', type: '6V6GT' },
  { stage: 'output-single-ended', type: '6AQ5', values: { fixedBias: -12.5 } },
];

/** How far the true tube's parameters lie from the type's: ±12 % uniform on each, which the diagnosis does not know of. */
const OFF = 0.12;
const PERTURBED = ['mu', 'ex', 'kg1', 'kp', 'kg2'];

function perturbed(device: Device, random: Random): Device {
  return {
    ...device,
    units: device.units.map((unit) => ({
      ...unit,
      fit:
        unit.fit === undefined
          ? unit.fit
          : {
              ...unit.fit,
              parameters: Object.fromEntries(
                Object.entries(unit.fit.parameters).map(([name, value]) => [
                  name,
                  PERTURBED.includes(name)
                    ? value * (1 + (name === 'ex' ? 0.2 : 1) * OFF * (2 * random.next() - 1))
                    : value,
                ]),
              ),
            },
    })),
  } as Device;
}

export function caseFor({ stage: id, type, values: given = {} }: Socket): {
  given: Case;
  device: Device;
  unit: string;
} {
  const stage = findStage(id)!;
  const found = findDevice(type)!;
  const section = sectionsOf(found.device)[0]!;
  const model = tubeModel(found.device, section.unit.id);
  const values: Record<string, StageValues[string]> = { ...defaultValues(stage.values) };
  for (const [key, value] of Object.entries(given)) values[key] = { ...values[key]!, value };
  const facts = factsOf(found.device, section, model);
  const wear = wearFrom(
    {
      emission: [{ percent: 92 }],
      starvedHeater: { heater_percent: 90, drop_percent: 5 },
      leakage: [{ minutes: 10, aboveMegohms: 1000, atVolts: 100 }],
    },
    BENCH,
    facts,
  );
  return {
    given: {
      socket: { id: 'V1', title: stage.title, stage, values, limits: {} },
      tube: { id: 'tube', type, section: '', model, wear, warnings: [] },
    },
    device: found.device,
    unit: section.unit.id,
  };
}

export interface Reading {
  readonly point: string;
  readonly procedure: string;
  readonly volts: number;
}

export interface SeededSet {
  readonly given: Case;
  readonly truth: string;
  /** Every point of the set as it stands. */
  readonly readings: readonly Reading[];
  /** What the meter shows at a point after a procedure; undefined where the engine finds no rest. */
  read(point: string, procedure: string): Promise<Reading | undefined>;
}

export const METER: Meter = { ohms: 10e6, accuracy_percent: 3 };
/** A person calls for help because something reads off: by at least this share of the expected volts at some point. */
const SYMPTOM = 0.15;

/** One set: a socket, a truth among its explanations, and readings with their errors. Undefined where no severity shows. */
export async function seededSet(
  socket: Socket,
  seed: string,
  simulator: Simulator,
): Promise<SeededSet | undefined> {
  const random = seededRandom(seed);
  const { given, device, unit } = caseFor(socket);
  const { stage, values } = given.socket;
  const truthModel = tubeModel(perturbed(device, random), unit);
  const set = setCircuit(stage.circuit(values, [truthModel]));
  const normal = (): number => normalQuantile(Math.min(0.999, Math.max(0.001, random.next())));
  const draw: Draw = Object.fromEntries(
    [...new Set(Object.values(set.circuit.knobs).map(({ unknown }) => unknown))].map((name) => [
      name,
      normal(),
    ]),
  );
  const wearDraw: Draw = Object.fromEntries(
    given.tube.wear.unknowns.map(({ name }) => [name, 0.7 * normal()]),
  );
  const condition = given.tube.wear.condition(wearDraw);
  const newTube = given.tube.wear.newTube(wearDraw);
  const run = predictor(set, values, [], simulator);
  const sound = {
    state: { knobs: {}, line: 1, supply: 1, condition },
    draw,
  };
  const [nominal] = await run.volts([sound], `${seed}.sound`);
  if (nominal === undefined) return undefined;
  const explanations = explanationsOf(
    set,
    values,
    stage.values,
    stage.gridCircuit.reduce((sum, key) => sum + (values[key]!.value as number), 0),
    {
      condition,
      draws: [condition, condition],
      newTube,
      electrodes: truthModel.electrodes,
      leakageRead: true,
      cathode_A: 5e-3,
    },
  );
  const shuffled = explanations
    .map((explanation) => ({ explanation, key: random.next() }))
    .toSorted((a, b) => a.key - b.key)
    .map(({ explanation }) => explanation);
  for (const explanation of shuffled.slice(0, 6)) {
    const state = await severeEnough(explanation, random, nominal, async (one) => {
      const [volts] = await run.volts([{ state: one, draw }], `${seed}.try`);
      return volts;
    });
    if (state === undefined) continue;
    const procedures = proceduresFor(set, stage, newTube);
    const read = async (id: string, procedure: string): Promise<Reading | undefined> => {
      const done = procedures.find((one) => one.id === procedure)!.apply(state);
      const place = set.points.findIndex((point) => point.id === id);
      const meter = { point: set.points[place]!, ohms: METER.ohms };
      const [found] = await run.volts([{ state: done, draw, meter }], `${seed}.read`);
      const error = 1 + (METER.accuracy_percent / 100) * (2 * random.next() - 1);
      return found === undefined
        ? undefined
        : { point: id, procedure, volts: Number((found[place]! * error).toPrecision(3)) };
    };
    const readings: (Reading | undefined)[] = [];
    for (const { id, heater } of set.points)
      if (heater !== true) readings.push(await read(id, AS_IT_STANDS));
    const good = readings.filter((one) => one !== undefined);
    if (good.length < readings.length) continue;
    return { given, truth: explanation.id, readings: good, read };
  }
  return undefined;
}

type State = ReturnType<Explanation['at']>['state'];

async function severeEnough(
  explanation: Explanation,
  random: Random,
  nominal: readonly number[],
  volts: (state: State) => Promise<readonly number[] | undefined>,
): Promise<State | undefined> {
  if (explanation.id === 'asScreened') return explanation.at(0).state;
  for (let trial = 0; trial < 3; trial++) {
    const { state } = explanation.at(0.2 + 0.8 * random.next());
    const found = await volts(state);
    if (
      found?.some(
        (value, i) => Math.abs(value - nominal[i]!) > SYMPTOM * Math.abs(nominal[i]!) + 0.1,
      )
    )
      return state;
  }
  return undefined;
}

export const firstOf = ({ diagnosis }: InSetReport): string =>
  diagnosis?.explanations[0]?.id ?? 'none';

/**
 * Whether the truth stands first; or is named beside the first together with the measurement that separates the two:
 * what the meter should show then under one lies outside the other's 90 % interval.
 */
export function isRight(report: InSetReport, truth: string): boolean {
  const first = firstOf(report);
  if (first === truth) return true;
  const named = report.diagnosis?.next?.expected ?? [];
  const [a, b] = [first, truth].map((id) => named.find((one) => one.id === id));
  return (
    a !== undefined &&
    b !== undefined &&
    (a.volts < b.low || a.volts > b.high) &&
    (b.volts < a.low || b.volts > a.high)
  );
}

export function diagnosed(
  { given }: SeededSet,
  readings: readonly Reading[],
  simulator: Simulator,
): Promise<InSetReport> {
  return inSet(given, simulator, { meter: METER, readings });
}

/** Most measurements that a person takes on the diagnosis' advice. */
const FOLLOWED = 3;

/** The first diagnosis, and the one after its advice was followed. */
export async function followed(
  set: SeededSet,
  simulator: Simulator,
): Promise<{ readonly atOnce: InSetReport; readonly after: InSetReport }> {
  const readings = [...set.readings];
  const atOnce = await diagnosed(set, readings, simulator);
  let after = atOnce;
  for (let i = 0; i < FOLLOWED; i++) {
    const next = after.diagnosis?.next;
    if (next === undefined || next === null) break;
    const reading = await set.read(next.point, next.procedure);
    if (reading === undefined) break;
    readings.push(reading);
    after = await diagnosed(set, readings, simulator);
  }
  return { atOnce, after };
}
