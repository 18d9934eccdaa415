/** Where words go beside what they name: off each other, off the marks and, where there is a choice, off the curves. */

export interface Spot {
  /** Left end and baseline of the words, px. */
  readonly x: number;
  readonly y: number;
}

export interface Label {
  readonly width: number;
  /** The best first. */
  readonly spots: readonly Spot[];
  /** Left out where it would lie on others. */
  readonly optional?: boolean;
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

export type Curve = readonly (readonly [x: number, y: number])[];

export interface Surroundings {
  /** What no word may leave. */
  readonly bounds: Box;
  /** Marks and other words. */
  readonly taken: readonly Box[];
  readonly curves: readonly Curve[];
}

/** Of words of 12 px about their baseline. */
const ABOVE = 10;
const BELOW = 3;
/** What a spot costs: a curve through the words counts by the px of it, a worse spot by its rank. */
const ON_OTHERS = 1000;
const PER_RANK = 4;
/** Words that were set first move once more when they see the others. */
const ROUNDS = 2;

export const boxOf = ({ x, y }: Spot, width: number): Box => ({
  left: x,
  top: y - ABOVE,
  right: x + width,
  bottom: y + BELOW,
});

/** A spot for each label, in order; undefined for an optional one without room. */
export function placeLabels(
  labels: readonly Label[],
  around: Surroundings,
): readonly (Spot | undefined)[] {
  const placed: (Spot | undefined)[] = labels.map(() => undefined);
  for (let round = 0; round < ROUNDS; round += 1)
    labels.forEach((label, i) => {
      const others = placed.flatMap((spot, k) =>
        spot === undefined || k === i ? [] : [boxOf(spot, labels[k]!.width)],
      );
      placed[i] = best(label, [...around.taken, ...others], around);
    });
  return placed;
}

function best(
  { width, spots, optional }: Label,
  taken: readonly Box[],
  { bounds, curves }: Surroundings,
): Spot | undefined {
  let least = Infinity;
  let found: Spot | undefined;
  spots.forEach((wanted, rank) => {
    const spot = within(wanted, width, bounds);
    const box = boxOf(spot, width);
    const on = taken.filter((other) => meet(box, other)).length * ON_OTHERS;
    if (optional === true && on > 0) return;
    const moved = Math.hypot(spot.x - wanted.x, spot.y - wanted.y);
    const cost = on + PER_RANK * rank + moved + through(curves, box);
    if (cost >= least) return;
    least = cost;
    found = spot;
  });
  return found;
}

const within = ({ x, y }: Spot, width: number, bounds: Box): Spot => ({
  x: Math.max(bounds.left, Math.min(x, bounds.right - width)),
  y: Math.max(bounds.top + ABOVE, Math.min(y, bounds.bottom - BELOW)),
});

const meet = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

function through(curves: readonly Curve[], box: Box): number {
  let length = 0;
  for (const curve of curves)
    for (let i = 1; i < curve.length; i += 1) length += lengthIn(curve[i - 1]!, curve[i]!, box);
  return length;
}

/** Length of a segment within a box (Liang and Barsky's clipping, Communications of the ACM, 1984). */
export function lengthIn(
  [x0, y0]: readonly [number, number],
  [x1, y1]: readonly [number, number],
  { left, top, right, bottom }: Box,
): number {
  const [dx, dy] = [x1 - x0, y1 - y0];
  let [from, to] = [0, 1];
  for (const [step, room] of [
    [-dx, x0 - left],
    [dx, right - x0],
    [-dy, y0 - top],
    [dy, bottom - y0],
  ] as const) {
    if (step === 0) {
      if (room < 0) return 0;
    } else if (step < 0) from = Math.max(from, room / step);
    else to = Math.min(to, room / step);
  }
  return to > from ? (to - from) * Math.hypot(dx, dy) : 0;
}
