import { Problem } from '../src/problem.ts';
import type { Character, CurvePoint, Device, FitRecord, Unit } from './device.ts';
import { fitUnit, readingError_mA } from './fit.ts';
import { screenSoftening_V2 } from './fit-priors.ts';
import { compare } from './predict.ts';
import { tubeModel } from './tube.ts';

/** A fit of the user's own measured points, and what it could and could not decide. */
export interface OwnFit {
  readonly device: Device;
  readonly unit: Unit;
  readonly fit: FitRecord;
  /** Parameters held at typical values for want of points, and how many different conditions would free them all. */
  readonly heldForWant: readonly string[];
  readonly conditionsForAll: number;
  /** Indices of points that lie far outside the scatter of the others. All of them took part in the fit. */
  readonly outliers: readonly number[];
  /** Root mean square of the plate-current errors, in percent of the reading, over readings above a tenth of the largest. */
  readonly scatter_percent: number;
  /** The same without the outliers, refitted; undefined where there are none. */
  readonly scatterWithout_percent?: number;
}

/** Parameters in the order in which points decide them. */
const ORDER: Readonly<Record<'triode' | 'pentode', readonly string[]>> = {
  triode: ['mu', 'kg1', 'kp', 'vct', 'ex', 'kvb'],
  pentode: ['mu', 'kg1', 'kg2', 'kp', 'vct', 'ks', 'ex', 'rise', 'm', 'kn', 'kappa', 'division'],
};
/** Only remote cutoff has them; they come after the drive's own. */
const REMOTE = ['weightStep', 'muStep', 'weightBend'];
const LEAST = { triode: 3, pentode: 4 };

/**
 * Fits measured points of one section.
 *
 * @param like type whose base, heater, ratings, capacitances and priors the new device takes over
 * @param points kind `curve`, use `fit`
 * @throws Problem `too-few-points`, `does-not-fit`
 */
export function fitOwn(
  like: Device,
  unit: Unit,
  id: string,
  points: readonly CurvePoint[],
): OwnFit {
  const { family } = unit;
  if (family !== 'triode' && family !== 'pentode')
    throw new Problem('does-not-fit', 'only triodes and pentodes are fitted from measured points', {
      found: family,
      expected: 'triode or pentode',
    });
  const order = ORDER[family].flatMap((name) =>
    name === 'vct' && unit.character === 'remote' ? [name, ...REMOTE] : [name],
  );
  const conditions = new Set(
    points.map(({ plate_V, screen_V, grid_V }) => `${plate_V} ${screen_V} ${grid_V}`),
  ).size;
  if (conditions < LEAST[family])
    throw new Problem('too-few-points', `too few different conditions for a ${family}`, {
      found: `${conditions}`,
      expected: `at least ${LEAST[family]}; ${order.length + 1} decide every parameter`,
      hint: `With fewer than ${order.length + 1} the rest stays at typical values: first ${order.slice(-3).toReversed().join(', then ')}.`,
    });
  const noScreen = family === 'pentode' && points.every(({ screen_mA }) => screen_mA === undefined);
  const free = order.slice(0, Math.max(LEAST[family] - 1, conditions - 1));
  const heldForWant = order.filter((name) => !free.includes(name));
  const hold = [...heldForWant, ...(noScreen ? ['kg2', 'kappa', 'division'] : [])];
  const own: Unit = withoutFit(unit, points);
  const device: Device = {
    format: 'stagefit-device',
    version: 1,
    id,
    title: `${like.title}, fitted from measured points`,
    designations: [id],
    base: like.base,
    heater: like.heater,
    units: [own],
    remarks: [`Base, heater, ratings, capacitances and grid law are those of the ${like.id}.`],
  };
  const typical = suggested(device, own, points);
  const fit = fitUnit(device, own, { hold, typical });
  const fitted: Unit = { ...own, fit };
  const done: Device = { ...device, units: [fitted] };
  const outliers = outliersOf(done, fitted, points);
  const rest = points.filter((_, i) => !outliers.includes(i));
  const without =
    outliers.length === 0 || rest.length < LEAST[family]
      ? undefined
      : refit(device, own, rest, { hold, typical });
  return {
    device: done,
    unit: fitted,
    fit,
    heldForWant: [...new Set(hold)],
    conditionsForAll: order.length + 1,
    outliers,
    scatter_percent: scatter(done, points),
    ...(without === undefined ? {} : { scatterWithout_percent: scatter(without, rest) }),
  };
}

