import { normalCdf, Z90 } from '../numerics/normal.ts';
import type { Draw, Electrode, Known, Leak, Unknown } from '../types.ts';
import { leakVolts } from './check.ts';
import { bogeyCathode_A, controlGrid, type TubeFacts } from './facts.ts';
import { atTest_S, type LeakReading } from './leak.ts';
import {
  BAD,
  GAS,
  GRID_EMISSION,
  GRID_HEAT,
  GRID_SHARE,
  LEAK_TEST_GAS,
  UNSEEN_GAS,
} from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { GridCurrentReading, Readings } from './readings.ts';

/** Reverse grid current under one draw. */
export interface GridState {
  readonly gasRatio: number;
  readonly gridEmission_A: number;
  /** What is left of the unplaced grid leak once gas is taken out of the same reading. */
  readonly leakShare: number;
}

export interface GasReading {
  readonly unknowns: readonly Unknown[];
  /** `area` scales the cathode current at the reading's volts. */
  at(draw: Draw, area: number): GridState;
  readonly known: Known;
}

/** Least grid current that a bench can tell from nothing, A: common practice, no source. */
const RESOLUTION_A = 10e-9;

/** Part of a leakage reading that may be gas: some leak is always left. */
const MOST_GAS = 0.98;

/**
 * Gas and grid emission. Only a reading with the tube conducting knows gas: the grid current itself, or a leakage
 * test with plate current. Else the prior of good tubes; for output tubes that is a reading not taken.
 */
