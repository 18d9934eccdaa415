import type { PinAmps, PinVolts, TubeState } from '../../src/types.ts';
import { cathodeFactor, interfaceDrop_V } from '../cathode.ts';
import { retarding } from '../smooth.ts';

export interface DiodeParameters {
  /** mA/V^1.5 */
  readonly perveance: number;
  /** Contact potential, V, added to the plate voltage. */
  readonly vct: number;
  readonly ns: number;
}

/** Current before wear, mA: Child and Langmuir's 3/2-power law, exponential against a retarding field. */
export function diodeRaw_mA(plate_V: number, shift_V: number, p: DiodeParameters): number {
  return p.perveance * retarding(plate_V + shift_V + p.vct) ** 1.5;
}

/** Currents into the pins of a worn diode, A. Gas and grid emission of the state have no electrode here. */
export function diodeCurrents(volts: PinVolts, state: TubeState, p: DiodeParameters): PinAmps {
  const plate_V = (volts.plate ?? 0) - (volts.cathode ?? 0);
  const worn_mA = (drop_V: number) => {
    const raw = diodeRaw_mA(plate_V - drop_V, state.contactShift_V, p);
    return raw * cathodeFactor(raw, state, p.ns);
  };
  const plate = 1e-3 * worn_mA(interfaceDrop_V(state.interface_ohm, worn_mA));
  return { plate, cathode: -plate };
}
