import type { TubeCondition, TubeModel, TubeState } from '../src/types.ts';
import { rootOfRising } from './root.ts';
import { positivePart } from './smooth.ts';
import { number, type SpiceBody } from './spice-text.ts';

/** Currents of one section before wear, mA. */
export interface RawCurrents_mA {
  readonly plate: number;
  /** 0 in a triode. */
  readonly screen: number;
  /** Electrons collected by the control grid. */
  readonly grid: number;
}

/** Currents into the pins, mA, plus gas and grid emission kept apart as they leave the grid. */
export interface WornCurrents_mA {
  readonly plate: number;
  readonly screen: number;
  readonly grid: number;
  readonly cathode: number;
}

/** Plate voltage of half ionisation, and of the slow fall at high voltage; the factor makes it 1 at 100 V. */
const GAS_HALF_V = 35;
const GAS_FALL_V = 550;
const GAS_SCALE = (1 + (GAS_HALF_V / 100) ** 4) * (1 + (100 / GAS_FALL_V) ** 2);

/**
 * Relative ionisation by electrons of the plate's energy: next to 0 below 15 V, 1 at 100 V, slowly falling above.
 * The shape follows the ionisation cross-section of nitrogen (0.4 at 30 eV, 0.8 at 50, 0.8 at 250, 0.5 at 500; from
 * memory). Even powers only: bounded wherever a circuit solver may try, which exponentials here were not.
 */
export function ionisation(plate_V: number): number {
  const x = positivePart(plate_V) ** 2;
  return (GAS_SCALE * x * x) / (x * x + GAS_HALF_V ** 4) / (1 + x / GAS_FALL_V ** 2);
}

/**
 * Area, saturation, gas and grid emission on top of the raw currents. All the currents of the cathode share one
 * saturation: (1 + (J/Isat)^n)^(-1/n), the blend of Vaughan's synthesis (1986; from memory), n = 2 by default.
 */
export function wornCurrents_mA(
  raw: RawCurrents_mA,
  plate_V: number,
  state: TubeState,
  sharpness: number,
): WornCurrents_mA {
  const f = cathodeFactor(raw.plate + raw.screen + raw.grid, state, sharpness);
  const plate = f * raw.plate;
  const screen = f * raw.screen;
  const reverse =
    state.gasRatio * ionisation(plate_V) * (plate + screen) + state.gridEmission_A * 1e3;
  const grid = f * raw.grid;
  return {
    plate: plate + reverse,
    screen,
    grid: grid - reverse,
    cathode: -(plate + screen + grid),
  };
}

/** By which area and saturation multiply every current of a cathode from which `raw_mA` is drawn in all. */
export function cathodeFactor(raw_mA: number, state: TubeState, sharpness: number): number {
  const wanted = (state.area * raw_mA) / (state.saturation_A * 1e3);
  return state.area * (1 + wanted ** sharpness) ** (-1 / sharpness);
}

/**
 * Solves the drop across the cathode's interface layer: d = R·Ik(d). Ik falls as d rises, so the root is unique.
 *
 * @param cathode_mA cathode current with the coating `drop_V` above the pin
 */
export function interfaceDrop_V(ohm: number, cathode_mA: (drop_V: number) => number): number {
  if (ohm <= 0) return 0;
  const most = ohm * 1e-3 * cathode_mA(0);
  return most > 0 ? rootOfRising((drop) => drop - ohm * 1e-3 * cathode_mA(drop), 0, most) : 0;
}

/** The layer's own time constant, s: barium orthosilicate, 0.5–10 µs (from memory). Above it gm is whole again. */
const INTERFACE_TIME_S = 2e-6;

/**
 * SPICE side of `wornCurrents_mA` and the interface. Expects nodes carrying mA for plate, screen (or none) and grid, and
 * an expression of the plate's positive part. The interface is a node `kd` with the drop in volts, which `body.over`
 * subtracts from every pin voltage: no branch equation is added. In a pentagrid `grid` is the oscillator's, and ions and grid
 * emission go to and from `signalGrid`. What a knob that stays at 0 does is left out.
 */
