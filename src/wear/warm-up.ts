/**
 * Leakage that rises over minutes -> its hot steady state.
 * Two laws are fitted by grid search and weighed by likelihood times prior: a first-order approach, and an Arrhenius
 * law on a temperature that itself approaches its end by first order (films on mica and glass).
 * Priors from memory: tau ~ 180 s within a factor of 1.6, activation energy 0.5 ± 0.15 eV, hot ~450 K, cold ~310 K.
 */
import { BOLTZMANN_EV_PER_K } from './constants.ts';

/** One reading of conductance: a value, or only a bound where the instrument read beyond its scale. */
export type TimedLeak =
  | { readonly seconds: number; readonly siemens: number }
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

interface Shape {
  readonly weight: number;
  /** Share of the steady state at a time. */
  share(seconds: number): number;
}

/** Prior time constants, s, in equal steps of the logarithm. */
const TAUS = Array.from({ length: 36 }, (_, i) => 40 * 30 ** (i / 35));
const tauWeight = (tau: number): number => Math.exp(-((Math.log(tau / 180) / 0.5) ** 2) / 2);
const FLOORS = [0, 0.05, 0.1, 0.2, 0.4, 0.7];

function* shapes(law: WarmUpLaw): Generator<Shape> {
  for (const tau of TAUS) {
    const warm = (t: number): number => -Math.expm1(-t / tau);
    for (const floor of FLOORS) {
      if (law === 'firstOrder') {
        yield { weight: tauWeight(tau), share: (t) => floor + (1 - floor) * warm(t) };
        continue;
      }
      for (let ea = 0.1; ea < 1.11; ea += 0.04) {
        const eaWeight = Math.exp(-(((ea - 0.5) / 0.15) ** 2) / 2);
        const scale = ea / BOLTZMANN_EV_PER_K;
        yield {
          weight: tauWeight(tau) * eaWeight,
          share: (t) => {
            const kelvin = COLD_K + (HOT_K - COLD_K) * warm(t);
            return floor + (1 - floor) * Math.exp(-scale * (1 / kelvin - 1 / HOT_K));
          },
        };
      }
    }
  }
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
  if (values.length > 1 && isFalling(values)) {
    // A film that burns off or gas that is cleaned up: what it came down to.
    const spread = 1 + 2 * relativeError;
    const { siemens } = last;
    return {
      low: siemens / spread,
      median: siemens,
      high: siemens * spread,
      stillSteepening: false,
      early,
    };
  }
  const found: { value: number; weight: number }[] = [];
  for (const law of laws) {
    const of: typeof found = [];
    let total = 0;
    for (const shape of shapes(law)) {
      const one = fitScale(shape, readings, relativeError);
      if (one === undefined) continue;
      of.push(one);
      total += shape.weight;
    }
    // A law's evidence is the mean over its grid, times the law's own prior.
    const prior = LAW_PRIOR[law];
    for (const one of of) found.push({ value: one.value, weight: (prior * one.weight) / total });
  }
  const [low, median, high] = weightedPoints(found, [0.16, 0.5, 0.84]);
  if (low === undefined || median === undefined || high === undefined) return undefined;
  return { low, median, high, stillSteepening: steepening, early };
}

/** Best scale of one shape (weighted least squares, relative errors) and its weight. */
function fitScale(
  shape: Shape,
  readings: readonly TimedLeak[],
  relativeError: number,
): { value: number; weight: number } | undefined {
  let sxx = 0;
  let sx = 0;
  let count = 0;
  for (const one of readings) {
    if (!('siemens' in one)) continue;
    const x = shape.share(one.seconds) / one.siemens;
    sxx += x * x;
    sx += x;
    count += 1;
  }
  if (sxx <= 0) return undefined;
  const value = sx / sxx;
  let chi2 = (count - sx * value) / relativeError ** 2;
  for (const one of readings) {
    if (!('belowSiemens' in one)) continue;
    const excess = (value * shape.share(one.seconds)) / one.belowSiemens - 1;
    if (excess > 0) chi2 += (excess / relativeError) ** 2;
  }
  return { value, weight: shape.weight * Math.exp(-Math.min(chi2, 1400) / 2) };
}

function stillSteepening(values: readonly { seconds: number; siemens: number }[]): boolean {
  const [a, b, c] = values.slice(-3);
  if (a === undefined || b === undefined || c === undefined) return false;
  const before = (b.siemens - a.siemens) / (b.seconds - a.seconds);
  const after = (c.siemens - b.siemens) / (c.seconds - b.seconds);
  return after > before && before > 0;
}

function isFalling(values: readonly { siemens: number }[]): boolean {
  const most = Math.max(...values.map(({ siemens }) => siemens));
  return (values.at(-1)?.siemens ?? most) < 0.9 * most;
}

function weightedPoints(
  found: readonly { value: number; weight: number }[],
  at: readonly number[],
): (number | undefined)[] {
  const sorted = found.toSorted((a, b) => a.value - b.value);
  const total = sorted.reduce((sum, { weight }) => sum + weight, 0);
  return at.map((u) => {
    let sum = 0;
    return sorted.find(({ weight }) => {
      sum += weight;
      return sum >= u * total;
    })?.value;
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
