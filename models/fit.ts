import {
  fitLeastSquares,
  type FitParameter,
  type FitResult,
} from '../src/numerics/least-squares.ts';
import { Problem } from '../src/problem.ts';
import { compare, type Compared } from './predict.ts';
import type {
  CurvePoint,
  Device,
  FitRecord,
  FitResidual,
  Point,
  Quantity,
  Unit,
} from './device.ts';
import { priorsOf, type Prior } from './fit-priors.ts';
import { tubeModel } from './tube.ts';

/**
 * Standard deviation of a published number: what rounding, hand-drawn curves and the makers' own averaging leave open.
 * Relative, but for voltages of cutoff. The aims are about three of these.
 */
const TOLERANCE: Readonly<Record<Quantity, number>> = {
  plate_mA: 0.01,
  screen_mA: 0.02,
  cathode_mA: 0.03,
  gm_mS: 0.015,
  rp_ohm: 0.04,
  mu: 0.02,
  cutoff_V: 0.04,
  gmAt_V: 0.04,
  gc_uS: 0.03,
  gcAt_V: 0.06,
  drop_V: 0.02,
  // The makers round harder here, and their transformers and sources were not ideal.
  power_W: 0.04,
  distortion_percent: 0.15,
  drivenPlate_mA: 0.03,
  drivenScreen_mA: 0.08,
  gain: 0.03,
};
/** A plate curve read by hand is good to this, whatever the current. */
export const CURVE_READING_mA = 0.05;

export interface FitOptions {
  /** One start, at these values, in place of several about the typical tube. */
  readonly from?: Readonly<Record<string, number>>;
  /** Typical values in place of the family's, where the points themselves suggest them. */
  readonly typical?: Readonly<Record<string, number>>;
  /** Parameters held at their typical value. */
  readonly hold?: readonly string[];
}

/**
 * Fits one unit to its points of use `fit`: weighted least squares on the published numbers, with the family's typical
 * values as weak priors for what the points leave open.
 *
 * @throws Problem `too-few-points`, `does-not-fit`
 */
export function fitUnit(device: Device, unit: Unit, options: FitOptions = {}): FitRecord {
  const points = unit.points.filter(({ use }) => use === 'fit');
  if (points.length === 0)
    throw new Problem('too-few-points', `${device.id} (${unit.id}) has no point to fit`, {
      found: `${unit.points.length} points, none of use "fit"`,
      expected: 'at least one operating point',
    });
  const priors = priorsOf(unit).map((prior) => {
    const typical = options.typical?.[prior.name] ?? prior.typical;
    return { ...prior, typical, ...(options.hold?.includes(prior.name) ? { fixed: true } : {}) };
  });
  if (priors.length === 0)
    throw new Problem('does-not-fit', `${device.id} (${unit.id}) is of a character without a fit`, {
      found: unit.character,
      expected: 'triode, sharp, remote, beam, pentagrid or diode',
    });
  const residuals = (values: readonly number[]): number[] => {
    const parameters = Object.fromEntries(priors.map(({ name }, i) => [name, values[i] ?? NaN]));
    const model = tubeModel(device, unit.id, parameters);
    const data = points.flatMap((point) =>
      compare(model, point).map((pair) => standardResidual(point, pair)),
    );
    const expectations = priors.flatMap((prior) =>
      prior.spread === undefined || prior.fixed === true
        ? []
        : [distanceFromTypical(prior, parameters)],
    );
    return [...data, ...expectations];
  };
  const { from } = options;
  const starts =
    from === undefined
      ? startsOf(priors)
      : [priors.map(({ name, typical }) => from[name] ?? typical)];
  const best = starts
    .map((start) => fitFrom(priors, start, residuals))
    .filter((fit) => fit.status !== 'failed')
    .toSorted((a, b) => a.residualSumOfSquares - b.residualSumOfSquares)[0];
  if (best === undefined)
    throw new Problem('does-not-fit', `${device.id} (${unit.id}): no start led to a fit`, {
      expected: 'points that determine the tube',
    });
  return record(device, unit, priors, best, residuals(Object.values(best.values)).length);
}

