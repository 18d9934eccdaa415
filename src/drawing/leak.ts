import type { Electrode, Node } from '../types.ts';
import type {
  Arrowhead,
  LeakDrawing,
  LeakOptions,
  PlacedPin,
  PlacedSymbol,
  Wire,
} from './drawing.ts';
import { box, boxesMeet, distance, placed, type Box, type Point, type Turn } from './geometry.ts';
import type { Candidate } from './room.ts';
import { netRoute, straightened } from './route.ts';
import { textBox } from './text.ts';

/** A leak between two electrodes, drawn inside the envelope, and the way of its current through the set. */

/** From the end of the shorter electrode inwards. */
const INSET_u = 1.2;
const LEAK_LINE_u = 1.4;
const LEAK_LETTER_u = 0.72;
const ARROW_u = 0.35;
/** An arrowhead this near to a corner would hide it. */
const CORNER_u = 0.9;

/** The electrode whose circuit carries the current away: the grid is the most negative and has the highest resistance. */
const CARRIERS: readonly Electrode[] = [
  'grid',
  'signalGrid',
  'oscillatorGrid',
  'cathode',
  'screen',
  'plate',
];

const carrierOf = (between: LeakOptions['between']): Electrode | undefined =>
  CARRIERS.find((electrode) => between.includes(electrode));

/** Between which heights the leak lies, in the drawing; undefined where the tube has no such electrode. */
function leakEnds(
  tube: PlacedSymbol,
  between: LeakOptions['between'],
): readonly [Point, Point] | undefined {
  const [a, b] = between.map((electrode) => tube.shape.electrodes[electrode]);
  if (a === undefined || b === undefined) return undefined;
  const x = Math.max(0, Math.min(a.reach, b.reach) - INSET_u);
  return [
    placed([x, Math.min(a.y, b.y)], tube.at, tube.turn),
    placed([x, Math.max(a.y, b.y)], tube.at, tube.turn),
  ];
}

/** A part that carries direct current from node to node, and its resistance. */
export interface Conductor {
  readonly part: string;
  readonly nodes: readonly [Node, Node];
  readonly ohms: number;
}

/** The way of least resistance from a node to a rail: conductors in order, or none. */
export function wayToRail(
  from: Node,
  conductors: readonly Conductor[],
  rails: ReadonlySet<Node>,
): readonly Conductor[] {
  const best = new Map<Node, { readonly ohms: number; readonly way: readonly Conductor[] }>([
    [from, { ohms: 0, way: [] }],
  ]);
  const open: Node[] = [from];
  while (open.length > 0) {
    open.sort((a, b) => best.get(a)!.ohms - best.get(b)!.ohms);
    const node = open.shift()!;
    const { ohms, way } = best.get(node)!;
    if (rails.has(node)) return way;
    for (const conductor of conductors) {
      const [a, b] = conductor.nodes;
      const next = a === node ? b : b === node ? a : undefined;
      if (next === undefined) continue;
      const total = ohms + conductor.ohms;
      if (total >= (best.get(next)?.ohms ?? Infinity)) continue;
      best.set(next, { ohms: total, way: [...way, conductor] });
      if (!open.includes(next)) open.push(next);
    }
  }
  return [];
}

interface Surroundings {
  readonly symbols: readonly PlacedSymbol[];
  readonly wires: readonly Wire[];
  readonly nets: ReadonlyMap<Node, readonly PlacedPin[]>;
  readonly rails: ReadonlySet<Node>;
  readonly conductors: readonly Conductor[];
}

/** The leak without its words; null where the circuit has no such tube or electrodes. */
export function drawLeak(
  options: LeakOptions,
  set: Surroundings,
  taken: readonly Box[],
): LeakDrawing | null {
  const tube = set.symbols.find((symbol) => symbol.part === options.tube);
  const ends = tube === undefined ? undefined : leakEnds(tube, options.between);
  if (tube === undefined || ends === undefined) return null;
  const { wash, outside, through } = washOf(tube, options.between, ends, set);
  // what enters the leak at its carrier comes to it from the set
  const inwards = options.from !== undefined && options.from === carrierOf(options.between);
  return {
    tube: options.tube,
    between: options.between,
    status: options.status,
    from: ends[0],
    to: ends[1],
    leader: null,
    wash,
    arrows:
      options.from === null ? [] : arrowsAlong(inwards ? outside.toReversed() : outside, taken),
    through,
  };
}

