import type { TubeModel } from '../src/types.ts';
import { newTubeState } from './cathode.ts';
import { characteristics, type OperatingVolts } from './characteristics.ts';
import type { FitResidual, Point } from './device.ts';
import { rootOfRising } from './root.ts';

/** One published number beside what the model says of it. */
export interface Compared {
  readonly quantity: FitResidual['quantity'];
  readonly published: number;
  readonly model: number;
}

/** Everything a published point says, beside the model's figures for it. */
export function compare(model: TubeModel, point: Point): readonly Compared[] {
  const volts = (grid_V: number): OperatingVolts => ({
    plate_V: point.plate_V,
    grid_V,
    ...(point.screen_V === undefined ? {} : { screen_V: point.screen_V }),
  });
  switch (point.kind) {
    case 'curve':
      return [
        {
          quantity: 'plate_mA',
          published: point.plate_mA,
          model: plate_mA(model, volts(point.grid_V)),
        },
      ];
    case 'cutoff': {
      const excess = (grid_V: number) =>
        logRatio(1e3 * plate_mA(model, volts(grid_V)), point.plate_uA);
      return [
        { quantity: 'cutoff_V', published: point.grid_V, model: rootOfRising(excess, -400, 0) },
      ];
    }
    case 'gmAt': {
      const excess = (grid_V: number) =>
        logRatio(1e3 * characteristics(model, volts(grid_V)).gm_mS, point.gm_uS);
      return [
        { quantity: 'gmAt_V', published: point.grid_V, model: rootOfRising(excess, -400, 0) },
      ];
    }
    case 'operating': {
      const grid_V = point.grid_V ?? selfBias_V(model, volts(0), point.cathode_ohm ?? 0);
      const c = characteristics(model, volts(grid_V));
      const pairs: readonly (readonly [FitResidual['quantity'], number | undefined, number])[] = [
        ['plate_mA', point.plate_mA, c.plateCurrent_mA],
        ['screen_mA', point.screen_mA, c.screenCurrent_mA],
        ['gm_mS', point.gm_mS, c.gm_mS],
        ['rp_ohm', point.rp_ohm, c.rp_ohm],
        ['mu', point.mu, c.mu],
      ];
      return pairs.flatMap(([quantity, published, value]) =>
        published === undefined ? [] : [{ quantity, published, model: value }],
      );
    }
  }
}

/** The bias that a cathode resistor makes of the tube's own current, V (negative). Voltages are to the cathode. */
export function selfBias_V(model: TubeModel, at: OperatingVolts, cathode_ohm: number): number {
  const state = newTubeState(model);
  const excess = (grid_V: number) =>
    grid_V -
    cathode_ohm *
      (model.currents(
        { plate: at.plate_V, screen: at.screen_V ?? 0, grid: grid_V, cathode: 0 },
        state,
      ).cathode ?? 0);
  return rootOfRising(excess, -100, 0);
}

function plate_mA(model: TubeModel, at: OperatingVolts): number {
  const pins = { plate: at.plate_V, screen: at.screen_V ?? 0, grid: at.grid_V, cathode: 0 };
  return 1e3 * (model.currents(pins, newTubeState(model)).plate ?? 0);
}

/** Far below cutoff the current underflows to 0, whose logarithm no root finder can use. */
function logRatio(value: number, reference: number): number {
  return Math.log(Math.max(value, 1e-300) / reference);
}