export function wearSpice(
  body: SpiceBody,
  nodes: {
    plate: string;
    screen: string | undefined;
    grid: string | undefined;
    signalGrid?: string;
    /** Volts; not asked for where there is no grid. */
    plateVolts?: string;
  },
  sharpness: number,
): void {
  const sum = [nodes.plate, nodes.screen, nodes.grid, nodes.signalGrid]
    .filter((name) => name !== undefined)
    .map((name) => `v(${name})`)
    .join('+');
  const space =
    nodes.screen === undefined ? `v(${nodes.plate})` : `(v(${nodes.plate})+v(${nodes.screen}))`;
  body.node('jw', `v(wa)*(${sum})/v(ws)`);
  body.node(
    'f',
    sharpness === 2
      ? 'v(wa)/sqrt(1+v(jw)*v(jw))'
      : `v(wa)*pow(1+pow(v(jw),${number(sharpness)}),${number(-1 / sharpness)})`,
  );
  if (body.moves('interface_ohm')) {
    body.node('kd', `1m*v(wi)*v(f)*(${sum})`);
    body.capacitor('kd', 'kd', '0', INTERFACE_TIME_S);
  }
  body.current('pk', 'p', 'k', `1m*v(f)*v(${nodes.plate})`);
  if (nodes.screen !== undefined) body.current('sk', 's', 'k', `1m*v(f)*v(${nodes.screen})`);
  if (nodes.grid === undefined) return;
  const pentagrid = nodes.signalGrid !== undefined;
  body.current('gk', pentagrid ? 'g1' : 'g', 'k', `1m*v(f)*v(${nodes.grid})`);
  if (pentagrid) body.current('g3k', 'g3', 'k', `1m*v(f)*v(${nodes.signalGrid})`);
  const reverse: string[] = [];
  if (body.moves('gas_ppm') && nodes.plateVolts !== undefined) {
    ionisationSpice(body, nodes.plateVolts);
    reverse.push(`1n*v(wg)*v(ion)*v(f)*${space}`);
  }
  if (body.moves('gridEmission_uA')) reverse.push('1u*v(we)');
  if (reverse.length > 0) body.current('pg', 'p', pentagrid ? 'g3' : 'g', reverse.join('+'));
}

/** SPICE side of `ionisation`; `plate` is an expression of the plate's positive part. */
function ionisationSpice(body: SpiceBody, plate: string): void {
  // on the solver's way it can be anything, and its square too large for a number
  const x = 'min(abs(v(qq)),1e12)';
  body.node('qq', `pow(${plate},2)`);
  body.node(
    'ion',
    `${number(GAS_SCALE)}*${x}*${x}/((${x}*${x}+${number(GAS_HALF_V ** 4)})*(1+${number(1 / GAS_FALL_V ** 2)}*${x}))`,
  );
}

const BOLTZMANN_EV_PER_K = 8.617333262e-5;
/** Work function of an activated oxide cathode, eV, and its temperature at rated heater volts, K. Both from memory. */
export const OXIDE_CATHODE = {
  workFunction_eV: 1.0,
  temperature_K: 1050,
  temperatureExponent: 0.4,
};

/**
 * Saturation current at another heater voltage over that at the rated one: Richardson–Dushman with
 * T = T0·v^p (radiation ~T⁴ against heater power ~V^1.5…1.6). v is heater volts over rated.
 */
export function saturationRatio(v: number, cathode = OXIDE_CATHODE): number {
  const { workFunction_eV: phi, temperature_K: t0, temperatureExponent: p } = cathode;
  return v ** (2 * p) * Math.exp((-phi / (BOLTZMANN_EV_PER_K * t0)) * (v ** -p - 1));
}

/** Shift of the effective bias with the heater, V for the whole rated voltage: 0.1 V per 10 % (from memory). */
export const CONTACT_SHIFT_V_PER_HEATER = 1.0;

/** A tube's condition at rated heater volts, put to `v` times the rated heater voltage. */
export function atHeaterVoltage(condition: TubeCondition, v = 1): TubeState {
  return {
    area: condition.area,
    saturation_A: condition.saturation_A * saturationRatio(v),
    gasRatio: condition.gasRatio,
    gridEmission_A: condition.gridEmission_A,
    contactShift_V: condition.contactShift_V + CONTACT_SHIFT_V_PER_HEATER * (v - 1),
    interface_ohm: condition.interface_ohm,
  };
}

/** A bogey tube: what the published points describe. */
export function newTubeState(model: TubeModel): TubeState {
  return {
    area: 1,
    saturation_A: (model.parameters['isat_mA'] ?? Infinity) * 1e-3,
    gasRatio: 0,
    gridEmission_A: 0,
    contactShift_V: 0,
    interface_ohm: 0,
  };
}
