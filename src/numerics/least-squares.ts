/**
 * Least squares with bounds. Goes in: parameters with bounds, a function giving residuals. Comes out: a fit that says how it
 * ended, how well each parameter is known, and which parameters sit at a bound or never moved.
 *
 * Levenberg–Marquardt with the column scaling of J. J. Moré, "The Levenberg–Marquardt algorithm: implementation and theory",
 * in Numerical Analysis, Lecture Notes in Mathematics 630 (1978), and the damping of H. B. Nielsen, IMM-REP-1999-05.
 * A step that meets a bound is clipped there and the other parameters are solved again.
 */
import { differentiate } from './differentiate.ts';
import { clamp, isAtBound, toAxis, toValue } from './fit-axes.ts';
import type { Axis } from './fit-axes.ts';
import { boundedStep, predictedSum, whatIsLeft } from './fit-step.ts';
import { norm, triangulate, zeros } from './qr.ts';
import type { Triangle } from './qr.ts';
import { seededRandom } from './random.ts';
import { describePrecision } from './fit-precision.ts';
import type { Correlation } from './fit-precision.ts';

export interface FitParameter {
  readonly name: string;
  readonly start: number;
  readonly low: number;
  readonly high: number;
  /** `log` where the bounds lie decades apart; then `low` must be above 0. */
  readonly scale: 'linear' | 'log';
  /** Held at `start`. */
  readonly fixed?: boolean;
}

export interface FitRequest {
  readonly parameters: readonly FitParameter[];
  /** Residuals (model − data, weighted as you wish) for parameter values in the order of `parameters`. */
  readonly residuals: (values: number[]) => ArrayLike<number>;
  /** Optional derivatives: `jacobian(values)[row][column]` = ∂residual/∂parameter, all parameters, fixed ones too. */
  readonly jacobian?: (values: number[]) => readonly ArrayLike<number>[];
  /** Relative stop test, on the part of the residual that the parameters could still remove; default 1e-8. */
  readonly relativeTolerance?: number;
  /** Absolute stop test: a residual sum of squares at or below this is good enough; default 0. */
  readonly absoluteTolerance?: number;
  /** Default 500 for each start. */
  readonly maxIterations?: number;
  /** Starts in all: the given one, then random ones inside the bounds. Default 1. */
  readonly starts?: number;
  /** Seed of the random starts; default 1. */
  readonly seed?: string | number;
}

interface FitDetails {
  readonly values: Readonly<Record<string, number>>;
  readonly residualSumOfSquares: number;
  /** One standard error in the parameter's own unit; null: cannot be told (held, at a bound, not determined by the data). */
  readonly standardErrors: Readonly<Record<string, number | null>>;
  readonly correlations: readonly Correlation[];
  readonly atBound: readonly string[];
  /** Free parameters that ended where they began: the residuals do not depend on them, or the start was the answer. */
  readonly neverMoved: readonly string[];
  /** Of the start that won. */
  readonly iterations: number;
  /** Calls of `residuals`, all starts together. */
  readonly evaluations: number;
  /** Starts whose sum of squares came within 1e-6 (relative) of the best; 1 of 1 without multi-start. */
  readonly startsAgreeing: number;
  readonly message: string;
}

/**
 * `converged`: a stop test was met and nothing more can be gained nearby. `stalled`: the best that was found, but no stop
 * test was met; do not take it for the answer. `failed`: there is no fit, and why.
 */
export type FitResult =
  | ({ readonly status: 'converged' } & FitDetails)
  | ({ readonly status: 'stalled' } & FitDetails)
  | { readonly status: 'failed'; readonly message: string; readonly evaluations: number };

interface Outcome {
  readonly status: 'converged' | 'stalled';
  readonly point: number[];
  readonly sum: number;
  readonly triangle: Triangle;
  readonly iterations: number;
  readonly message: string;
}

/**
 * Fits parameters to residuals. @throws RangeError where the request itself is wrong (bounds, a start outside them, names
 * given twice); everything that data can cause is a result.
 */
