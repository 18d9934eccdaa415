import { backSubstitute, norm, triangulate } from '../src/numerics/qr.ts';
import type { TubeModel } from '../src/types.ts';
import { newTubeState } from './cathode.ts';
import { characteristics } from './characteristics.ts';

/** A resistance-coupled stage as the handbook charts have it: cathode and screen bypassed, the grid at chassis. */
export interface CoupledStage {
  readonly supply_V: number;
  readonly plate_ohm: number;
  readonly cathode_ohm: number;
  readonly screen_ohm?: number;
  readonly next_ohm: number;
}

export interface CoupledFigures {
  readonly gain: number;
  /** At rest, to chassis. */
  readonly plate_V: number;
  readonly screen_V: number;
  /** At rest, to the cathode. */
  readonly grid_V: number;
  readonly plate_mA: number;
}

/** Rest voltages and their gain, gm·(rp ∥ load ∥ next grid) of a vanishing signal. */
export function coupledStage(model: TubeModel, s: CoupledStage): CoupledFigures {
  const { plate_V, screen_V, cathode_V } = atRest(model, s);
  const c = characteristics(model, {
    plate_V: plate_V - cathode_V,
    grid_V: -cathode_V,
    ...(s.screen_ohm === undefined ? {} : { screen_V: screen_V - cathode_V }),
  });
  return {
    gain: (c.gm_mS * 1e-3) / (1 / c.rp_ohm + 1 / s.plate_ohm + 1 / s.next_ohm),
    plate_V,
    screen_V,
    grid_V: -cathode_V,
    plate_mA: c.plateCurrent_mA,
  };
}

const MOST_STEPS = 60;
/** Voltages are settled within this share of the supply. */
const SETTLED = 1e-11;
/** For the slopes by central differences, V. */
const STEP_V = 1e-4;

/**
 * Voltages at rest, to chassis: Newton's steps, halved while they make matters worse. The currents are smooth for all
 * voltages, so this ends; NaN if not.
 */
function atRest(model: TubeModel, s: CoupledStage) {
  const state = newTubeState(model);
  /** By how much each resistor's drop misses: cathode, plate, screen. */
  const misses = ([cathode = 0, plate = 0, screen = 0]: readonly number[]): number[] => {
    const amps = model.currents({ plate, screen, grid: 0, cathode }, state);
    return [
      cathode + s.cathode_ohm * (amps.cathode ?? 0),
      plate - s.supply_V + s.plate_ohm * (amps.plate ?? 0),
      ...(s.screen_ohm === undefined
        ? []
        : [screen - s.supply_V + s.screen_ohm * (amps.screen ?? 0)]),
    ];
  };
  let volts = [1, s.supply_V / 2, ...(s.screen_ohm === undefined ? [] : [s.supply_V / 4])];
  let missed = misses(volts);
  for (let step = 0; step < MOST_STEPS; step += 1) {
    const here = volts;
    const columns = here.map((_, i) => {
      const moved = (by: number) => misses(here.map((v, k) => (k === i ? v + by : v)));
      const [up, down] = [moved(STEP_V), moved(-STEP_V)];
      return up.map((value, k) => (value - (down[k] ?? NaN)) / (2 * STEP_V));
    });
    const triangle = triangulate(columns, missed);
    const move = backSubstitute(triangle, triangle.rhs, columns.length);
    let share = 1;
    let next = volts;
    let left = missed;
    for (; share > 1e-4; share /= 2) {
      next = here.map((v, i) => v - share * (move[i] ?? NaN));
      left = misses(next);
      if (norm(left) < norm(missed)) break;
    }
    [volts, missed] = [next, left];
    if (norm(move) < SETTLED * s.supply_V || norm(missed) < SETTLED * s.supply_V) {
      const [cathode_V = NaN, plate_V = NaN, screen_V = 0] = volts;
      return { cathode_V, plate_V, screen_V };
    }
  }
  return { cathode_V: NaN, plate_V: NaN, screen_V: NaN };
}
