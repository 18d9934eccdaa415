/** Seeded tubes in a socket: new ones, plainly ruined ones and doubtful ones, read on an invented bench and judged. */
import { findDevice } from '../../models/catalogue.ts';
import { atHeaterVoltage } from '../../models/cathode.ts';
import { tubeModel } from '../../models/tube.ts';
import { assess } from '../../src/assess.ts';
import { factsOf, sectionsOf } from '../../src/cases.ts';
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { normalCdf } from '../../src/numerics/normal.ts';
import { defaultValues } from '../../src/stage/values.ts';
import type {
  Report,
  Simulator,
  Stage,
  StageValues,
  TubeCondition,
  TubeModel,
} from '../../src/types.ts';
import { readBench, type BenchPlan } from '../../src/wear/bench.ts';
import { controlGrid, type TubeFacts } from '../../src/wear/facts.ts';
import { NEW_TUBE_UNKNOWNS, newTubeOf, type NewTubeCharacter } from '../../src/wear/population.ts';
import type { InstrumentProfile } from '../../src/wear/profile.ts';
import type { Readings } from '../../src/wear/readings.ts';
import { wearFrom } from '../../src/wear/wear.ts';

/**
 * An instrument that was set up with care for a type: its test current known, a fifth of a new cathode's saturation; a
 * test voltage that gives way little; a minute and a half at the starved heater. Errors are the ordinary ones.
 */
