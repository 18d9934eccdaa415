import type { PinVolts, TubeModel, TubeState } from '../src/types.ts';
import { newTubeState } from './cathode.ts';

export interface OperatingVolts {
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
}

export interface Characteristics {
  readonly plateCurrent_mA: number;
  readonly screenCurrent_mA: number;
  readonly gm_mS: number;
  readonly rp_ohm: number;
  readonly mu: number;
}

/**
 * Static characteristics at an operating point, volts to the cathode, by central differences. mu = gm·rp.
 *
 * @param state what wear did to the tube; a bogey tube by default
 */
export function characteristics(
  model: TubeModel,
  at: OperatingVolts,
  state: TubeState = newTubeState(model),
): Characteristics {
  const pins = (plate_V: number, grid_V: number): PinVolts => ({
    plate: plate_V,
    grid: grid_V,
    cathode: 0,
    ...(at.screen_V === undefined ? {} : { screen: at.screen_V }),
  });
  const here = model.currents(pins(at.plate_V, at.grid_V), state);
  const plate_A = (plate_V: number, grid_V: number) =>
    model.currents(pins(plate_V, grid_V), state).plate ?? 0;
  const dg = 1e-3;
  const dp = 0.02 + 1e-3 * Math.abs(at.plate_V);
  const gm_S =
    (plate_A(at.plate_V, at.grid_V + dg) - plate_A(at.plate_V, at.grid_V - dg)) / (2 * dg);
  const gp_S =
    (plate_A(at.plate_V + dp, at.grid_V) - plate_A(at.plate_V - dp, at.grid_V)) / (2 * dp);
  return {
    plateCurrent_mA: (here.plate ?? 0) * 1e3,
    screenCurrent_mA: (here.screen ?? 0) * 1e3,
    gm_mS: gm_S * 1e3,
    rp_ohm: 1 / gp_S,
    mu: gm_S / gp_S,
  };
}
