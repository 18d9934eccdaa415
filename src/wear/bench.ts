/**
 * The bench, forward: what an instrument reads of a tube whose wear is known. For round trips and for populations of
 * new tubes; every error and every assumption is a standard normal of the draw, under the names that `wearFrom` uses.
 */
import { Z90 } from '../numerics/normal.ts';
import type { Draw, TubeCondition } from '../types.ts';
import { assumptions, heldShare, type Context } from './cathode.ts';
import { BOLTZMANN_EV_PER_K } from './constants.ts';
import { bogeyCathode_A, controlGrid, type TubeFacts } from './facts.ts';
import { compression, emissionMeaning, testCurrent } from './instrument.ts';
import { notOhmic } from './leak.ts';
import { CABINET, NOT_OHMIC, OUTPUT_HEAT } from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { EmissionReading, LeakageReading, LeakValue, Readings } from './readings.ts';
import { readingOf } from './split.ts';

/** Which readings are taken. */
export interface BenchPlan {
  readonly starvedHeater?: boolean;
  /** Minutes since switch-on of each leakage reading. */
  readonly leakageMinutes?: readonly number[];
  readonly heaterCathode?: boolean;
  readonly gridCurrent?: {
    readonly plateVolts: number;
    readonly screenVolts?: number;
    readonly gridVolts: number;
  };
}

export const USUAL_PLAN: BenchPlan = {
  starvedHeater: true,
  leakageMinutes: [1, 4, 10],
  heaterCathode: true,
};

/** Warm-up of a leak on this bench: unknowns `warmUpTime`, `warmUpEnergy`, `warmUpFloor` of the draw. */
function warmUpShare(seconds: number, draw: Draw): number {
  const tau = 180 * Math.exp(0.5 * (draw['warmUpTime'] ?? 0));
  const energy_eV = Math.min(Math.max(0.5 + 0.15 * (draw['warmUpEnergy'] ?? 0), 0.1), 1.1);
  const floor = Math.min(0.1 * Math.exp(0.8 * (draw['warmUpFloor'] ?? 0)), 0.7);
  const kelvin = 310 + 140 * -Math.expm1(-seconds / tau);
  const share = Math.exp((-energy_eV / BOLTZMANN_EV_PER_K) * (1 / kelvin - 1 / 450));
  return floor + (1 - floor) * share;
}

/**
 * Readings of a tube section in a known condition (leaks as they are hot in the set).
 *
 * @param errors standard normals by name; absent names are 0: no error, median assumptions
 */
export function readBench(
  truth: TubeCondition,
  profile: InstrumentProfile,
  tube: TubeFacts,
  errors: Draw = {},
  plan: BenchPlan = USUAL_PLAN,
): Readings {
  const context: Context = {
    current: testCurrent(profile.emission, tube),
    compression: compression(profile.emission, tube),
  };
  const { of, testCurrent_A } = assumptions(profile, tube, context, errors);
  const { e, d } = readingOf(truth.area, truth.saturation_A / testCurrent_A, of);
  const starved = profile.starvedHeater;
  const grid = controlGrid(tube);
  const test = profile.leakage;

  const heat = tube.isOutputTube && !test.withPlateCurrent ? OUTPUT_HEAT : CABINET;
  const cabinet = heat.factor * Math.exp(heat.sd * (errors['leakHeat'] ?? 0));
  const toCircuit = cabinet * Math.exp(notOhmic(test.volts) * (errors['leakVolts'] ?? 0));
  const grid_S = truth.leaks
    .filter(({ between }) => between.includes(grid))
    .reduce((sum, { siemens }) => sum + siemens, 0);
  const gas_A = test.withPlateCurrent
    ? truth.gasRatio * (test.cathodeCurrent_A ?? tube.typicalCathode_A) * truth.area
    : 0;
  const leakage = (plan.leakageMinutes ?? []).map((minutes, i): LeakageReading => {
    const warm = (grid_S / toCircuit) * warmUpShare(minutes * 60, errors);
    return {
      ...leakValue(warm + gas_A / test.volts, profile, errors[`leakReading${String(i)}`]),
      minutes,
    };
  });

  const plan_ = plan.gridCurrent;
  const heater_S = truth.leaks
    .filter(({ between }) => between.includes('heater') && between.includes('cathode'))
    .reduce((sum, { siemens }) => sum + siemens, 0);
  return {
    emission: [emissionReading(e, profile, tube, testCurrent_A, errors)],
    ...(plan.starvedHeater === true && starved !== undefined
      ? {
          starvedHeater: {
            drop_percent: Math.min(
              Math.max(
                100 * d * heldShare(starved.heldSeconds, errors['cathodeLag'] ?? 0) -
                  (starved.accuracy_points / Z90) * (errors['dropReading'] ?? 0),
                0,
              ),
              99,
            ),
          },
        }
      : {}),
    ...(leakage.length > 0 ? { leakage } : {}),
    ...(plan.heaterCathode === true && tube.electrodes.includes('heater')
      ? {
          heaterCathode: [
            {
              ...leakValue(
                (heater_S / Math.exp(NOT_OHMIC.sd * (errors['leakVolts'] ?? 0))) *
                  warmUpShare(600, errors),
                profile,
                errors['heaterCathodeReading'],
              ),
              minutes: 10,
            },
          ],
        }
      : {}),
    ...(plan_ === undefined
      ? {}
      : {
          gridCurrent: {
            ...plan_,
            microamps: 1e6 * reverse_A(truth, profile, tube, plan_, errors, cabinet),
            minutes: 15,
          },
        }),
  };
}

