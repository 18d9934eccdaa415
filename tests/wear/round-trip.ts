/** Seeded tubes of known wear, read on an invented bench and read back. */
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { normalCdf } from '../../src/numerics/normal.ts';
import { quantile } from '../../src/numerics/quantiles.ts';
import type { Draw, TubeCondition } from '../../src/types.ts';
import { readBench, type BenchPlan } from '../../src/wear/bench.ts';
import type { TubeFacts } from '../../src/wear/facts.ts';
import type { InstrumentProfile } from '../../src/wear/profile.ts';
import type { Readings } from '../../src/wear/readings.ts';
import { wearFrom } from '../../src/wear/wear.ts';

const ERRORS = [
  'newSaturation', 'testCurrent', 'compression', 'blendSharpness', 'emissionReading', 'emissionScale',
  'dropReading', 'cathodeLag', 'workFunction', 'heaterExponent', 'spaceChargeFall', 'leakHeat',
  'leakVolts', 'warmUpTime', 'warmUpEnergy', 'warmUpFloor', 'leakReading0', 'leakReading1',
  'leakReading2', 'gridCurrentReading', 'heaterCathodeReading',
]; // prettier-ignore
const TRUTH = [
  'true area',
  'true wear',
  'true leak',
  'true gas',
  'true share',
  'true path',
  'true heater',
];

/** What a bench takes, from everything to little. */
export const PLANS: Readonly<Record<string, BenchPlan>> = {
  'all readings': {
    starvedHeater: true,
    heaterCathode: true,
    leakageMinutes: [1, 4, 10],
    gridCurrent: { plateVolts: 250, screenVolts: 250, gridVolts: -12.5 },
  },
  'leakage early': { starvedHeater: true, leakageMinutes: [1, 2, 4] },
  'emission and one leakage': { leakageMinutes: [3] },
};

export interface Case {
  readonly truth: TubeCondition;
  readonly readings: Readings;
  readonly errors: Draw;
}

/** Worn tubes: area 0.5–1.1 of new, saturation 0.06–1 of new, grid leak 2–200 MΩ hot in the set, gas 1e-6–1e-3. */
export function cases(
  count: number,
  seed: string,
  profile: InstrumentProfile,
  tube: TubeFacts,
  plan: BenchPlan,
): Case[] {
  return latinHypercube([...ERRORS, ...TRUTH], count, seed).map((errors) => {
    const u = (name: string): number => normalCdf(errors[name] ?? 0);
    const log = (from: number, to: number, at: number): number => from * (to / from) ** at;
    const new_A = tube.newSaturation_A * Math.exp(0.36 * (errors['newSaturation'] ?? 0));
    const grid_A = log(1e-7, 5e-6, u('true gas'));
    const share = normalCdf(1 + (errors['true share'] ?? 0));
    const truth: TubeCondition = {
      area: 0.5 + 0.6 * u('true area'),
      saturation_A: new_A * log(0.06, 1, u('true wear')),
      gasRatio: (grid_A * share) / tube.typicalCathode_A,
      gridEmission_A: grid_A * (1 - share),
      contactShift_V: 0,
      interface_ohm: 0,
      leaks: [
        {
          between: ['grid', u('true path') < 0.5 ? 'plate' : 'cathode'],
          siemens: 1 / log(2e6, 2e8, u('true leak')),
        },
        { between: ['heater', 'cathode'], siemens: 1 / log(5e5, 5e7, u('true heater')) },
      ],
    };
    return { truth, errors, readings: readBench(truth, profile, tube, errors, plan) };
  });
}

export type Quantity = 'area' | 'saturation' | 'leak' | 'gas' | 'gridEmission' | 'heaterCathode';

/** For each case: whether the 90 % interval holds the truth; undefined where the readings do not tell. */
export function holds(
  one: Case,
  profile: InstrumentProfile,
  tube: TubeFacts,
  draws = 200,
): Partial<Record<Quantity, boolean>> {
  const wear = wearFrom(one.readings, profile, tube);
  const conditions = latinHypercube(
    wear.unknowns.map(({ name }) => name),
    draws,
    'interval',
  ).map((d) => wear.condition(d));
  const inside = (value: number, of: (condition: TubeCondition) => number): boolean => {
    const values = conditions.map(of);
    return value >= quantile(values, 0.05) && value <= quantile(values, 0.95);
  };
  const leak = ({ leaks }: TubeCondition): number =>
    leaks
      .filter(({ between }) => between.includes('grid'))
      .reduce((sum, { siemens }) => sum + siemens, 0);
  const heater = ({ leaks }: TubeCondition): number =>
    leaks.find(({ between }) => between.includes('heater') && between.includes('cathode'))
      ?.siemens ?? 0;
  const line = (id: string) => wear.summary.find((l) => l.id === id);
  const value = (id: string): boolean => line(id)?.value !== null;
  return {
    ...(value('area') ? { area: inside(one.truth.area, (c) => c.area) } : {}),
    saturation: inside(one.truth.saturation_A, (c) => c.saturation_A),
    ...(value('gridLeak') ? { leak: inside(leak(one.truth), leak) } : {}),
    ...(value('gas') && one.readings.gridCurrent !== undefined
      ? {
          gas: inside(one.truth.gasRatio, (c) => c.gasRatio),
          gridEmission: inside(one.truth.gridEmission_A, (c) => c.gridEmission_A),
        }
      : {}),
    ...(value('heaterCathode') ? { heaterCathode: inside(heater(one.truth), heater) } : {}),
  };
}
