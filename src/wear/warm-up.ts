/**
 * Leakage that rises over minutes -> its hot steady state.
 * Two laws are fitted by grid search and weighed by likelihood times prior: a first-order approach, and an Arrhenius
 * law on a temperature that itself approaches its end by first order (films on mica and glass).
 * Priors from memory: tau ~ 180 s within a factor of 1.6, activation energy 0.5 ± 0.15 eV, hot ~450 K, cold ~310 K.
 */
import { smoothStep } from '../numerics/smooth-step.ts';
import { BOLTZMANN_EV_PER_K } from './constants.ts';

/** One reading of conductance: a value, or only a bound where the instrument read beyond its scale. */
export type TimedLeak =
  | {
      readonly seconds: number;
      readonly siemens: number;
      /** Times the relative error of the others; for values read off the end of the scale. */
      readonly error?: number;
    }
  | { readonly seconds: number; readonly belowSiemens: number };

export type WarmUpLaw = 'firstOrder' | 'arrhenius';

export interface SteadyState {
  /** Weighted 16, 50 and 84 % points of the hot steady state, S. */
  readonly low: number;
  readonly median: number;
  readonly high: number;
  /** Each step still larger than the last: a lower bound only. */
  readonly stillSteepening: boolean;
  /** The last reading came before about 2.5 time constants. */
  readonly early: boolean;
}

/** Films on mica and glass are what leaks as a rule; a plain first-order rise is the exception. No source. */
const LAW_PRIOR: Readonly<Record<WarmUpLaw, number>> = { firstOrder: 0.25, arrhenius: 0.75 };
const HOT_K = 450;
const COLD_K = 310;
/** Readings before this carry a factor 2 at the least. */
const EARLY_S = 480;

/** Prior time constants, s, in equal steps of the logarithm. */
const TAUS = Array.from({ length: 36 }, (_, i) => 40 * 30 ** (i / 35));
const tauWeight = (tau: number): number => Math.exp(-((Math.log(tau / 180) / 0.5) ** 2) / 2);
const FLOORS = [0, 0.05, 0.1, 0.2, 0.4, 0.7];
const ENERGIES_eV = Array.from({ length: 26 }, (_, i) => 0.1 + 0.04 * i);
const energyWeight = (eV: number): number => Math.exp(-(((eV - 0.5) / 0.15) ** 2) / 2);

/** Prior weights of a law's shapes: time constants, then energies (one for a first-order law), then floors. */
const WEIGHTS: Readonly<Record<WarmUpLaw, Float64Array>> = {
  firstOrder: Float64Array.from(TAUS.flatMap((tau) => FLOORS.map(() => tauWeight(tau)))),
  arrhenius: Float64Array.from(
    TAUS.flatMap((tau) =>
      ENERGIES_eV.flatMap((eV) => FLOORS.map(() => tauWeight(tau) * energyWeight(eV))),
    ),
  ),
};
const TOTAL: Readonly<Record<WarmUpLaw, number>> = {
  firstOrder: WEIGHTS.firstOrder.reduce((sum, one) => sum + one, 0),
  arrhenius: WEIGHTS.arrhenius.reduce((sum, one) => sum + one, 0),
};

/** Shares of the steady state at a time, of every shape; benches read at few different times. */
const shares = new Map<string, Float64Array>();
const MOST_TIMES = 64;

function sharesAt(seconds: number, law: WarmUpLaw): Float64Array {
  const key = `${law} ${String(seconds)}`;
  const before = shares.get(key);
  if (before !== undefined) return before;
  const found = Float64Array.from(
    TAUS.flatMap((tau) => {
      const warm = -Math.expm1(-seconds / tau);
      const kelvin = COLD_K + (HOT_K - COLD_K) * warm;
      const risen =
        law === 'firstOrder'
          ? [warm]
          : ENERGIES_eV.map((eV) =>
              Math.exp((-eV / BOLTZMANN_EV_PER_K) * (1 / kelvin - 1 / HOT_K)),
            );
      return risen.flatMap((share) => FLOORS.map((floor) => floor + (1 - floor) * share));
    }),
  );
  if (shares.size >= MOST_TIMES) shares.clear();
  shares.set(key, found);
  return found;
}

/**
 * Hot steady state of a leak from one or more readings in the order of time.
 *
 * @param relativeError standard error of one reading, of its value
 * @param laws which laws to weigh against each other; both by default
 * @returns undefined where no reading has a value
 */
