import type { Node } from '../types.ts';
import type { PlacedPin, Wire } from './drawing.ts';
import { distance, samePoint, type Point } from './geometry.ts';

/** Ways along the wires of one net. */

/** Corner points from one pin of a net to another, the first left out. */
export function netRoute(
  from: Point,
  to: Point,
  node: Node,
  nets: ReadonlyMap<Node, readonly PlacedPin[]>,
  wires: readonly Wire[],
): Point[] {
  const own = wires.filter((wire) => wire.node === node);
  const points = meetingPoints(
    own,
    (nets.get(node) ?? []).map((pin) => pin.at),
  );
  const start = points.find((p) => samePoint(p, from)) ?? from;
  const reached = new Map<Point, { readonly length: number; readonly way: readonly Point[] }>([
    [start, { length: 0, way: [] }],
  ]);
  const open = [start];
  while (open.length > 0) {
    open.sort((a, b) => reached.get(a)!.length - reached.get(b)!.length);
    const here = open.shift()!;
    const { length, way } = reached.get(here)!;
    if (samePoint(here, to)) return [...way];
    for (const next of points) {
      if (next === here || !own.some((wire) => isOn(wire, here) && isOn(wire, next))) continue;
      const total = length + distance(here, next);
      if (total >= (reached.get(next)?.length ?? Infinity)) continue;
      reached.set(next, { length: total, way: [...way, next] });
      if (!open.includes(next)) open.push(next);
    }
  }
  return [to];
}

const isOn = ({ from, to }: Wire, [x, y]: Point): boolean =>
  x >= from[0] && x <= to[0] && y >= from[1] && y <= to[1];

/** Pins, ends of wires, and where wires of the net meet, each once. */
function meetingPoints(wires: readonly Wire[], pins: readonly Point[]): Point[] {
  const crossings = wires.flatMap((level) =>
    wires.flatMap((upright): Point[] => {
      const at: Point = [upright.from[0], level.from[1]];
      return isOn(level, at) && isOn(upright, at) ? [at] : [];
    }),
  );
  const all = [...pins, ...wires.flatMap((wire) => [wire.from, wire.to]), ...crossings];
  return all.filter((p, i) => all.findIndex((other) => samePoint(other, p)) === i);
}

/** The same line without points that repeat or lie on a straight run. */
export function straightened(points: readonly Point[]): Point[] {
  const kept: Point[] = [];
  for (const point of points) {
    const last = kept.at(-1);
    if (last !== undefined && samePoint(last, point)) continue;
    const before = kept.at(-2);
    if (before !== undefined && last !== undefined && isBetween(before, last, point)) kept.pop();
    kept.push(point);
  }
  return kept;
}

const isBetween = (a: Point, b: Point, c: Point): boolean =>
  (a[0] === b[0] && b[0] === c[0] && (b[1] - a[1]) * (c[1] - b[1]) > 0) ||
  (a[1] === b[1] && b[1] === c[1] && (b[0] - a[0]) * (c[0] - b[0]) > 0);
