import { fitLeastSquares, type FitParameter } from '../src/numerics/least-squares.ts';
import { Problem } from '../src/problem.ts';
import { compare, type Compared } from './predict.ts';
import type { Device, FitRecord, FitResidual, Point, Unit } from './device.ts';
import { priorsOf, type Prior } from './fit-priors.ts';
import { tubeModel } from './tube.ts';

/**
 * Standard deviation of a published number: what rounding, hand-drawn curves and the makers' own averaging leave open.
 * Relative, but for voltages of cutoff. The aims are about three of these.
 */
const TOLERANCE: Readonly<Record<FitResidual['quantity'], number>> = {
  plate_mA: 0.01,
  screen_mA: 0.02,
  gm_mS: 0.015,
  rp_ohm: 0.04,
  mu: 0.02,
  cutoff_V: 0.05,
  gmAt_V: 0.04,
};
/** A hand reading of a plate curve is good to this, whatever the current. */
const CURVE_READING_mA = 0.05;

/**
 * Fits one unit to its points of use `fit`: weighted least squares on the published numbers, with the family's typical
 * values as weak priors for what the points leave open.
 *
 * @throws Problem `too-few-points`, `does-not-fit`
 */
export function fitUnit(device: Device, unit: Unit, starts = 12): FitRecord {
  const points = unit.points.filter(({ use }) => use === 'fit');
  if (points.length === 0)
    throw new Problem('too-few-points', `${device.id} (${unit.id}) has no point to fit`, {
      found: `${unit.points.length} points, none of use "fit"`,
      expected: 'at least one operating point',
    });
  const priors = priorsOf(unit);
  const bare = (values: readonly number[], list: readonly Prior[]) =>
    Object.fromEntries(list.map(({ name }, i) => [name, values[i] ?? NaN]));
  const dataResiduals = (parameters: Record<string, number>): number[] => {
    const model = tubeModel(device, unit.id, parameters);
    return points.flatMap((point) =>
      compare(model, point).map((pair) => standardResidual(point, pair)),
    );
  };
  const priorResiduals = (parameters: Record<string, number>): number[] =>
    priors.flatMap((prior) =>
      prior.spread === undefined ? [] : [distanceFromTypical(prior, parameters)],
    );
  const request = {
    parameters: priors.map(({ name, typical, low, high, scale, fixed }): FitParameter => ({
      name,
      start: typical,
      low,
      high,
      scale,
      ...(fixed === true ? { fixed } : {}),
    })),
    residuals: (values: number[]) => {
      const parameters = bare(values, priors);
      return [...dataResiduals(parameters), ...priorResiduals(parameters)];
    },
    starts,
    seed: device.id,
    maxIterations: 200,
    relativeTolerance: 1e-6,
  };
  const fit = fitLeastSquares(request);
  if (fit.status === 'failed')
    throw new Problem('does-not-fit', `${device.id} (${unit.id}): ${fit.message}`, {
      expected: 'points that determine the tube',
    });
  const parameters = Object.fromEntries(
    Object.entries(fit.values).map(([name, value]) => [name, Number(value.toPrecision(7))]),
  );
  const held = priors.filter(({ fixed }) => fixed === true).map(({ name }) => name);
  const standardErrors = Object.fromEntries(
    Object.entries(fit.standardErrors).flatMap(([name, error]) =>
      error === null || held.includes(name) ? [] : [[name, Number(error.toPrecision(3))]],
    ),
  );
  return {
    parameters,
    standardErrors,
    restOnPrior: priors
      .filter((prior) => prior.fixed !== true && restsOnPrior(prior, parameters, standardErrors))
      .map(({ name }) => name),
    atBound: fit.atBound,
    held,
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
      error_percent: Number((100 * (value / published - 1)).toFixed(2)),
    })),
  );
}

function standardResidual(point: Point, { quantity, published, model }: Compared): number {
  const weight = Math.sqrt(point.weight ?? 1);
  if (point.kind === 'curve')
    return (weight * (model - published)) / (CURVE_READING_mA + 0.02 * published);
  return (weight * Math.log(model / published)) / TOLERANCE[quantity];
}

function distanceFromTypical(prior: Prior, parameters: Readonly<Record<string, number>>): number {
  const value = parameters[prior.name] ?? NaN;
  const spread = prior.spread ?? Infinity;
  if (prior.overMu === true) {
    const mu = parameters['mu'] ?? NaN;
    return Math.log(value / mu / prior.overMuTypical) / spread;
  }
  return (prior.scale === 'log' ? Math.log(value / prior.typical) : value - prior.typical) / spread;
}

/** A parameter whose error is nearly that of its prior has learned little from the points. */
function restsOnPrior(
  prior: Prior,
  parameters: Readonly<Record<string, number>>,
  errors: Readonly<Record<string, number>>,
): boolean {
  if (prior.spread === undefined) return false;
  const error = errors[prior.name];
  if (error === undefined) return true;
  const size = prior.scale === 'log' ? error / (parameters[prior.name] ?? NaN) : error;
  return size > 0.7 * prior.spread;
}