export function fitLeastSquares(request: FitRequest): FitResult {
  checkRequest(request);
  let evaluations = 0;
  const axes = axesOf(request.parameters);
  const valuesAt = (point: readonly number[]): number[] => {
    const values = request.parameters.map((parameter) => parameter.start);
    axes.forEach((axis, index) => (values[axis.column] = toValue(axis, point[index] as number)));
    return values;
  };
  const evaluate = (point: readonly number[]): Float64Array => {
    evaluations++;
    return Float64Array.from(request.residuals(valuesAt(point)));
  };
  const { jacobian } = request;
  const slopes = (point: readonly number[], here: Float64Array): Float64Array[] | string =>
    jacobian === undefined
      ? differentiate(axes, point, here, evaluate)
      : analytic(axes, jacobian(valuesAt(point)), valuesAt(point));

  const outcomes: Outcome[] = [];
  let failure = '';
  for (const start of startingPoints(request, axes)) {
    const outcome = descend(request, axes, start, evaluate, slopes);
    if (typeof outcome === 'string') failure ||= outcome;
    else outcomes.push(outcome);
  }
  const best = outcomes.toSorted((a, b) => a.sum - b.sum)[0];
  if (best === undefined) return { status: 'failed', message: failure, evaluations };
  const first = axes.map((axis) =>
    toAxis(axis, (request.parameters[axis.column] as FitParameter).start),
  );
  const atBound = axes.filter((axis, i) => isAtBound(axis, best.point[i] as number));
  const values = valuesAt(best.point);
  const precision = describePrecision(axes, best.triangle, atBound, values, best.sum);
  return {
    status: best.status,
    values: Object.fromEntries(
      request.parameters.map((parameter, index) => [parameter.name, values[index] as number]),
    ),
    residualSumOfSquares: best.sum,
    standardErrors: Object.fromEntries(
      request.parameters.map((parameter) => [
        parameter.name,
        precision.standardErrors[parameter.name] ?? null,
      ]),
    ),
    correlations: precision.correlations,
    atBound: atBound.map((axis) => axis.name),
    neverMoved: axes
      .filter((_, index) => best.point[index] === first[index])
      .map((axis) => axis.name),
    iterations: best.iterations,
    evaluations,
    startsAgreeing: outcomes.filter((other) => other.sum - best.sum <= 1e-6 * best.sum).length,
    message: best.message,
  };
}

const LARGEST_DAMPING = 1e18;
/** A slope this much below the largest seen on the way means that the search left the region where the parameter counts. */
const LOST_INFLUENCE = 1e-12;

/** One descent from one start. A text says why there is no fit at all. */
function descend(
  request: FitRequest,
  axes: readonly Axis[],
  start: readonly number[],
  evaluate: (point: readonly number[]) => Float64Array,
  slopes: (point: readonly number[], here: Float64Array) => Float64Array[] | string,
): Outcome | string {
  const tolerance = request.relativeTolerance ?? 1e-8;
  const floor = request.absoluteTolerance ?? 0;
  const limit = request.maxIterations ?? 500;
  let point = [...start];
  let here = evaluate(point);
  const count = here.length;
  if (count < axes.length)
    return `${count} residuals cannot determine ${axes.length} free parameters.`;
  if (!here.every(Number.isFinite))
    return `Residual ${firstBad(here)} is not a finite number at the start.`;
  let sum = norm(here) ** 2;
  let damping = 1e-3;
  let growth = 2;
  const scale = zeros(axes.length);
  for (let iteration = 0; ; iteration++) {
    const columns = slopes(point, here);
    if (typeof columns === 'string') return columns;
    const triangle = triangulate(columns, here);
    columns.forEach(
      (column, index) => (scale[index] = Math.max(scale[index] as number, norm(column))),
    );
    const ended = { point, sum, triangle, iterations: iteration };
    const stalled = (message: string): Outcome => ({ status: 'stalled', message, ...ended });
    const lost = axes.find(
      (axis, index) =>
        !isAtBound(axis, point[index] as number) &&
        norm(columns[index] as Float64Array) < LOST_INFLUENCE * (scale[index] as number),
    );
    const converged = (message: string): Outcome =>
      lost === undefined
        ? { status: 'converged', message, ...ended }
        : stalled(
            `The search ran off to where "${lost.name}" no longer matters; try other starts.`,
          );
    if (sum <= floor) return converged(`The sum of squares is at or below ${floor}.`);
    const left = whatIsLeft(axes, point, triangle);
    if (left.share <= tolerance) {
      return converged(
        `No change of the parameters lowers the residual by more than ${tolerance} of itself.`,
      );
    }
    if (iteration === limit)
      return stalled(`Stopped after ${limit} iterations with ${tell(left.share)}.`);
    let moved = false;
    while (!moved && damping < LARGEST_DAMPING) {
      const step = boundedStep(axes, point, triangle, damping, scale);
      const trial = point.map((value, index) => value + (step[index] as number));
      axes.forEach((axis, index) => (trial[index] = clamp(trial[index] as number, axis)));
      if (trial.every((value, index) => value === point[index])) break;
      const there = evaluate(trial);
      if (there.length !== count)
        return `The number of residuals changed from ${count} to ${there.length}.`;
      const newSum = there.every(Number.isFinite) ? norm(there) ** 2 : Infinity;
      const predicted = sum - predictedSum(triangle, step, sum);
      const gain = (sum - newSum) / predicted;
      if (newSum < sum && predicted > 0) {
        point = trial;
        here = there;
        sum = newSum;
        damping = Math.max(1e-15, damping * Math.max(1 / 10, 1 - (2 * gain - 1) ** 3));
        growth = 2;
        moved = true;
      } else {
        damping *= growth;
        growth *= 2;
      }
    }
    if (!moved) {
      // Nothing better within rounding. Near an answer that is convergence; elsewhere it is not.
      return left.share <= 1e-4 || left.relativeStep <= 1e-7
        ? converged('No step lowers the sum of squares any further within rounding.')
        : stalled(`No step lowers the sum of squares, with ${tell(left.share)}.`);
    }
  }
}

