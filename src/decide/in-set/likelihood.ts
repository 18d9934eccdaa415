import { conditional, logNormalDensity } from '../../numerics/gaussian.ts';
import { weightedQuantile } from '../../numerics/quantiles.ts';

/** What readings say of an explanation, whatever they are volts of. */

/** An explanation at one severity: expected readings, and what each unknown of the set moves them by. */
export interface Expectation {
  readonly size: number;
  /** One expected value a reading. */
  readonly expected: readonly number[];
  /** By unknown: the change of each expected value for one standard deviation. */
  readonly moves: readonly (readonly number[])[];
}

export interface Fit {
  /** Log of the likelihood, averaged over severities. */
  readonly logLikelihood: number;
  /** Weight of each severity given the readings; sums to 1. */
  readonly weights: readonly number[];
  readonly sizes: readonly number[];
  /** Mean square of the readings' distances from the best severity, in standard deviations. */
  readonly distance: number;
}

/**
 * Between simulated severities the expectation is interpolated, so that a sharp reading cannot fall between two of them.
 * Draws of what is not known of a tube have no order: there each stands for itself.
 */
export type Order = 'severities' | 'draws';
const BETWEEN = 8;

/**
 * Likelihood of readings under an explanation whose severity is as likely anywhere on its (logarithmic) range.
 *
 * @param errors standard deviation of each reading by itself: the meter's, and the model's
 */
export function fitReadings(
  readings: readonly number[],
  errors: readonly number[],
  along: readonly Expectation[],
  order: Order,
): Fit {
  const dense = denseOf(along, { along, errors }, order);
  const logs = dense.map((at) =>
    logNormalDensity(
      readings.map((reading, i) => reading - at.expected[i]!),
      covariance(at, errors),
    ),
  );
  const top = Math.max(...logs);
  const raw = logs.map((log) => Math.exp(log - top));
  const sum = raw.reduce((a, b) => a + b, 0);
  const best = dense[logs.indexOf(top)]!;
  const peak = logNormalDensity(
    readings.map(() => 0),
    covariance(best, errors),
  );
  return {
    logLikelihood: top + Math.log(sum / raw.length),
    weights: raw.map((weight) => weight / sum),
    sizes: dense.map(({ size }) => size),
    distance: (2 * (peak - top)) / Math.max(1, readings.length),
  };
}

/** Readings that were taken, with what an explanation expects of them. */
export interface Taken {
  readonly readings: readonly number[];
  readonly errors: readonly number[];
  readonly along: readonly Expectation[];
}

/**
 * Expected value and standard deviation of a reading not taken yet, given those that were. What moves both of them alike (a strong
 * tube, a low line) was seen in those already: only what they leave open counts.
 *
 * @param along the reading's expectation, at the severities of `taken.along` and moved by the same unknowns
 * @param weights of the severities, given the readings taken
 */
export function foresee(
  along: readonly Expectation[],
  taken: Taken,
  weights: readonly number[],
  index: number,
  order: Order,
): { readonly mean: number; readonly sd: number } {
  const before = denseOf(taken.along, taken, order);
  const each = denseOf(along, taken, order).map((at, i) => {
    const { expected, moves } = before[i]!;
    const { shift, variance } = conditional(
      taken.readings.map((reading, n) => reading - expected[n]!),
      covariance(before[i]!, taken.errors),
      expected.map((_, n) =>
        moves.reduce((sum, move, u) => sum + move[n]! * at.moves[u]![index]!, 0),
      ),
      at.moves.reduce((sum, move) => sum + move[index]! ** 2, 0),
    );
    return { value: at.expected[index]! + shift, variance };
  });
  const mean = each.reduce((sum, { value }, i) => sum + weights[i]! * value, 0);
  const variance = each.reduce(
    (sum, one, i) => sum + weights[i]! * ((one.value - mean) ** 2 + one.variance),
    0,
  );
  return { mean, sd: Math.sqrt(variance) };
}

/** Central value and 90 % interval of the size, given the readings. */
export function sizeOf({ sizes, weights }: Fit): {
  readonly value: number;
  readonly low: number;
  readonly high: number;
} {
  const at = (share: number): number => weightedQuantile(sizes, weights, share);
  return { value: at(0.5), low: at(0.05), high: at(0.95) };
}

function covariance({ moves, expected }: Expectation, errors: readonly number[]): number[][] {
  return expected.map((_, i) =>
    expected.map((__, j) =>
      moves.reduce((sum, move) => sum + move[i]! * move[j]!, i === j ? errors[i]! ** 2 : 0),
    ),
  );
}

/**
 * The expectation between what was simulated. Draws have no between: there each stands for its surroundings, as far as its
 * nearest neighbours by the readings taken, so that a sharp reading cannot fall through (a kernel as wide as the draws lie
 * apart: D. Loftsgaarden, C. Quesenberry, Ann. Math. Stat. 36, 1965).
 */
function denseOf(
  along: readonly Expectation[],
  taken: Pick<Taken, 'along' | 'errors'>,
  order: Order,
): Expectation[] {
  if (order === 'severities') return between(along);
  return along.map((at, i) => {
    const here = taken.along[i]!.expected;
    const away = ({ expected }: Expectation): number =>
      expected.reduce((sum, value, n) => sum + ((value - here[n]!) / taken.errors[n]!) ** 2, 0);
    const near = taken.along
      .map((one, k) => ({ k, distance: away(one) }))
      .filter(({ k }) => k !== i)
      .toSorted((a, b) => a.distance - b.distance)
      .slice(0, NEIGHBOURS);
    const wide = near.map(({ k }) =>
      at.expected.map((value, n) => (along[k]!.expected[n]! - value) / Math.sqrt(near.length)),
    );
    return { ...at, moves: [...at.moves, ...wide] };
  });
}

const NEIGHBOURS = 3;

function between(along: readonly Expectation[]): Expectation[] {
  return along.flatMap((left, i) => {
    const right = along[i + 1];
    if (right === undefined) return [left];
    return Array.from({ length: BETWEEN }, (_, k) => {
      const share = k / BETWEEN;
      const mix = (a: number, b: number): number => a + share * (b - a);
      return {
        size:
          left.size > 0 && right.size > 0
            ? left.size * (right.size / left.size) ** share
            : mix(left.size, right.size),
        expected: left.expected.map((value, n) => mix(value, right.expected[n]!)),
        moves: left.moves.map((move, u) => move.map((value, n) => mix(value, right.moves[u]![n]!))),
      };
    });
  });
}
