import { logBesselI0 } from '../numerics/bessel.ts';

/** kT/q of a cathode at 1050 K, V (oxide cathodes 1000 to 1100 K, from memory). */
export const THERMAL_V = 0.0905;

/**
 * DC volts that a diode detector makes out of a carrier, unsigned: a diode whose current rises exponentially, I₀ exp(V/VT),
 * with a load of constant resistance, so that V/R = I₀ exp(−(V + delay)/VT) · mean of exp(E cos θ/VT).
 * Without a carrier and a delay it makes `contact_V`, from the electrons' own speed; of a strong carrier, nearly its peak.
 * Source: the exponential diode detector of radio textbooks; its mean over a cycle is the Bessel function I₀ (exact).
 *
 * @param carrier_V V peak at the diode
 * @param contact_V > 0; some half volt with half a megohm (from memory)
 * @param delay_V 0 or more: the diode's bias against the carrier
 */
export function detectedVolts(carrier_V: number, contact_V: number, delay_V: number): number {
  const contact = contact_V / THERMAL_V;
  // x + ln x = right, for x = V/VT
  const right =
    contact + Math.log(contact) + logBesselI0(carrier_V / THERMAL_V) - delay_V / THERMAL_V;
  let log = right > 1 ? Math.log(right) : right;
  for (let i = 0; i < 30; i++) {
    const x = Math.exp(log);
    const step = (x + log - right) / (x + 1);
    log -= step;
    if (Math.abs(step) < 1e-13) break;
  }
  return THERMAL_V * Math.exp(log);
}
