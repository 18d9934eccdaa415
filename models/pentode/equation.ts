import type { PinAmps, PinVolts, TubeState } from '../../src/types.ts';
import { interfaceDrop_V, wornCurrents_mA, type RawCurrents_mA } from '../cathode.ts';
import { gridElectrons_mA, type GridParameters } from '../grid.ts';
import { drive, positivePart } from '../smooth.ts';
import { controlSections, type SectionLaw } from './sections.ts';

/** Parameters of a pentode, beam tube or remote-cutoff pentode. */
export interface PentodeParameters extends GridParameters, SectionLaw {
  readonly ex: number;
  readonly kg1: number;
  /** Screen current of the space current far above the knee: kg1/(2·kg2). */
  readonly kg2: number;
  /** Softens the grid's control at low screen voltage, V². */
  readonly kvs: number;
  /** Contact potential of the space current, V. */
  readonly vct: number;
  /** Knee voltage: a part that nothing moves, V, one per volt of screen, and one per volt of drive. */
  readonly kvb: number;
  readonly ks: number;
  readonly kn: number;
  /** Sharpness of the knee: 1 as Koren's, 1.2 pentodes, 1.5–2 beam tubes. */
  readonly m: number;
  /** Rise of the plate current far above the knee: its power of (screen + plate)/(2·screen). */
  readonly rise: number;
  /** Share of the current refused by the plate that the screen collects. */
  readonly kappa: number;
  /** How much the screen's share falls as the plate rises above it: its power of 2·screen/(screen + plate). Beam tubes. */
  readonly division: number;
  readonly ns: number;
}

/** Keeps the ratio of plate to screen finite at no screen voltage: contact potentials are of this size. */
export const RATIO_FLOOR_V = 1;

/** Currents before wear, mA. Volts to the cathode's coating. */
export function pentodeRaw_mA(
  plate_V: number,
  screen_V: number,
  grid_V: number,
  shift_V: number,
  p: PentodeParameters,
): RawCurrents_mA {
  const s = positivePart(screen_V);
  const plate = positivePart(plate_V);
  let space = 0;
  let meanDrive_V = 0;
  for (const { weight, mu, kp } of controlSections(p)) {
    const e = drive(s, grid_V + shift_V + p.vct, mu, kp, p.kvs);
    space += weight * e ** p.ex;
    meanDrive_V += weight * e;
  }
  const total = (2e3 / p.kg1) * space;
  const angle = Math.atan((plate / (p.kvb + p.ks * s + p.kn * meanDrive_V)) ** p.m);
  const above = 0.5 + (0.5 * plate) / (s + RATIO_FLOOR_V);
  return {
    plate: total * angle * above ** p.rise,
    screen:
      total * ((p.kg1 / (2 * p.kg2)) * above ** -p.division + p.kappa * (Math.PI / 2 - angle)),
    grid: gridElectrons_mA(grid_V + shift_V, plate_V, p),
  };
}

/** Currents into the pins of a worn pentode, A. Volts to any common reference. */
export function pentodeCurrents(volts: PinVolts, state: TubeState, p: PentodeParameters): PinAmps {
  const cathode_V = volts.cathode ?? 0;
  const plate_V = (volts.plate ?? 0) - cathode_V;
  const screen_V = (volts.screen ?? 0) - cathode_V;
  const grid_V = (volts.grid ?? 0) - cathode_V;
  const worn = (drop_V: number) =>
    wornCurrents_mA(
      pentodeRaw_mA(plate_V - drop_V, screen_V - drop_V, grid_V - drop_V, state.contactShift_V, p),
      plate_V - drop_V,
      state,
      p.ns,
    );
  const mA = worn(interfaceDrop_V(state.interface_ohm, (drop_V) => -worn(drop_V).cathode));
  return {
    plate: mA.plate * 1e-3,
    screen: mA.screen * 1e-3,
    grid: mA.grid * 1e-3,
    cathode: mA.cathode * 1e-3,
  };
}