export function readGas(
  readings: Readings,
  profile: InstrumentProfile,
  tube: TubeFacts,
  leaks: LeakReading,
): GasReading {
  const emissionPrior_A = tube.isOutputTube ? GRID_EMISSION.output_A : GRID_EMISSION.small_A;
  const priorGas = (draw: Draw): number => GAS.median * Math.exp(GAS.sd * (draw['gas'] ?? 0));
  const priorEmission = (draw: Draw): number =>
    emissionPrior_A * Math.exp(GRID_EMISSION.sd * (draw['gridEmission'] ?? 0));
  const current = readings.gridCurrent;
  const fact = leaks.unplaced;
  const last = readings.leakage?.at(-1);
  const conducting =
    profile.leakage.withPlateCurrent &&
    fact !== undefined &&
    fact.said !== 'unread' &&
    last !== undefined;
  const test_A = profile.leakage.cathodeCurrent_A ?? tube.typicalCathode_A;
  // Share of a leakage reading with plate current that is gas: what tubes good to bad have, against the reading. A grid
  // current that was read bounds it: no more gas than that, and no more leak than would draw it on this path. The more the
  // leak would overshoot, the further beyond its bound the gas may go (form chosen on round trips; no source).
  const gasShareOf = (draw: Draw): number => {
    if (!conducting || fact.said === 'aboveScale') return 0;
    const z = draw['leakGasShare'] ?? 0;
    const seen_A = leakVolts(last, profile) * atTest_S(fact, draw);
    const gas_A = LEAK_TEST_GAS.median * test_A * Math.exp(LEAK_TEST_GAS.sd * z);
    const share = gas_A / (gas_A + seen_A);
    if (current === undefined) return share;
    const grid_A = Math.max(current.microamps * 1e-6, RESOLUTION_A);
    const least = Math.max(1 - grid_A / leakCurrent_A(leaks.onBench(draw), tube, current), 0);
    const most = Math.min((grid_A * test_A) / bogeyAt(current, tube) / seen_A, MOST_GAS);
    return Math.min(Math.max(share, least + (1 - least) * least * normalCdf(z)), most);
  };
  const leakShareUnknown: Unknown[] =
    conducting && fact.said !== 'aboveScale'
      ? [
          {
            name: 'leakGasShare',
            known: 'prior',
            title: 'share of the leakage reading that is gas',
          },
        ]
      : [];
  if (current !== undefined) {
    const at = (draw: Draw, area: number): GridState => {
      const cathode_A = Math.max(bogeyAt(current, tube) * area, 1e-6);
      const error =
        (profile.leakage.accuracy_percent / 100 / Z90) * (draw['gridCurrentReading'] ?? 0);
      const seen_A = Math.max(current.microamps * 1e-6 * Math.exp(error), 0);
      const ohmic_A = leakCurrent_A(leaks.onBench(draw, 1 - gasShareOf(draw)), tube, current);
      // What the leak does not explain. The more it may explain, the less sure the rest; some gas may hide below it.
      const z = draw['gas'] ?? 0;
      const doubt = ohmic_A / (ohmic_A + seen_A + 1e-15);
      const over_A =
        Math.max(seen_A - ohmic_A, 0) * Math.exp(doubt * (UNSEEN_GAS.rest + UNSEEN_GAS.restSd * z));
      const hidden_A = seen_A * UNSEEN_GAS.share * Math.exp(UNSEEN_GAS.sd * z);
      const rest_A = Math.min(over_A + doubt * hidden_A, seen_A);
      const share = normalCdf(GRID_SHARE.center + GRID_SHARE.sd * (draw['gasShare'] ?? 0));
      const early = tube.isOutputTube && (current.minutes ?? 0) < 10;
      const heat = early ? GRID_HEAT.factor * Math.exp(GRID_HEAT.sd * (draw['gridHeat'] ?? 0)) : 1;
      // Below what the bench resolves the prior speaks, smoothly.
      const loud = seen_A ** 2 / (seen_A ** 2 + RESOLUTION_A ** 2);
      const quietGas = Math.min(priorGas(draw), RESOLUTION_A / cathode_A);
      const quietEmission_A = Math.min(priorEmission(draw), RESOLUTION_A);
      return {
        gasRatio: loud * ((rest_A * share) / cathode_A) + (1 - loud) * quietGas,
        gridEmission_A: loud * rest_A * (1 - share) * heat + (1 - loud) * quietEmission_A,
        leakShare: 1 - gasShareOf(draw),
      };
    };
    const unknowns: Unknown[] = [
      ...leakShareUnknown,
      { name: 'gridCurrentReading', known: 'read', title: 'error of the grid current reading' },
      { name: 'gasShare', known: 'prior', title: 'share of the grid current that is gas' },
      { name: 'gas', known: 'prior', title: 'gas below what the reading shows' },
      { name: 'gridEmission', known: 'prior', title: 'grid emission below what the reading shows' },
    ];
    if (tube.isOutputTube && (current.minutes ?? 0) < 10) {
      unknowns.push({
        name: 'gridHeat',
        known: 'prior',
        title: 'grid emission in a tube fully hot',
      });
    }
    return { unknowns, at, known: 'read' };
  }
  if (conducting) {
    const volts = leakVolts(last, profile);
    const at = (draw: Draw, area: number): GridState => {
      const share = gasShareOf(draw);
      const seen_A = volts * atTest_S(fact, draw);
      const most_A = volts * (fact.atMost_S ?? Infinity);
      return {
        gasRatio:
          fact.said === 'aboveScale'
            ? Math.min(priorGas(draw), most_A / (test_A * area))
            : (share * seen_A) / (test_A * area),
        gridEmission_A: priorEmission(draw),
        leakShare: 1 - share,
      };
    };
    return {
      unknowns: [
        ...leakShareUnknown,
        { name: 'gas', known: 'prior', title: 'gas below what the reading shows' },
        { name: 'gridEmission', known: 'prior', title: 'grid emission' },
      ],
      at,
      known: 'read',
    };
  }
  const known: Known = tube.isOutputTube ? 'unread' : 'prior';
  return {
    unknowns: [
      { name: 'gas', known, title: 'gas, not tested' },
      { name: 'gridEmission', known, title: 'grid emission, not tested' },
    ],
    at: (draw) => ({ gasRatio: priorGas(draw), gridEmission_A: priorEmission(draw), leakShare: 1 }),
    known,
  };
}

/** Of a bogey tube; enough to divide by. */
const bogeyAt = (at: GridCurrentReading, tube: TubeFacts): number =>
  Math.max(bogeyCathode_A(tube, at), 1e-6);

/** Gas and grid emission of a plainly bad tube. */
export function badGrid(): Pick<GridState, 'gasRatio' | 'gridEmission_A'> {
  return { gasRatio: BAD.gasRatio, gridEmission_A: BAD.gridEmission_A };
}

/** Current out of the grid through its leaks at the volts of a reading, A. */
function leakCurrent_A(
  leaks: readonly Leak[],
  tube: TubeFacts,
  at: { plateVolts: number; screenVolts?: number; gridVolts: number },
): number {
  const grid = controlGrid(tube);
  const volts: Partial<Record<Electrode, number>> = {
    plate: at.plateVolts,
    screen: at.screenVolts ?? at.plateVolts,
    cathode: 0,
    heater: 0,
  };
  return leaks
    .filter(({ between }) => between.includes(grid))
    .reduce((sum, { between, siemens }) => {
      const other = between[0] === grid ? between[1] : between[0];
      return sum + siemens * Math.max((volts[other] ?? 0) - at.gridVolts, 0);
    }, 0);
}
