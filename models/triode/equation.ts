import type { PinAmps, PinVolts, TubeState } from '../../src/types.ts';
import { interfaceDrop_V, wornCurrents_mA, type RawCurrents_mA } from '../cathode.ts';
import { gridElectrons_mA, type GridParameters } from '../grid.ts';
import { drive, positivePart } from '../smooth.ts';

/** Parameters of a triode. Koren's own are mu, ex, kg1, kp, kvb; currents in A for kg1 as he prints it. */
export interface TriodeParameters extends GridParameters {
  readonly mu: number;
  readonly ex: number;
  readonly kg1: number;
  readonly kp: number;
  readonly kvb: number;
  /** Contact potential of the space current, V, added to the grid voltage (Cohen and Hélie, AES 129, 2010). */
  readonly vct: number;
  /** Drive voltage below which the current falls faster than its power, V. 0: Koren's own tail. */
  readonly tail: number;
  /** Sharpness n of the saturation blend. */
  readonly ns: number;
}

/** Space and grid current before wear, mA. Volts to the cathode's coating; `shift_V` moves both grid drives. */
export function triodeRaw_mA(
  plate_V: number,
  grid_V: number,
  shift_V: number,
  p: TriodeParameters,
): RawCurrents_mA {
  const e = drive(positivePart(plate_V), grid_V + shift_V + p.vct, p.mu, p.kp, p.kvb);
  return {
    plate: (2e3 / p.kg1) * e ** p.ex * (p.tail === 0 ? 1 : e / (e + p.tail)),
    screen: 0,
    grid: gridElectrons_mA(grid_V + shift_V, plate_V, p),
  };
}

/** Currents into the pins of a worn triode, A. Volts to any common reference. */
export function triodeCurrents(volts: PinVolts, state: TubeState, p: TriodeParameters): PinAmps {
  const cathode_V = volts.cathode ?? 0;
  const plate_V = (volts.plate ?? 0) - cathode_V;
  const grid_V = (volts.grid ?? 0) - cathode_V;
  const worn = (drop_V: number) =>
    wornCurrents_mA(
      triodeRaw_mA(plate_V - drop_V, grid_V - drop_V, state.contactShift_V, p),
      plate_V - drop_V,
      state,
      p.ns,
    );
  const mA = worn(interfaceDrop_V(state.interface_ohm, (drop_V) => -worn(drop_V).cathode));
  return { plate: mA.plate * 1e-3, grid: mA.grid * 1e-3, cathode: mA.cathode * 1e-3 };
}
