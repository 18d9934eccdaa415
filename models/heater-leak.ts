import type { Leak } from '../src/types.ts';

/**
 * Heater to cathode is not ohmic: beside the insulation's conductance, heater and sleeve emit to each other. That current
 * flows at low voltage already and saturates within a few volts, either way:
 *
 *     i(v) = ohmic_S · v + emission_A · tanh(v / KNEE_V)
 *
 * so a resistance read at 100 V understates the hum of a few volts, and some tens of volts between heater and cathode stop
 * the part that is emission: which is why a raised heater supply cures hum (Radiotron Designer's Handbook, 4th ed.,
 * ch. 31, from memory). Symmetrical for want of anything published per type; the knee is from memory.
 */

/** Volts at which emission between heater and cathode nears saturation. Curves of oxide-coated sleeves bend between 2 and 8 V (from memory). */
export const HEATER_KNEE_V = 4;

/** Current from heater to cathode at a voltage between them, A. Without its parts a path is ohmic. */
export function heaterAmps({ siemens, heater }: Leak, volts: number): number {
  return heater === undefined
    ? siemens * volts
    : heater.ohmic_S * volts + heater.emission_A * Math.tanh(volts / HEATER_KNEE_V);
}

/**
 * The parts of a path that was read at some volts.
 *
 * @param siemens conductance at those volts
 * @param over emission over the ohmic current, both at 100 V
 * @param place where along the heater, 0 to 1
 */
export function heaterParts(
  siemens: number,
  test_V: number,
  over: number,
  place: number,
): NonNullable<Leak['heater']> {
  const bend = Math.tanh(test_V / HEATER_KNEE_V);
  const ohmic_S = (siemens * test_V) / (test_V + over * 100 * bend);
  return { ohmic_S, emission_A: over * 100 * ohmic_S, place };
}