export function setUpFor(facts: TubeFacts): InstrumentProfile {
  return {
    name: 'set up with care (invented)',
    emission: {
      scale: { kind: 'percent' },
      testCurrents_A: { [facts.device]: facts.newSaturation_A / 5 },
      openTerminal_V: 30,
      newTubeTerminal_V: 26,
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
}

/** A stage with a tube that suits it; in all of its places where it takes more than one. */
export interface Bed {
  readonly name: string;
  /** Its tube, in a table. */
  readonly label: string;
  readonly stage: Stage;
  readonly values: StageValues;
  readonly type: string;
  readonly facts: TubeFacts;
  readonly model: TubeModel;
  readonly character: NewTubeCharacter;
  readonly plan: BenchPlan;
  readonly profile: InstrumentProfile;
}

export function bedOf(
  stage: Stage,
  type: string,
  given: Readonly<Record<string, number>> = {},
  label = type,
): Bed {
  const found = findDevice(type);
  const section = found === undefined ? undefined : sectionsOf(found.device)[0];
  if (found === undefined || section === undefined) throw new Error(`no type ${type}`);
  const model = tubeModel(found.device, section.unit.id);
  const facts = factsOf(found.device, section, model);
  const values: Record<string, StageValues[string]> = { ...defaultValues(stage.values) };
  for (const [key, value] of Object.entries(given)) {
    if (values[key] === undefined) throw new Error(`${stage.id} has no value ${key}`);
    values[key] = { ...values[key], value };
  }
  const changed = Object.entries(given).map(([key, value]) => `${key} ${String(value)}`);
  return {
    name: [stage.id, type, ...changed].join(', '),
    label,
    stage,
    values,
    type,
    facts,
    model,
    character: section.unit.character as NewTubeCharacter,
    profile: setUpFor(facts),
    plan: {
      starvedHeater: true,
      heaterCathode: true,
      leakageMinutes: [1, 4, 10],
      // Only a tube under load tells an output tube's grid current.
      ...(facts.isOutputTube ? { gridCurrent: underLoad(type) } : {}),
    },
  };
}

/** The published operating point of the type, where a grid current is read. */
function underLoad(type: string): NonNullable<BenchPlan['gridCurrent']> {
  const unit = findDevice(type)?.device.units[0];
  for (const point of unit?.points ?? []) {
    if (point.kind !== 'operating' && point.kind !== 'conversion') continue;
    const gridVolts = point.kind === 'conversion' ? point.signalGrid_V : point.grid_V;
    if (gridVolts === undefined) continue;
    return {
      plateVolts: point.plate_V,
      gridVolts,
      ...(point.screen_V === undefined ? {} : { screenVolts: point.screen_V }),
    };
  }
  throw new Error(`${type} has no operating point with a grid voltage`);
}

const ERRORS = [
  'newSaturation', 'testCurrent', 'compression', 'blendSharpness', 'emissionReading', 'emissionScale',
  'dropReading', 'cathodeLag', 'workFunction', 'heaterExponent', 'spaceChargeFall', 'leakHeat',
  'leakVolts', 'warmUpTime', 'warmUpEnergy', 'warmUpFloor', 'leakReading0', 'leakReading1',
  'leakReading2', 'gridCurrentReading', 'heaterCathodeReading',
]; // prettier-ignore

export interface Sample {
  readonly kind: string;
  /** What was read of the tube in each place of the stage. */
  readonly readings: readonly Readings[];
}

/**
 * New tubes of the type's population, with every reading that an ordinary bench takes and its errors; for a push-pull stage in
 * pairs as they are sold.
 */
export function newTubes(bed: Bed, count: number, seed: string): Sample[] {
  const places = bed.stage.tubes;
  const all = newReadings(bed, count * places, `new ${seed}`);
  const lots = bed.stage.id === 'output-push-pull' ? soldInPairs(bed, all) : lotsOf(all, places);
  return lots.map((lot) => ({ kind: 'new', readings: lot.map(({ readings }) => readings) }));
}

interface ReadTube {
  readonly tube: TubeCondition;
  readonly readings: Readings;
}

function newReadings(bed: Bed, count: number, seed: string): ReadTube[] {
  return latinHypercube([...NEW_TUBE_UNKNOWNS, ...ERRORS], count, seed).map((draw) => {
    const tube = newTubeOf(bed.facts, bed.character, draw);
    return { tube, readings: readBench(tube, bed.profile, bed.facts, draw, bed.plan) };
  });
}

const lotsOf = (all: readonly ReadTube[], size: number): ReadTube[][] =>
  Array.from({ length: all.length / size }, (_, i) => all.slice(i * size, (i + 1) * size));

/** Matched tubes are sold with plate currents within ten per cent; common practice, no source. */
const SOLD_WITHIN = 0.1;

/** Each with the next one of its box that matches it; the last ones with what is left that comes nearest. */
function soldInPairs({ type, model }: Bed, all: readonly ReadTube[]): ReadTube[][] {
  const { plateVolts: plate, screenVolts: screen = 0, gridVolts: grid } = underLoad(type);
  // what the seller reads, without an error: plate current at the published operating point
  const plate_A = ({ tube }: ReadTube): number =>
    model.currents({ plate, screen, grid, cathode: 0 }, atHeaterVoltage(tube)).plate!;
  const box = [...all];
  const pairs: ReadTube[][] = [];
  for (let one = box.shift(); one !== undefined; one = box.shift()) {
    const amps = plate_A(one);
    const apart = box.map((other) => Math.abs(plate_A(other) / amps - 1));
    const match = apart.findIndex((share) => share <= SOLD_WITHIN);
    const nearest = match >= 0 ? match : apart.indexOf(Math.min(...apart));
    pairs.push([one, ...box.splice(nearest, 1)]);
  }
  return pairs;
}

/** The tube in one of the places of a stage, in turn; new ones, read too, in the others. */
function among(bed: Bed, all: readonly Readings[], seed: string): (readonly Readings[])[] {
  const { tubes } = bed.stage;
  const others =
    tubes === 1
      ? []
      : newReadings(bed, all.length * (tubes - 1), `beside ${seed}`).map(
          ({ readings }) => readings,
        );
  return all.map((readings, i) => {
    const beside = others.slice(i * (tubes - 1), (i + 1) * (tubes - 1));
    // by halves, since what is wrong with a tube goes in turn too
    const place = Math.floor((i * tubes) / all.length);
    return [...beside.slice(0, place), readings, ...beside.slice(place)];
  });
}

export const RUINS = ['no emission', 'saturated', 'leaky', 'gassy'] as const;
/** What ruins a diode, which has no grid to leak or to collect ions, and a tube whose grid circuit hardly feels either. */
const RUINS_OF_CATHODES = ['no emission', 'saturated'] as const;
const LOW_GRID_CIRCUIT_OHM = 100e3;

const gridCircuit_ohm = ({ stage, values }: Bed): number =>
  stage.gridCircuit.reduce((sum, key) => sum + Number(values[key]?.value ?? 0), 0);

/** Reverse grid current that is out of every type's limits and moves this socket's grid by two volts. */
const leastGas_A = (bed: Bed): number => Math.max(6e-6, 2 / gridCircuit_ohm(bed));

/**
 * Tubes that anyone would throw out, in turn: emission gone, cathode saturated, grid leaky, gassy. Ruined for any socket: a
 * cathode that still gives a fifth of the typical current does serve where less than that is drawn.
 */
export function ruinedTubes(bed: Bed, count: number, seed: string): Sample[] {
  const names = [...NEW_TUBE_UNKNOWNS, ...ERRORS, 'how bad'];
  const { facts } = bed;
  const found = latinHypercube(names, count, `ruined ${seed}`).map((draw, i) => {
    const ruins =
      facts.family === 'diode' || gridCircuit_ohm(bed) < LOW_GRID_CIRCUIT_OHM
        ? RUINS_OF_CATHODES
        : RUINS;
    const kind = ruins[i % ruins.length] ?? 'leaky';
    const good = newTubeOf(facts, bed.character, draw);
    const between = (from: number, to: number): number =>
      from * (to / from) ** normalCdf(draw['how bad'] ?? 0);
    const truth: TubeCondition = {
      ...good,
      ...(kind === 'no emission'
        ? { area: between(0.05, 0.2), saturation_A: facts.typicalCathode_A * between(0.02, 0.1) }
        : kind === 'saturated'
          ? { saturation_A: facts.typicalCathode_A * between(0.01, 0.05) }
          : kind === 'gassy'
            ? { gasRatio: between(leastGas_A(bed), 4e-5) / facts.typicalCathode_A }
            : {
                leaks: [
                  ...good.leaks.filter(({ between: pair }) => pair.includes('heater')),
                  {
                    between: [controlGrid(facts), 'plate'],
                    siemens: 1 / between(5e5, 5e6),
                  },
                ],
              }),
    };
    // Gas shows only with the tube conducting: such a tube is told by its grid current, whatever the type.
    const plan: BenchPlan =
      kind === 'gassy' && bed.plan.gridCurrent === undefined
        ? { ...bed.plan, gridCurrent: underLoad(bed.type) }
        : bed.plan;
    return { kind, readings: readBench(truth, bed.profile, facts, draw, plan) };
  });
  const placed = among(
    bed,
    found.map(({ readings }) => readings),
    `ruined ${seed}`,
  );
  return found.map(({ kind }, i) => ({ kind, readings: placed[i]! }));
}

export interface WithAndWithout {
  readonly left: string;
  readonly readings: readonly Readings[];
  readonly fewer: readonly Readings[];
}

/** Tubes from new to ruined, each with all readings of the plan and with one left out, in turn. */
export function oneMissing(bed: Bed, count: number, seed: string): WithAndWithout[] {
  const names = [...NEW_TUBE_UNKNOWNS, ...ERRORS, 'wear', 'cathode', 'leak', 'gas'];
  const { facts } = bed;
  const found = latinHypercube(names, count, `missing ${seed}`).map((draw, i) => {
    const u = (name: string): number => normalCdf(draw[name] ?? 0);
    const log = (from: number, to: number, at: number): number => from * (to / from) ** at;
    const good = newTubeOf(facts, bed.character, draw);
    const truth: TubeCondition = {
      ...good,
      area: good.area * (1 - 0.7 * u('wear') ** 2),
      saturation_A: good.saturation_A * log(1, 0.03, u('cathode') ** 2),
      // Gas of a small tube is known from such tubes, not from a reading: see `readGas`.
      gasRatio:
        good.gasRatio +
        (facts.isOutputTube ? log(1e-8, 1e-5, u('gas')) / facts.typicalCathode_A : 0),
      leaks: [
        ...good.leaks.filter(({ between }) => between.includes('heater')),
        { between: [controlGrid(facts), 'plate'], siemens: 1 / log(1e6, 1e11, u('leak')) },
      ],
    };
    const readings = readBench(truth, bed.profile, facts, draw, bed.plan);
    const keys = Object.keys(readings);
    const left = keys[i % keys.length] ?? 'emission';
    const fewer = Object.fromEntries(Object.entries(readings).filter(([key]) => key !== left));
    return { left, readings, fewer };
  });
  const placed = (of: 'readings' | 'fewer') =>
    among(
      bed,
      found.map((one) => one[of]),
      `missing ${seed}`,
    );
  const [all, without] = [placed('readings'), placed('fewer')];
  return found.map(({ left }, i) => ({ left, readings: all[i]!, fewer: without[i]! }));
}

/** What a verdict promises. "Cannot be told" promises as little as "unsuitable". */
export const promise = (verdict: Report['verdict']): number =>
  verdict === 'usable' ? 2 : verdict === 'marginal' ? 1 : 0;

export function judge(
  bed: Bed,
  readings: readonly Readings[],
  simulator: Simulator,
  draws = 32,
): Promise<Report> {
  const [tube, ...companions] = readings.map((read, i) => ({
    id: `T${i + 1}`,
    type: bed.type,
    section: '',
    model: bed.model,
    wear: wearFrom(read, bed.profile, bed.facts, 'readings', i === 0 ? '' : `V${i + 1}.`),
    warnings: [],
  }));
  return assess(
    {
      socket: { id: 'S', title: bed.name, stage: bed.stage, values: bed.values, limits: {} },
      tube: tube!,
      companions,
    },
    simulator,
    // what explains a verdict does not change it
    { draws, changes: false, explain: false },
  );
}

/** Two at a time: a verdict by itself leaves an engine idle now and then. */
export async function inLanes<T>(all: readonly T[], run: (one: T) => Promise<void>): Promise<void> {
  const left = all.values();
  const lane = async (): Promise<void> => {
    for (const one of left) await run(one);
  };
  await Promise.all([lane(), lane()]);
}

/** How often a verdict without one reading promises more than the verdict with it. Must not happen. */
export async function betterWithout(
  bed: Bed,
  count: number,
  seed: string,
  simulator: Simulator,
  draws = 32,
): Promise<{ better: number; promising: number; said: string[] }> {
  const said: string[] = [];
  let promising = 0;
  await inLanes(oneMissing(bed, count, seed), async ({ readings, fewer, left }) => {
    const part = await judge(bed, fewer, simulator, draws);
    // What promises nothing cannot promise more.
    if (promise(part.verdict) === 0) return;
    promising += 1;
    const whole = await judge(bed, readings, simulator, draws);
    if (promise(part.verdict) > promise(whole.verdict))
      said.push(
        `without ${left}: ${part.verdict}, with it ${whole.verdict}: ${whole.decidedBy.sentence}`,
      );
  });
  return { better: said.length, promising, said };
}