function emissionReading(
  e: number,
  profile: InstrumentProfile,
  tube: TubeFacts,
  testCurrent_A: number,
  errors: Draw,
): EmissionReading {
  const test = profile.emission;
  const { scale } = test;
  if (scale.kind === 'zones') {
    const seen =
      e * Math.exp((-test.accuracy_percent / 100 / Z90) * (errors['emissionScale'] ?? 0));
    const zone =
      scale.zones.find(
        ({ from_percent, to_percent }) => seen * 100 >= from_percent && seen * 100 < to_percent,
      ) ?? scale.zones.at(seen > 0.5 ? -1 : 0);
    return { zone: zone?.name ?? '' };
  }
  const unit: EmissionReading =
    scale.kind === 'percent'
      ? { percent: 1 }
      : scale.kind === 'milliamps'
        ? { milliamps: 1 }
        : { divisions: 1 };
  // Every scale is linear: what one unit means under these errors tells how many are read.
  const one = emissionMeaning(unit, test, tube, 'emission').e(
    errors['emissionReading'] ?? 0,
    errors['emissionScale'] ?? 0,
    testCurrent_A,
  );
  const read = e / one;
  if (scale.kind === 'percent') return { percent: read };
  return scale.kind === 'milliamps' ? { milliamps: read } : { divisions: read };
}

function leakValue(siemens: number, profile: InstrumentProfile, z = 0): LeakValue {
  const { top_ohm, accuracy_percent } = profile.leakage;
  const seen = siemens * Math.exp((accuracy_percent / 100 / Z90) * z);
  return seen <= 1 / top_ohm ? { aboveMegohms: top_ohm / 1e6 } : { megohms: 1e-6 / seen };
}

/** Reverse grid current with the tube conducting, A. */
function reverse_A(
  truth: TubeCondition,
  profile: InstrumentProfile,
  tube: TubeFacts,
  at: NonNullable<BenchPlan['gridCurrent']>,
  errors: Draw,
  cabinet: number,
): number {
  const bogey_A = bogeyCathode_A(tube, at);
  const grid = controlGrid(tube);
  const ohmic_A = truth.leaks
    .filter(({ between }) => between.includes(grid))
    .reduce((sum, { between, siemens }) => {
      const other = between[0] === grid ? between[1] : between[0];
      const volts =
        other === 'plate'
          ? at.plateVolts
          : other === 'screen'
            ? (at.screenVolts ?? at.plateVolts)
            : 0;
      return sum + (siemens / cabinet) * (volts - at.gridVolts);
    }, 0);
  const error = Math.exp(
    -(profile.leakage.accuracy_percent / 100 / Z90) * (errors['gridCurrentReading'] ?? 0),
  );
  return (truth.gasRatio * bogey_A * truth.area + truth.gridEmission_A + ohmic_A) * error;
}
