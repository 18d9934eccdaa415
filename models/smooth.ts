/**
 * The four building blocks of every tube equation. All are smooth for all real arguments, which is what lets a
 * circuit solver walk anywhere and come back.
 */

/** ln(1 + e^y) without overflow. Slope 1/(1 + e^-y). */
export function softplus(y: number): number {
  return Math.max(y, 0) + Math.log1p(Math.exp(-Math.abs(y)));
}

/** Smooth positive part of a voltage, V: 0.05 V at 0, x above, towards 0 below. */
export function positivePart(x_V: number): number {
  return 0.5 * (x_V + Math.sqrt(x_V * x_V + 0.01));
}

/**
 * Drive voltage of N. Koren, "Improved Vacuum-Tube Models for SPICE Simulations", Glass Audio 8(5), 1996, p. 18:
 * s/kp · ln(1 + exp(kp·(1/mu + v/√(kv + s²)))). V.
 *
 * @param s accelerating voltage (plate of a triode, screen of a pentode), V, above 0
 * @param v effective grid voltage, V
 */
export function drive(s: number, v: number, mu: number, kp: number, kv: number): number {
  return (s / kp) * softplus(kp * (1 / mu + v / Math.sqrt(kv + s * s)));
}

/**
 * kT/q at the cathode's temperature, V: 1050 K, inside the usual 1000–1100 K of an oxide cathode.
 * Metson, Proc. IEE 105C (1958) 374, works at 1020 K.
 */
export const THERMAL_V = 0.0905;

/**
 * Effective voltage of electrons against a retarding field, V: THERMAL-exponential below 0, u above.
 * Its 1.5th power is the retarding-field law exp(u/VT) below and the 3/2-power law above.
 */
export function retarding(u_V: number): number {
  return 1.5 * THERMAL_V * softplus(u_V / (1.5 * THERMAL_V));
}