function washOf(
  tube: PlacedSymbol,
  between: LeakOptions['between'],
  ends: readonly [Point, Point],
  set: Surroundings,
): { wash: Point[]; outside: Point[]; through: string[] } {
  const carrier = carrierOf(between);
  const pin = tube.pins.find((p) => p.name === carrier);
  if (carrier === undefined || pin === undefined) return { wash: [], outside: [], through: [] };
  const level = placed([0, tube.shape.electrodes[carrier]?.y ?? 0], tube.at, tube.turn)[1];
  const start = ends.find((end) => end[1] === level) ?? ends[0];
  const outside: Point[] = [pin.at];
  const through: string[] = [];
  let { node } = pin;
  for (const conductor of wayToRail(node, set.conductors, set.rails)) {
    const symbol = set.symbols.find((s) => s.part === conductor.part)!;
    const entry = symbol.pins.find((p) => p.node === node)!;
    const exit = symbol.pins.find((p) => p !== entry && conductor.nodes.includes(p.node))!;
    outside.push(
      ...netRoute(outside.at(-1)!, entry.at, node, set.nets, set.wires),
      // a tap comes in from the side
      [exit.at[0], entry.at[1]],
      exit.at,
    );
    through.push(conductor.part);
    node = exit.node;
  }
  const inside: Point[] = [start, [pin.at[0], level]];
  return { wash: straightened([...inside, ...outside]), outside: straightened(outside), through };
}

/** Arrowheads in the middle of the longer legs, two on the longest, where nothing else stands. */
function arrowsAlong(way: readonly Point[], taken: readonly Box[]): Arrowhead[] {
  return way.slice(1).flatMap((to, i): Arrowhead[] => {
    const from = way[i]!;
    const length = distance(from, to);
    if (length < 2) return [];
    const turn: Turn = to[0] > from[0] ? 0 : to[0] < from[0] ? 180 : to[1] > from[1] ? 90 : 270;
    const places = length > 16 ? [0.25, 0.75] : [0.5];
    return places.flatMap((place): Arrowhead[] => {
      const free = [0, -0.08, 0.08, -0.16, 0.16, -0.24, 0.24, -0.32, 0.32, -0.4, 0.4]
        .map((shift): Point => {
          const share = place + shift;
          return [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
        })
        .find(([x, y]) => {
          if (Math.min(distance([x, y], from), distance([x, y], to)) < CORNER_u) return false;
          const own = box(x - ARROW_u, y - ARROW_u, x + ARROW_u, y + ARROW_u);
          return !taken.some((b) => boxesMeet(own, b));
        });
      return free === undefined ? [] : [{ at: free, turn }];
    });
  });
}

/** Places for the leak's words about the envelope, nearest to the leak first. */
export function leakWords(
  tube: PlacedSymbol,
  { from, to }: Pick<LeakDrawing, 'from' | 'to'>,
  lines: readonly string[],
): Candidate[] {
  const [x, y] = tube.at;
  const radius = Math.max(...tube.body.map((b) => b.right - x));
  const middleOfLeak: Point = [from[0], (from[1] + to[1]) / 2];
  const height = LEAK_LINE_u * lines.length;
  const degrees = Array.from({ length: 36 }, (_, i) => 10 * i);
  return [0.8, 2, 3.5, 5, 7]
    .flatMap((gap) =>
      degrees.map((angle) => {
        const [across, down] = [
          Math.cos((angle * Math.PI) / 180),
          Math.sin((angle * Math.PI) / 180),
        ];
        const middle: Point = [
          x + (radius + gap) * across,
          y + (radius + gap) * down + (down * height) / 2,
        ];
        return wordsAt(tube.part, middle, across >= 0 ? 'start' : 'end', lines);
      }),
    )
    .sort((a, b) => wayTo(a, middleOfLeak) - wayTo(b, middleOfLeak));
}

const wayTo = (words: Candidate, point: Point): number =>
  Math.min(...words.labels.map((label) => distance(label.at, point)));

function wordsAt(
  of: string,
  [x, y]: Point,
  anchor: 'start' | 'end',
  lines: readonly string[],
): Candidate {
  const width = Math.max(...lines.map((line) => line.length)) * LEAK_LETTER_u;
  const labels = lines.map((text, i): Candidate['labels'][number] => {
    const middle: Point = [x, y + LEAK_LINE_u * (i - (lines.length - 1) / 2)];
    return {
      of,
      role: 'leak',
      run: { text },
      at: [middle[0], middle[1] + 0.45],
      anchor,
      box: {
        ...textBox(middle, width, anchor),
        top: middle[1] - LEAK_LINE_u / 2,
        bottom: middle[1] + LEAK_LINE_u / 2,
      },
    };
  });
  return { labels, values: [] };
}