const tell = (share: number): string =>
  `${(100 * share).toPrecision(2)} % of the residual still within the parameters' reach`;

function axesOf(parameters: readonly FitParameter[]): Axis[] {
  return parameters.flatMap(({ name, low, high, scale, fixed }, column) => {
    if (fixed === true) return [];
    const log = scale === 'log';
    return [
      { name, column, log, low: log ? Math.log(low) : low, high: log ? Math.log(high) : high },
    ];
  });
}

function startingPoints(request: FitRequest, axes: readonly Axis[]): number[][] {
  const given = axes.map((axis) =>
    clamp(toAxis(axis, (request.parameters[axis.column] as FitParameter).start), axis),
  );
  const random = seededRandom(request.seed ?? 1);
  const others = Array.from({ length: (request.starts ?? 1) - 1 }, () =>
    axes.map((axis) => axis.low + (axis.high - axis.low) * random.next()),
  );
  return [given, ...others];
}

function analytic(
  axes: readonly Axis[],
  rows: readonly ArrayLike<number>[],
  values: readonly number[],
): Float64Array[] | string {
  const columns = axes.map((axis) =>
    Float64Array.from(
      rows,
      (row) => (row[axis.column] as number) * (axis.log ? (values[axis.column] as number) : 1),
    ),
  );
  const bad = columns.findIndex((column) => !column.every(Number.isFinite));
  return bad < 0 ? columns : `The derivative to "${(axes[bad] as Axis).name}" is not finite.`;
}

function firstBad(residuals: Float64Array): number {
  return residuals.findIndex((value) => !Number.isFinite(value));
}

function checkRequest({ parameters, starts }: FitRequest): void {
  const names = parameters.map((parameter) => parameter.name);
  if (new Set(names).size !== names.length)
    throw new RangeError('A parameter name is given twice.');
  if (starts !== undefined && !(Number.isInteger(starts) && starts > 0))
    throw new RangeError(`starts = ${starts}`);
  for (const { name, start, low, high, scale, fixed } of parameters) {
    const said = `Parameter "${name}": start ${start}, bounds ${low} … ${high}`;
    if (!Number.isFinite(start)) throw new RangeError(`${said}: the start must be finite.`);
    if (fixed === true) continue;
    if (!(Number.isFinite(low) && Number.isFinite(high) && low < high))
      throw new RangeError(`${said}: low < high expected.`);
    if (start < low || start > high) throw new RangeError(`${said}: the start lies outside.`);
    if (scale === 'log' && low <= 0) throw new RangeError(`${said}: a log scale needs low > 0.`);
  }
}
