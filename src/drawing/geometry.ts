/** Points, boxes and wire segments on the drawing grid. One unit (u) is ten pixels at scale 1; y runs down. */

export type Point = readonly [number, number];

/** Clockwise quarter turns, degrees. */
export type Turn = 0 | 90 | 180 | 270;

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** A straight piece, always level or upright. */
export interface Segment {
  readonly from: Point;
  readonly to: Point;
}

export const box = (left: number, top: number, right: number, bottom: number): Box => ({
  left: Math.min(left, right),
  top: Math.min(top, bottom),
  right: Math.max(left, right),
  bottom: Math.max(top, bottom),
});

export const boxOf = ({ from, to }: Segment): Box => box(from[0], from[1], to[0], to[1]);

export const grown = (b: Box, by: number): Box => ({
  left: b.left - by,
  top: b.top - by,
  right: b.right + by,
  bottom: b.bottom + by,
});

export const unionOf = (boxes: readonly Box[]): Box => ({
  left: Math.min(...boxes.map((b) => b.left)),
  top: Math.min(...boxes.map((b) => b.top)),
  right: Math.max(...boxes.map((b) => b.right)),
  bottom: Math.max(...boxes.map((b) => b.bottom)),
});

/** Less than this is rounding of coordinates. */
const ROUNDING_u = 1e-9;

/** Whether two boxes share area. Boxes that only touch along an edge do not meet. */
export const boxesMeet = (a: Box, b: Box): boolean =>
  a.left < b.right - ROUNDING_u &&
  a.right > b.left + ROUNDING_u &&
  a.top < b.bottom - ROUNDING_u &&
  a.bottom > b.top + ROUNDING_u;

/** Whether a slanting line passes through a box. */
export function lineMeets([from, to]: readonly [Point, Point], b: Box): boolean {
  // the part of the line, from 0 to 1, that lies between each pair of sides
  let [first, last] = [0, 1];
  for (const [start, run, low, high] of [
    [from[0], to[0] - from[0], b.left, b.right],
    [from[1], to[1] - from[1], b.top, b.bottom],
  ] as const) {
    if (run === 0) {
      if (start <= low || start >= high) return false;
      continue;
    }
    const [s, t] = [(low - start) / run, (high - start) / run];
    first = Math.max(first, Math.min(s, t));
    last = Math.min(last, Math.max(s, t));
  }
  return first < last;
}

/** Whether two segments cross, touch or overlap. */
export function segmentsTouch(s: Segment, t: Segment): boolean {
  const [a, b] = [boxOf(s), boxOf(t)];
  return a.left <= b.right && a.right >= b.left && a.top <= b.bottom && a.bottom >= b.top;
}

export const isInside = (inner: Box, outer: Box): boolean =>
  inner.left >= outer.left &&
  inner.top >= outer.top &&
  inner.right <= outer.right &&
  inner.bottom <= outer.bottom;

export const samePoint = (a: Point, b: Point): boolean => a[0] === b[0] && a[1] === b[1];

export const plus = (a: Point, b: Point): Point => [a[0] + b[0], a[1] + b[1]];

/** A point turned clockwise about the origin. Adding 0 turns -0 into 0. */
export function turned([x, y]: Point, turn: Turn): Point {
  if (turn === 90) return [-y + 0, x];
  if (turn === 180) return [-x + 0, -y + 0];
  if (turn === 270) return [y, -x + 0];
  return [x, y];
}

/** A point of a symbol, in the drawing. */
export const placed = (point: Point, at: Point, turn: Turn): Point => plus(at, turned(point, turn));

export function placedBox(b: Box, at: Point, turn: Turn): Box {
  const [x0, y0] = placed([b.left, b.top], at, turn);
  const [x1, y1] = placed([b.right, b.bottom], at, turn);
  return box(x0, y0, x1, y1);
}

export const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
