import type { Node } from '../types.ts';
import type { PlacedPin, PlacedSymbol, VoltageTag, Wire } from './drawing.ts';
import { box, distance, type Box, type Point } from './geometry.ts';

/** Places for a node's voltage tag along its wire, nearest to the tube first. */

/** Room for "−12.0 V" with its dot, two lines. */
const WIDTH_u = 6.4;
const ABOVE_u = 1.1;
const BELOW_u = 1.8;
const BESIDE_u = 0.5;
const OVER_u = 0.4;
/** A tag left of its wire is worth this much way: at the right stand labels of parts. */
const RIGHT_COST_u = 2.5;
const UNDER_COST_u = 3;

/** Wired nodes with an electrode on them, in the order in which the tubes name them. */
export function taggedNodes(
  symbols: readonly PlacedSymbol[],
  nets: ReadonlyMap<Node, readonly PlacedPin[]>,
): Node[] {
  const nodes = symbols
    .filter((symbol) => symbol.shape.form === 'tube')
    .flatMap((symbol) => symbol.pins.map((pin) => pin.node));
  return [...new Set(nodes)].filter((node) => nets.has(node));
}

export function tagBox([x, y]: Point, anchor: VoltageTag['anchor']): Box {
  return anchor === 'start'
    ? box(x, y - ABOVE_u, x + WIDTH_u, y + BELOW_u)
    : box(x - WIDTH_u, y - ABOVE_u, x, y + BELOW_u);
}

/** `pins` are those of the node, the one that the tag should stand near first. */
export function tagChoices(
  node: Node,
  wires: readonly Wire[],
  pins: readonly PlacedPin[],
): VoltageTag[] {
  const electrode = pins[0]!.at;
  const places = [
    ...pins.map((pin) => ({ at: pin.at, level: pin.out[0] !== 0 })),
    ...wires
      .filter((wire) => wire.node === node)
      .flatMap((wire) => pointsOf(wire).map((at) => ({ at, level: wire.from[1] === wire.to[1] }))),
  ].map((place) => ({ ...place, far: distance(place.at, electrode) }));
  const near = places.flatMap(({ at, level, far }) =>
    (level ? overAndUnder(node, at) : beside(node, at)).map((choice) => ({
      choice,
      cost:
        far +
        (!level && choice.anchor === 'start' ? RIGHT_COST_u : 0) +
        (level && choice.at[1] > at[1] ? UNDER_COST_u : 0),
    })),
  );
  const away = places.flatMap(({ at, far }) =>
    withLeader(node, at).map((choice) => ({ choice, cost: 100 + far + distance(choice.at, at) })),
  );
  return [...near, ...away].sort((a, b) => a.cost - b.cost).map(({ choice }) => choice);
}

function pointsOf({ from, to }: Wire): Point[] {
  const steps = Math.max(1, Math.ceil(2 * distance(from, to)));
  return Array.from({ length: steps + 1 }, (_, i): Point => {
    const share = i / steps;
    return [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
  });
}

const tag = (node: Node, at: Point, anchor: VoltageTag['anchor']): VoltageTag => ({
  node,
  at,
  anchor,
  box: tagBox(at, anchor),
});

const beside = (node: Node, [x, y]: Point): VoltageTag[] => [
  tag(node, [x - BESIDE_u, y], 'end'),
  tag(node, [x + BESIDE_u, y], 'start'),
];

const overAndUnder = (node: Node, [x, y]: Point): VoltageTag[] =>
  [y - OVER_u - BELOW_u, y + OVER_u + ABOVE_u].flatMap((at) => [
    tag(node, [x, at], 'start'),
    tag(node, [x, at], 'end'),
  ]);

/** Further out, with a leader back to the wire. */
const withLeader = (node: Node, [x, y]: Point): VoltageTag[] =>
  [2, 3, 4, 5, 6].flatMap((out) =>
    [-1, 1].flatMap((down) =>
      (['end', 'start'] as const).map((anchor) => {
        const at: Point = [anchor === 'end' ? x - out : x + out, y + down * out];
        return { ...tag(node, at, anchor), leader: { from: at, to: [x, y] as Point } };
      }),
    ),
  );