export function steadyState(
  readings: readonly TimedLeak[],
  relativeError = 0.05,
  laws: readonly WarmUpLaw[] = ['firstOrder', 'arrhenius'],
): SteadyState | undefined {
  const values = readings.filter((one) => 'siemens' in one);
  const last = values.at(-1);
  if (last === undefined) return undefined;
  const early = last.seconds < EARLY_S;
  const steepening = early && stillSteepening(values);
  const values_S: number[] = [];
  const weights: number[] = [];
  for (const law of laws) {
    const fits = fitScales(law, readings, relativeError);
    const { most } = fits;
    fits.weights.forEach((weight, i) => {
      // Shapes of next to no likelihood only cost time.
      if (!(weight > 1e-9 * most)) return;
      values_S.push(fits.values_S[i] ?? Number.NaN);
      // A law's evidence is the mean over its grid, times the law's own prior.
      weights.push((LAW_PRIOR[law] * weight) / TOTAL[law]);
    });
  }
  const [low, median, high] = weightedPoints(values_S, weights, [0.16, 0.5, 0.84]);
  if (low === undefined || median === undefined || high === undefined) return undefined;
  // A film that burns off or gas that is cleaned up: what it came down to counts, the more the further it fell.
  const fallen = fall(values);
  const spread = 1 + 2 * relativeError;
  const blend = (fit: number, end: number): number => fit * (end / fit) ** fallen;
  return {
    low: blend(low, last.siemens / spread),
    median: blend(median, last.siemens),
    high: blend(high, last.siemens * spread),
    stillSteepening: steepening,
    early,
  };
}

/** Best scale of every shape of a law (weighted least squares, relative errors) and its weight, prior times likelihood. */
function fitScales(
  law: WarmUpLaw,
  readings: readonly TimedLeak[],
  relativeError: number,
): { values_S: Float64Array; weights: Float64Array; most: number } {
  const prior = WEIGHTS[law];
  const columns = readings.map(({ seconds }) => sharesAt(seconds, law));
  const values_S = new Float64Array(prior.length);
  const weights = new Float64Array(prior.length);
  const precision = readings.map(
    (one) => 1 / (relativeError * ('error' in one ? (one.error ?? 1) : 1)) ** 2,
  );
  let most = 0;
  for (let shape = 0; shape < prior.length; shape += 1) {
    let [sxx, sx, s1] = [0, 0, 0];
    for (const [i, one] of readings.entries()) {
      if (!('siemens' in one)) continue;
      const x = (columns[i]?.[shape] ?? 0) / one.siemens;
      const p = precision[i] ?? 0;
      sxx += p * x * x;
      sx += p * x;
      s1 += p;
    }
    if (sxx <= 0) continue;
    const value = sx / sxx;
    let chi2 = s1 - sx * value;
    for (const [i, one] of readings.entries()) {
      if (!('belowSiemens' in one)) continue;
      const excess = (value * (columns[i]?.[shape] ?? 0)) / one.belowSiemens - 1;
      if (excess > 0) chi2 += (excess / relativeError) ** 2;
    }
    values_S[shape] = value;
    weights[shape] = (prior[shape] ?? 0) * Math.exp(-Math.min(chi2, 1400) / 2);
    most = Math.max(most, weights[shape] ?? 0);
  }
  return { values_S, weights, most };
}

function stillSteepening(values: readonly { seconds: number; siemens: number }[]): boolean {
  const [a, b, c] = values.slice(-3);
  if (a === undefined || b === undefined || c === undefined) return false;
  const before = (b.siemens - a.siemens) / (b.seconds - a.seconds);
  const after = (c.siemens - b.siemens) / (c.seconds - b.seconds);
  return after > before && before > 0;
}

/** 0 … 1: nothing below a fall of 5 %, which the instrument's error explains; all of it from 20 %. */
function fall(values: readonly { siemens: number }[]): number {
  const most = Math.max(...values.map(({ siemens }) => siemens));
  const left = (values.at(-1)?.siemens ?? most) / most;
  return smoothStep((0.95 - left) / 0.15);
}

function weightedPoints(
  values: readonly number[],
  weights: readonly number[],
  at: readonly number[],
): (number | undefined)[] {
  const order = Array.from(values, (_, i) => i).sort((a, b) => (values[a] ?? 0) - (values[b] ?? 0));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return at.map((u) => {
    let sum = 0;
    const found = order.find((i) => {
      sum += weights[i] ?? 0;
      return sum >= u * total;
    });
    return found === undefined ? undefined : values[found];
  });
}

/**
 * End of a first-order rise from three readings at equal spacing: (I1·I3 − I2²)/(I1 + I3 − 2·I2).
 * Undefined unless the second step is positive and smaller than the first. Not used alone: on an Arrhenius curve it is wrong either way.
 */
export function firstOrderEnd(i1: number, i2: number, i3: number): number | undefined {
  const valid = i2 - i1 > i3 - i2 && i3 - i2 > 0;
  return valid ? (i1 * i3 - i2 * i2) / (i1 + i3 - 2 * i2) : undefined;
}
