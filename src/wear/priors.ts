/**
 * General knowledge of receiving tubes, as medians and spreads. Values are from memory of textbooks and data sheets
 * unless a source is given. `sd` is of the natural logarithm where the quantity is positive and of the quantity
 * itself otherwise; a 90 % interval is ±1.645 sd.
 */

import { Z90 } from '../numerics/normal.ts';

/** Standard deviation of the logarithm for a factor either way that nine in ten keep. */
export function spreadOf(factor: number): number {
  return Math.log(factor) / Z90;
}

/** Work function of an oxide cathode, eV: 0.95–1.1. */
export const WORK_FUNCTION = { median: 1.0, sd: 0.045 };
/** Exponent of cathode temperature over heater volts: 0.37–0.40. */
export const HEATER_EXPONENT = { median: 0.385, sd: 0.01 };
/**
 * Fall of the space-charge current itself: a cooler cathode's electrons start slower and its contact potential moves, as if
 * the test voltage were 0.1 V lower at −10 %. That is 1 % of the current at 15 V, and 5 % at 3 V, where a large tube gives
 * a few milliamperes. `usual_V` where the test voltage is not known.
 */
export const SPACE_CHARGE_FALL = { volts: 1, sd: 0.4, usual_V: 15 };
/** Sharpness of the blend between space charge and saturation: 2, repeated with 1 and 4 for the error. */
export const BLEND = { median: 2, halfWaveMedian: 1.5, sd: 0.42 };
/** Saturation current of new cathodes about the type's median: a reserve of 5 (3–10). */
export const NEW_SATURATION = { sd: 0.36 };
/** Reserve of a new cathode in the emission test, where the test current is not known. */
export const UNKNOWN_TEST_CURRENT = { reserve: 5, sd: 0.6 };
/** Error of a test current computed by the tube model, and of one taken from a table. */
export const TEST_CURRENT_SD = { model: 0.15, table: 0.05 };
/** Largest area factor: bogey is not the largest new tube. */
export const LARGEST_AREA = { median: 1.1, sd: 0.07 };
/** Emission of a tube nobody has read. */
export const UNREAD_EMISSION = { median: 0.8, sd: 0.3 };
/** How far a cathode that still recovers may come up. */
export const RECOVERY = { sd: 0.25 };
/** Time constant of the cathode after a change of the heater, s: 10–20. */
export const CATHODE_LAG_S = { median: 15, sd: 0.25 };
/** What the reject mark of a scale means, percent of new. Common practice, no source. */
export const REJECT_MARK = { percent: 65, sd: 0.1 };

/** Gas ratio of a good tube: 1e-7–1e-5 of the cathode current, small tubes below 0.01–0.1 µA. */
export const GAS = { median: 6e-7, sd: 1.29 };
/** Primary grid emission of a good tube, A. */
export const GRID_EMISSION = { small_A: 5e-10, output_A: 5e-9, sd: 1.4 };
/** Share of a reverse grid current that is gas and not grid emission, through the normal law: median 0.84. */
export const GRID_SHARE = { center: 1, sd: 1 };
/**
 * Gas beside a leak that may explain the grid current: the part left over is the less sure the more the leak explains,
 * and some hides below it, as a share of the current. Tuned on round trips; no source.
 */
export const UNSEEN_GAS = { share: 0.02, sd: 2, rest: -1.5, restSd: 2 };
/**
 * Gas ratio of tubes in a leakage test with plate current, good to bad: 1e-7–1e-4. What it would draw, against what was
 * read, is the odds of gas against leak.
 */
export const LEAK_TEST_GAS = { median: 3e-6, sd: 2.1 };
/** Grid emission of an output tube fully hot over that of the first minutes: doubles each 12 K. */
export const GRID_HEAT = { factor: 1.8, sd: 0.6 };
/** Contact potential, V: ±0.3. */
export const CONTACT_POTENTIAL = { sd: 0.182 };
/** Interface resistance of a cathode held hot and cut off for long, ohm: tens to hundreds. */
export const INTERFACE = { heldCutOff_ohm: 60, sd: 0.9 };

/** Leakage resistance of a tube whose grid leakage is above the scale: normally beyond 1 GΩ. */
export const ABOVE_SCALE = { median_ohm: 20e9, sd: 1.26 };
/** Grid leakage that nobody has read. */
export const UNREAD_LEAK = { median_ohm: 3e9, sd: 2 };
/** Bench to cabinet: 20–30 K warmer, 1.5–3 times the leakage. */
export const CABINET = { factor: 1.8, sd: 0.27 };
/** A power tube on a bench without plate dissipation is 50–100 K cooler than in the set: up to 16 times the leakage there. */
export const OUTPUT_HEAT = { factor: 3, sd: 0.7 };
/** Leakage films are not ohmic: a factor of 2 either way from 25 V to 250 V; heater to cathode, where emission adds, a little more. */
export const NOT_OHMIC = { sd: 0.42, heaterSd: 0.52, circuit_V: 250 };
/** A cold reading says little of the hot tube. */
export const COLD = { factor: 2, sd: 0.7 };

/**
 * Heater–cathode insulation that nobody has read. New tubes: at least 13 MΩ (small), about 2 MΩ (output); limits of
 * current-production 6SN7 and EL34 data sheets (New Sensor, undated).
 */
export const HEATER_CATHODE = { small_ohm: 80e6, output_ohm: 30e6, sd: 1.0 };

/**
 * Emission between heater and cathode over the ohmic current at 100 V: a fifth of the reading (a twentieth to a half), see
 * `models/heater-leak.ts`. From memory of curves of such currents, which flatten from some volts on; no figures published
 * per type.
 */
export const HEATER_EMISSION = { over: 0.25, sd: 0.9, test_V: 100 };
/**
 * Where along the heater its path lies: from the middle to the live end, evenly. Half of all paths lie in the other half
 * and hum less; which end a winding grounds is not known, so none is counted on.
 */
export const HEATER_PLACE = { from: 0.5, to: 1 };

/** What a plainly bad tube may have, for readings that were not taken. */
export const BAD = {
  area: 0.3,
  /** Emission over a new tube's where the drop tells a saturated cathode: how little is left, it does not tell. */
  emission: 0.1,
  /** Saturation over the typical cathode current. */
  saturationOverTypical: 1.2,
  leak_ohm: 5e6,
  gasRatio: 1e-4,
  gridEmission_A: 2e-6,
  heaterCathode_ohm: 1e6,
};
