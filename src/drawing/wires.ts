import type { Circuit, Node } from '../types.ts';
import type { Dot, PlacedPin, PlacedSymbol, Wire } from './drawing.ts';
import { samePoint, type Point } from './geometry.ts';

/**
 * A net takes a spine and each of its pins goes square to it. The spine is what the circuit names for the node; else
 * the row or the column that all pins share; else the column of the first pin.
 */

type Spine = readonly ['h' | 'v', number];

/** Pins by node, in the order of the parts; rails left out. */
export function netsOf(
  symbols: readonly PlacedSymbol[],
  rails: ReadonlySet<Node>,
): ReadonlyMap<Node, readonly PlacedPin[]> {
  const nets = new Map<Node, PlacedPin[]>();
  for (const pin of symbols.flatMap((symbol) => symbol.pins)) {
    if (rails.has(pin.node)) continue;
    nets.set(pin.node, [...(nets.get(pin.node) ?? []), pin]);
  }
  return nets;
}

export function wireNets(
  nets: ReadonlyMap<Node, readonly PlacedPin[]>,
  spines: Circuit['spine'],
): { readonly wires: readonly Wire[]; readonly dots: readonly Dot[] } {
  const wires: Wire[] = [];
  const dots: Dot[] = [];
  for (const [node, pins] of nets) {
    const pieces = wireNet(node, pins, spines?.[node] ?? spineOf(pins));
    const own = mergeWires(pieces);
    const corners = pieces.flatMap((piece) => [piece.from, piece.to]);
    wires.push(...own);
    dots.push(...dotsOf(node, pins, own, corners));
  }
  return { wires, dots };
}

function spineOf(pins: readonly PlacedPin[]): Spine {
  const [x, y] = pins[0]!.at;
  return pins.every((pin) => pin.at[1] === y) ? ['h', y] : ['v', x];
}

function wireNet(node: Node, pins: readonly PlacedPin[], [way, place]: Spine): Wire[] {
  const onto = ([x, y]: Point): Point => (way === 'v' ? [place, y] : [x, place]);
  const feet = pins.map((pin) => onto(pin.at));
  const along = feet.map((foot) => (way === 'v' ? foot[1] : foot[0]));
  const end = (at: number): Point => (way === 'v' ? [place, at] : [at, place]);
  return [
    { node, from: end(Math.min(...along)), to: end(Math.max(...along)) },
    ...pins.map((pin, i) => ({ node, from: pin.at, to: feet[i]! })),
  ].filter((wire) => !samePoint(wire.from, wire.to));
}

/** One wire for each run of pieces that lie on one line and touch. */
function mergeWires(pieces: readonly Wire[]): Wire[] {
  const merged: Wire[] = [];
  for (const piece of pieces) {
    let wire = ordered(piece);
    for (let i = merged.length - 1; i >= 0; i--) {
      const joined = joinedInLine(wire, merged[i]!);
      if (joined === undefined) continue;
      wire = joined;
      merged.splice(i, 1);
    }
    merged.push(wire);
  }
  return merged;
}

const ordered = (wire: Wire): Wire =>
  wire.from[0] > wire.to[0] || wire.from[1] > wire.to[1]
    ? { ...wire, from: wire.to, to: wire.from }
    : wire;

function joinedInLine(s: Wire, t: Wire): Wire | undefined {
  for (const [fixed, along] of [
    [0, 1],
    [1, 0],
  ] as const) {
    const place = s.from[fixed];
    if ([s.to, t.from, t.to].some((point) => point[fixed] !== place)) continue;
    if (s.from[along] > t.to[along] || t.from[along] > s.to[along]) continue;
    return {
      node: s.node,
      from: s.from[along] < t.from[along] ? s.from : t.from,
      to: s.to[along] > t.to[along] ? s.to : t.to,
    };
  }
  return undefined;
}

/** A dot where three ends meet; a pin's own lead is an end. */
function dotsOf(
  node: Node,
  pins: readonly PlacedPin[],
  wires: readonly Wire[],
  corners: readonly Point[],
): Dot[] {
  const places: Point[] = [];
  for (const point of [...pins.map((pin) => pin.at), ...corners])
    if (!places.some((other) => samePoint(other, point))) places.push(point);
  return places.filter((point) => endsAt(point, pins, wires) >= 3).map((at) => ({ node, at }));
}

function endsAt(point: Point, pins: readonly PlacedPin[], wires: readonly Wire[]): number {
  const ends = pins.filter((pin) => samePoint(pin.at, point)).length;
  return wires.reduce((count, wire) => count + endsOf(wire, point), ends);
}

/** How many ends of a wire a point sees: none, one at its end, two where it runs through. */
function endsOf({ from, to }: Wire, point: Point): number {
  if (samePoint(from, point) || samePoint(to, point)) return 1;
  const on =
    (from[0] === to[0] && point[0] === from[0] && point[1] > from[1] && point[1] < to[1]) ||
    (from[1] === to[1] && point[1] === from[1] && point[0] > from[0] && point[0] < to[0]);
  return on ? 2 : 0;
}
