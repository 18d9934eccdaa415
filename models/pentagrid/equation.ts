import type { PinAmps, PinVolts, TubeState } from '../../src/types.ts';
import { cathodeFactor, interfaceDrop_V, ionisation } from '../cathode.ts';
import { gridElectrons_mA, type GridParameters } from '../grid.ts';
import { drive, positivePart, retarding, softplus } from '../smooth.ts';

/** Parameters of a pentagrid converter: oscillator grid first, screens joined, signal grid between them. */
export interface PentagridParameters extends GridParameters {
  /** Oscillator grid against the screens. */
  readonly mu: number;
  readonly ex: number;
  readonly kg1: number;
  readonly kp: number;
  readonly vct: number;
  /** Knee voltage at no current, V, its growth with the drive voltage, and its sharpness. */
  readonly kvb: number;
  readonly kn: number;
  readonly m: number;
  readonly lambda: number;
  /** Share of what the plate refuses that the screens collect. */
  readonly kappa: number;
  /** Share of the space current that passes the signal grid at 0 V. */
  readonly pass: number;
  /** Signal grid against the screens: its dense part, and its open part by ratio and weight. */
  readonly mu3: number;
  readonly mu3Step: number;
  readonly weight3: number;
  readonly kp3: number;
  /** Exponent of the signal grid's control. */
  readonly m3: number;
  /** Share of the space current that a positive signal grid takes, per V^1.5. */
  readonly kg3: number;
  readonly ns: number;
}

/** Currents before wear, mA. */
export interface PentagridRaw_mA {
  readonly plate: number;
  readonly screen: number;
  readonly oscillatorGrid: number;
  readonly signalGrid: number;
}

/** Control of the signal grid, relative: two sections of a grid of uneven pitch. */
function signalControl(v_V: number, screen_V: number, p: PentagridParameters): number {
  const section = (mu: number) => softplus(p.kp3 * (1 / mu + v_V / screen_V));
  return section(p.mu3) + p.weight3 * section(p.mu3 * p.mu3Step);
}

/** Currents before wear, mA. Volts to the cathode's coating; `shift_V` moves both grids. */
export function pentagridRaw_mA(
  plate_V: number,
  screen_V: number,
  oscillator_V: number,
  signal_V: number,
  shift_V: number,
  p: PentagridParameters,
): PentagridRaw_mA {
  const s = positivePart(screen_V);
  const plate = positivePart(plate_V);
  const e = drive(s, oscillator_V + shift_V + p.vct, p.mu, p.kp, 0);
  const space = (1e3 * Math.PI * e ** p.ex) / p.kg1;
  const t = p.pass * (signalControl(signal_V + shift_V, s, p) / signalControl(0, s, p)) ** p.m3;
  const passed = t / (1 - p.pass + t);
  const caught = p.kg3 * retarding(signal_V + shift_V - p.vc) ** 1.5;
  const beyond = space / (1 + caught);
  const angle = (2 / Math.PI) * Math.atan((plate / (p.kvb + p.kn * e)) ** p.m);
  return {
    plate: beyond * passed * angle * (1 + p.lambda * plate),
    screen: beyond * (1 - passed + passed * p.kappa * (1 - angle)),
    oscillatorGrid: gridElectrons_mA(oscillator_V + shift_V, screen_V, p),
    signalGrid: beyond * caught,
  };
}

/**
 * Currents into the pins of a worn pentagrid, A. Volts to any common reference. Ions and grid emission are put to the
 * signal grid, which is the more negative one on the plate's side and hangs on the AGC line.
 */
export function pentagridCurrents(
  volts: PinVolts,
  state: TubeState,
  p: PentagridParameters,
): PinAmps {
  const to = (pin: keyof PinVolts) => (volts[pin] ?? 0) - (volts.cathode ?? 0);
  const [plate_V, screen_V] = [to('plate'), to('screen')];
  const [oscillator_V, signal_V] = [to('oscillatorGrid'), to('signalGrid')];
  const worn = (drop_V: number) => {
    const raw = pentagridRaw_mA(
      plate_V - drop_V,
      screen_V - drop_V,
      oscillator_V - drop_V,
      signal_V - drop_V,
      state.contactShift_V,
      p,
    );
    const sum = raw.plate + raw.screen + raw.oscillatorGrid + raw.signalGrid;
    return { raw, sum, f: cathodeFactor(sum, state, p.ns) };
  };
  const drop_V = interfaceDrop_V(state.interface_ohm, (drop) => {
    const { f, sum } = worn(drop);
    return f * sum;
  });
  const { raw, sum, f } = worn(drop_V);
  const reverse =
    state.gasRatio * ionisation(plate_V - drop_V) * f * (raw.plate + raw.screen) +
    state.gridEmission_A * 1e3;
  return {
    plate: (f * raw.plate + reverse) * 1e-3,
    screen: f * raw.screen * 1e-3,
    oscillatorGrid: f * raw.oscillatorGrid * 1e-3,
    signalGrid: (f * raw.signalGrid - reverse) * 1e-3,
    cathode: -f * sum * 1e-3,
  };
}