/** The typical tube, and tubes with another grip of the grid and another rounding of the cutoff. */
function startsOf(priors: readonly Prior[]): readonly (readonly number[])[] {
  const factors = [
    [1, 1],
    [1.5, 1],
    [0.7, 1],
    [1, 0.5],
    [1, 2],
    [2, 1.5],
    [0.5, 0.7],
    [1.4, 0.4],
  ];
  // A pentagrid's residuals cost a hundred times a triode's, and its parameters are nearer to their typical values.
  const enough = priors.some(({ name }) => name === 'mu3') ? 3 : factors.length;
  return factors.slice(0, enough).map(([muFactor = 1, kpFactor = 1]) =>
    priors.map(({ name, typical, low, high }) => {
      const factor = name === 'mu' ? muFactor : name === 'kp' ? kpFactor * muFactor : 1;
      return Math.min(high, Math.max(low, typical * factor));
    }),
  );
}

function fitFrom(
  priors: readonly Prior[],
  starts: readonly number[],
  residuals: (values: readonly number[]) => number[],
): FitResult {
  return fitLeastSquares({
    parameters: priors.map(({ name, typical, low, high, scale, fixed }, i): FitParameter => ({
      name,
      start: starts[i] ?? typical,
      low,
      high,
      scale,
      ...(fixed === true ? { fixed } : {}),
    })),
    residuals,
    maxIterations: 200,
    relativeTolerance: 1e-5,
  });
}

function record(
  device: Device,
  unit: Unit,
  priors: readonly Prior[],
  fit: Exclude<FitResult, { status: 'failed' }>,
  residualCount: number,
): FitRecord {
  const parameters = Object.fromEntries(
    Object.entries(fit.values).map(([name, value]) => [name, Number(value.toPrecision(7))]),
  );
  const free = priors.filter(({ fixed }) => fixed !== true);
  // The fitter scales its errors with the scatter. Ours are known beforehand: never smaller than the tolerances imply.
  const scatter = Math.sqrt(fit.residualSumOfSquares / Math.max(1, residualCount - free.length));
  const standardErrors: Record<string, number> = {};
  const restOnPrior: string[] = [];
  for (const prior of free) {
    const scaled = fit.standardErrors[prior.name];
    if (scaled === null || scaled === undefined || scatter === 0) {
      restOnPrior.push(prior.name);
      continue;
    }
    const error = scaled / scatter;
    standardErrors[prior.name] = Number((error * Math.max(1, scatter)).toPrecision(3));
    // Nearly the prior's own width: the points have told little.
    const width = prior.scale === 'log' ? error / (parameters[prior.name] ?? NaN) : error;
    if (prior.spread !== undefined && width > 0.7 * prior.spread) restOnPrior.push(prior.name);
  }
  return {
    parameters,
    standardErrors,
    restOnPrior,
    atBound: fit.atBound,
    held: priors.filter(({ fixed }) => fixed === true).map(({ name }) => name),
    residuals: residualTable(device, unit, parameters),
  };
}

/** Every published number of a unit beside the model's, points of use `check` included. */
export function residualTable(
  device: Device,
  unit: Unit,
  parameters?: Readonly<Record<string, number>>,
): readonly FitResidual[] {
  const model = tubeModel(device, unit.id, parameters);
  return unit.points.flatMap((point, index) =>
    compare(model, point).map(({ quantity, published, model: value }) => ({
      point: index,
      quantity,
      published,
      model: Number(value.toPrecision(5)),
      error_percent: errorPercent(published, value),
    })),
  );
}

/** A current read as 0 has no percentage: 0 where the model has next to none either, else 100. */
function errorPercent(published: number, value: number): number {
  if (published === 0) return Math.abs(value) < 1e-3 ? 0 : 100;
  // Adding 0 makes −0 a plain 0.
  return Number((100 * (value / published - 1)).toFixed(2)) + 0;
}

/** Standard deviation of a current read from a curve or a meter, mA. */
export function readingError_mA(point: CurvePoint, published: number): number {
  return point.reading_mA === undefined
    ? CURVE_READING_mA + 0.02 * published
    : point.reading_mA + 0.01 * published;
}

function standardResidual(point: Point, { quantity, published, model }: Compared): number {
  const weight = Math.sqrt(point.weight ?? 1);
  if (point.kind === 'curve')
    return (weight * (model - published)) / readingError_mA(point, published);
  return (weight * Math.log(model / published)) / TOLERANCE[quantity];
}

function distanceFromTypical(prior: Prior, parameters: Readonly<Record<string, number>>): number {
  const value = parameters[prior.name] ?? NaN;
  const spread = prior.spread ?? Infinity;
  if (prior.overMu !== undefined)
    return Math.log(value / (parameters['mu'] ?? NaN) / prior.overMu) / spread;
  return (prior.scale === 'log' ? Math.log(value / prior.typical) : value - prior.typical) / spread;
}