function withoutFit(unit: Unit, points: readonly CurvePoint[]): Unit {
  const { fit: _old, ...rest } = unit;
  // Whatever the type it is like, its cathode gave the currents that were read, and hardly at its limit.
  const largest = Math.max(...points.map(({ plate_mA, screen_mA }) => plate_mA + (screen_mA ?? 0)));
  const saturation =
    unit.saturation.newCathode_mA >= 3 * largest
      ? unit.saturation
      : {
          ...unit.saturation,
          newCathode_mA: Number((5 * largest).toPrecision(3)),
          source: 'prior: five times the largest current that was read',
          provenance: 'fromMemory' as const,
        };
  return { ...rest, saturation, sections: unit.sections.slice(0, 1), points };
}

function refit(
  device: Device,
  unit: Unit,
  points: readonly CurvePoint[],
  options: Parameters<typeof fitUnit>[2],
): Device {
  const own = { ...unit, points };
  return {
    ...device,
    units: [{ ...own, fit: fitUnit({ ...device, units: [own] }, own, options) }],
  };
}

/** The grip of the grid and the perveance that suit the points best, everything else typical. */
function suggested(
  device: Device,
  unit: Unit,
  points: readonly CurvePoint[],
): Readonly<Record<string, number>> {
  const character: Character = unit.character;
  const kpOverMu = character === 'triode' ? 5 : character === 'remote' ? 2 : 5.5;
  const candidates = [3, 4, 5, 6.5, 8, 10, 13, 17, 22, 30, 40, 55, 75, 100, 130];
  const largest = Math.max(...points.map(({ plate_mA }) => plate_mA));
  const used = points.filter(({ plate_mA }) => plate_mA > 0.03 * largest);
  let best = { misfit: Infinity, mu: 20, kg1: 1000 };
  for (const mu of candidates) {
    const parameters = { ...TRIAL, kvs: screenSoftening_V2(character), mu, kp: kpOverMu * mu };
    const model = tubeModel(device, unit.id, parameters);
    const ratios = used.map((point) =>
      Math.log((compare(model, point)[0]?.model ?? NaN) / point.plate_mA),
    );
    const mean = ratios.reduce((a, b) => a + b, 0) / ratios.length;
    const misfit = ratios.reduce((a, b) => a + (b - mean) ** 2, 0);
    if (misfit < best.misfit) best = { misfit, mu, kg1: 1000 * Math.exp(mean) };
  }
  const shares = points.flatMap(({ plate_mA, screen_mA, plate_V, screen_V }) =>
    screen_mA !== undefined && plate_mA > 0.1 * largest && plate_V >= 0.7 * (screen_V ?? 0)
      ? [screen_mA / plate_mA]
      : [],
  );
  const share = shares.toSorted((a, b) => a - b)[Math.floor(shares.length / 2)] ?? 0.25;
  return {
    mu: best.mu,
    kg1: best.kg1,
    kp: kpOverMu * best.mu,
    kg2: best.kg1 / Math.PI / Math.max(0.02, share),
  };
}

const TRIAL = {
  ex: 1.4,
  kg1: 1000,
  kg2: 2000,
  kvs: 0,
  vct: 0.2,
  kvb: 0.5,
  ks: 0.05,
  kn: 0.3,
  m: 1.2,
  rise: 0.02,
  kappa: 0.8,
  division: 0,
  tail: 0,
  sections: 1,
  muStep: 1,
  weightStep: 0,
  weightBend: 1,
};

/** Error of the plate current over what the meter leaves open. */
export function plateResiduals(device: Device, points: readonly CurvePoint[]): readonly number[] {
  const model = tubeModel(device);
  return points.map((point) => {
    const [plate] = compare(model, point);
    return ((plate?.model ?? NaN) - point.plate_mA) / readingError_mA(point, point.plate_mA);
  });
}

/** Beyond 4 robust standard deviations (1.48 times the median size), and beyond 3 of the meter's. */
function outliersOf(device: Device, _unit: Unit, points: readonly CurvePoint[]): readonly number[] {
  const sizes = plateResiduals(device, points).map(Math.abs);
  const middle = sizes.toSorted((a, b) => a - b)[Math.floor((sizes.length - 1) / 2)] ?? 0;
  const limit = Math.max(3, 4 * 1.4826 * middle);
  return sizes.flatMap((size, i) => (size > limit ? [i] : []));
}

function scatter(device: Device, points: readonly CurvePoint[]): number {
  const model = tubeModel(device);
  const largest = Math.max(...points.map(({ plate_mA }) => plate_mA));
  const errors = points
    .filter(({ plate_mA }) => plate_mA > 0.1 * largest)
    .map((point) => (compare(model, point)[0]?.model ?? NaN) / point.plate_mA - 1);
  return 100 * Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
}
