/**
 * What one emission, with a drop or without, leaves of the saturation, given what is known of cathodes before any reading:
 * a used cathode gives between nearly nothing and what a new one gives, every size as likely as any other, and any area
 * up to the largest. At a test current far below saturation a drop of a few percent is mostly error: without that
 * knowledge it would be taken for a saturation of a few times the test current, however little that is for the tube.
 */
import { Z90 } from '../numerics/normal.ts';
import { dropFor, driveGain, newTubeShare, split, type SplitAssumptions } from './split.ts';

export interface DropSeen {
  /** Fractional drop, as it would be after long enough at the low heater voltage. */
  readonly fraction: number;
  /** One standard deviation of its error. */
  readonly sd: number;
}

export interface Saturation {
  /** Area (perveance) factor, 1 = new. */
  readonly area: number;
  /** Saturation over the test current of a new tube. */
  readonly s: number;
  /** (drive / saturation)^n: how far into saturation the test drives the cathode. */
  readonly y: number;
}

/** All pairs of area and saturation that read `e`, from the largest saturation to the largest area. */
export interface Line {
  readonly e: number;
  readonly of: SplitAssumptions;
  /** Reading over the test current of a new tube's drive. */
  readonly whole: number;
  readonly least_y: number;
  readonly most_y: number;
}

/** @param largest the most that saturation may be, over the test current: a new cathode's */
export function lineOf(e: number, largest: number, of: SplitAssumptions): Line {
  const whole = e * newTubeShare(of.s0, of.n);
  // A reading above any new tube leaves no room for saturation: the largest area moves up with it.
  const drive = Math.max(of.largestArea * driveGain(e, of.q), 1.02 * whole);
  const least_y = 1 / ((largest / whole) ** of.n - 1);
  return { e, of, whole, least_y, most_y: Math.max((drive / whole) ** of.n - 1, least_y) };
}

export function pointAt(y: number, { e, of, whole }: Line): Saturation {
  const drive = whole * (1 + y) ** (1 / of.n);
  return { area: drive / driveGain(e, of.q), s: drive * y ** (-1 / of.n), y };
}

/**
 * How much of the prior lies below `y`, up to a constant. Area and the logarithm of saturation equally likely beforehand
 * give the drive x = (1 + y)^(1/n), over the reading, the density x^n/(x^n − 1) along the line; in closed form for n = 2
 * and near enough for the others.
 */
function mass(y: number, n: number): number {
  const beyond = Math.expm1(Math.log1p(y) / n);
  return beyond + Math.log(beyond / (beyond + 2)) / n;
}

interface Stretch {
  readonly from_y: number;
  readonly to_y: number;
  readonly weight: number;
}

/** Steps of the drop, in standard deviations of its error, and how far they go to either side. */
const STEP = 1 / 3;
const STEPS = 12;

/**
 * The line in stretches, each with its share of prior times likelihood of the drop (Bayes), the likelihood counted from
 * that of the nearest drop on the line, e^(−best/2).
 */
function stretches(
  line: Line,
  drop: DropSeen | undefined,
  step = STEP,
  steps = STEPS,
): { readonly all: readonly Stretch[]; readonly best: number } {
  const { e, of, least_y, most_y } = line;
  if (drop === undefined) return { all: [{ from_y: least_y, to_y: most_y, weight: 1 }], best: 0 };
  const [least, most] = [dropFor(e, least_y, of), dropFor(e, most_y, of)];
  const within = (d: number): number => Math.min(Math.max(d, least), most);
  const middle = within(drop.fraction);
  const best = ((middle - drop.fraction) / drop.sd) ** 2;
  const knots = Array.from({ length: 2 * steps + 1 }, (_, i) => {
    const d = within(middle + (i - steps) * step * drop.sd);
    const y = Math.min(Math.max(split(e, d, of).y, least_y), most_y);
    return { y, likelihood: Math.exp((best - ((d - drop.fraction) / drop.sd) ** 2) / 2) };
  });
  const all = knots.slice(1).map((to, i): Stretch => {
    const from = knots[i]!;
    const prior = mass(to.y, of.n) - mass(from.y, of.n);
    const share = shareAbove(from.y, to.y, of.r ** -of.n);
    const likelihood = from.likelihood + share * (to.likelihood - from.likelihood);
    return { from_y: from.y, to_y: to.y, weight: prior * likelihood };
  });
  return { all, best };
}

/**
 * How far the drop has gone, in the mean over the logarithm of y, from one end of a stretch to the other: near the lower
 * end on a long stretch of light drive, near the upper in saturation. The drop goes with y/(1 + k·y); Simpson's rule.
 */
function shareAbove(from_y: number, to_y: number, k: number): number {
  const along = (y: number): number => y / (1 + k * y);
  const whole = along(to_y) - along(from_y);
  return whole > 0
    ? (4 * ((along(Math.sqrt(from_y * to_y)) - along(from_y)) / whole) + 1) / 6
    : 0.5;
}

/** @param u 0 … 1: 0 the most saturation (a new cathode's), 1 the least (with the largest area); 0.5 the median */
export function saturationAt(u: number, line: Line, drop?: DropSeen): Saturation {
  const { all } = stretches(line, drop);
  let left = u * all.reduce((sum, { weight }) => sum + weight, 0);
  for (const { from_y, to_y, weight } of all) {
    if (weight > 0 && left <= weight)
      return pointAt(inside(left / weight, from_y, to_y, line.of.n), line);
    left -= weight;
  }
  return pointAt(all.at(-1)!.to_y, line);
}

/**
 * How likely the drop is in the mean over all tubes that read `e`, up to a constant. Where an instrument names only a zone,
 * it tells which end of it; elsewhere the reading itself is sharper.
 */
export function evidence(line: Line, drop: DropSeen): number {
  const { all, best } = stretches(line, drop, 1, 4);
  const total = all.reduce((sum, { weight }) => sum + weight, 0);
  const prior = mass(line.most_y, line.of.n) - mass(line.least_y, line.of.n);
  return prior > 0 ? (total / prior) * Math.exp(-best / 2) : 0;
}

/** Where a share of a stretch's prior is reached, by bisection in the logarithm. */
function inside(share: number, from_y: number, to_y: number, n: number): number {
  const wanted = (1 - share) * mass(from_y, n) + share * mass(to_y, n);
  let [low, high] = [Math.log(from_y), Math.log(to_y)];
  for (let i = 0; i < 30; i += 1) {
    const middle = (low + high) / 2;
    if (mass(Math.exp(middle), n) < wanted) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}

/** The least saturation that does not contradict the drop, at the end of its 90 % interval; without a drop the least there is. */
export function weakestAt(line: Line, drop: DropSeen | undefined): Saturation {
  if (drop === undefined) return pointAt(line.most_y, line);
  const { y } = split(line.e, Math.min(drop.fraction + Z90 * drop.sd, 0.99), line.of);
  return pointAt(Math.min(Math.max(y, line.least_y), line.most_y), line);
}
