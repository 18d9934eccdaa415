import { saturationRatio } from '../../models/cathode.ts';

/** What the splitting of one emission and drop reading rests on. */
export interface SplitAssumptions {
  /** Sharpness of the blend. */
  readonly n: number;
  /** Drop across a new tube over open-circuit test volts; 1 = stiff test. */
  readonly q: number;
  /** Reserve of the new tube in this test: saturation over test current. */
  readonly s0: number;
  /** Saturation at the starved heater over that at the rated one. */
  readonly r: number;
  /** Space-charge current at the starved heater over that at the rated one. */
  readonly c: number;
  readonly largestArea: number;
}

export interface Split {
  /** Area (perveance) factor, 1 = new. */
  readonly area: number;
  /** Saturation over the test current of a new tube. */
  readonly s: number;
  /** (drive / saturation)^n: how far into saturation the test drove the cathode. */
  readonly y: number;
  /** `area` was put to the largest: the readings give saturation alone. */
  readonly areaUndetermined: boolean;
}

/** Saturation at a starved heater, with the work function (eV) and the temperature exponent free. */
export function starvedRatio(
  v: number,
  workFunction_eV: number,
  temperatureExponent: number,
): number {
  return saturationRatio(v, { workFunction_eV, temperatureExponent, temperature_K: 1050 });
}

/** Space-charge drive of a tube that reads `e`, over a new tube's: a worn tube sees more of the test volts. */
export function driveGain(e: number, q: number): number {
  return (Math.max(1 - e * (1 - q), 1e-6) / q) ** 1.5;
}

/** Emission of a new tube in units of its drive: what the series of space charge and saturation leaves. */
export function newTubeShare(s0: number, n: number): number {
  return (1 + s0 ** -n) ** (-1 / n);
}

/**
 * Emission reading e and fractional drop d -> area and saturation, in closed form.
 * Blend of space charge and saturation as in the published synthesis of the Longo equation (Vaughan 1986; from memory).
 *
 * @param e reading over a new tube's, at rated heater volts
 * @param d further fractional drop at the starved heater, 0 … <1
 */
export function split(e: number, d: number, of: SplitAssumptions): Split {
  const { n, q, s0, r, c, largestArea } = of;
  const w1 = driveGain(e, q);
  const w2 = driveGain(e * (1 - d), q);
  const ratio = ((1 - d) * w1) / (c * w2);
  const rho = w2 / (w1 * r);
  const below = ratio ** n * rho ** n - 1;
  const y = ratio >= 1 ? 0 : below <= 0 ? Infinity : (1 - ratio ** n) / below;
  const whole = e * newTubeShare(s0, n);
  const area = (whole * (1 + y) ** (1 / n)) / w1;
  if (area <= largestArea) {
    return { area, s: (area * w1) / y ** (1 / n), y, areaUndetermined: false };
  }
  // A reading above any new tube leaves no room for saturation: the largest area moves up with it.
  const largest = Math.max(largestArea, (1.02 * whole) / w1);
  const yMost = ((largest * w1) / whole) ** n - 1;
  return {
    area: largest,
    s: (largest * w1) / yMost ** (1 / n),
    y: yMost,
    areaUndetermined: true,
  };
}

/**
 * Fractional drop of a tube that reads `e` and whose cathode the test drives to `y`: the inverse of `split`, by Newton's
 * method, since the reading feeds back through the test's series resistance.
 */
export function dropFor(e: number, y: number, of: SplitAssumptions): number {
  const { n, q, r, c } = of;
  const gain = driveGain(e, q);
  let left = c * ((1 + y) / (1 + y * r ** -n)) ** (1 / n);
  for (let i = 0; q < 1 && i < 8; i += 1) {
    const open = Math.max(1 - e * left * (1 - q), 1e-6);
    const more = driveGain(e * left, q) / gain;
    const driven = y * (more / r) ** n;
    const given = c * more * ((1 + y) / (1 + driven)) ** (1 / n);
    const slope = (given * 1.5 * e * (1 - q)) / open / (1 + driven);
    left -= (left - given) / (1 + slope);
  }
  return 1 - left;
}

/** Saturation (over test current) for an area, so that the tube reads `e`. Infinity where the area alone explains it. */
export function saturationFor(e: number, area: number, of: SplitAssumptions): number {
  const whole = e * newTubeShare(of.s0, of.n);
  const rest = whole ** -of.n - (area * driveGain(e, of.q)) ** -of.n;
  return rest <= 0 ? Infinity : rest ** (-1 / of.n);
}

/** Area for a saturation `s`, so that the tube reads `e`. Infinity where saturation alone allows no such reading. */
export function areaFor(e: number, s: number, of: SplitAssumptions): number {
  const whole = e * newTubeShare(of.s0, of.n);
  const rest = whole ** -of.n - s ** -of.n;
  return rest <= 0 ? Infinity : rest ** (-1 / of.n) / driveGain(e, of.q);
}

/**
 * What a tube of known area and saturation reads: emission over a new tube's and the fractional drop.
 * Solved by bisection on the same equations; the reading feeds back through the test's series resistance.
 */
export function readingOf(area: number, s: number, of: SplitAssumptions): { e: number; d: number } {
  const share = newTubeShare(of.s0, of.n);
  const read = (saturation: number, c: number): number => {
    let low = 0;
    let high = of.q < 1 ? Math.min(1 / (1 - of.q), 10) : 10;
    for (let i = 0; i < 60; i += 1) {
      const e = (low + high) / 2;
      const drive = area * driveGain(e, of.q);
      if (c * drive * (1 + (drive / saturation) ** of.n) ** (-1 / of.n) > share * e) low = e;
      else high = e;
    }
    return (low + high) / 2;
  };
  const e = read(s, 1);
  return { e, d: 1 - read(s * of.r, of.c) / e };
}
