import type { Part } from '../types.ts';
import type {
  Drawing,
  DrawingOptions,
  DrawnCircuit,
  LeakDrawing,
  PlacedSymbol,
  TextLabel,
  Terminal,
  VoltageTag,
} from './drawing.ts';
import { box, boxOf, lineMeets, placed, unionOf, type Box, type Point } from './geometry.ts';
import { labelChoices, pinLabels, railChoices, wayChoices } from './labels.ts';
import { drawLeak, leakWords, type Conductor } from './leak.ts';
import { isDrawn, numbersOf } from './parts.ts';
import { CHASSIS, placeSymbols, placeTerminals, railsOf } from './place.ts';
import { boxesOf, firstFree, occupied, type Candidate } from './room.ts';
import { taggedNodes, tagChoices } from './tags.ts';
import { netsOf, wireNets } from './wires.ts';

/** From a circuit's parts to everything that is drawn. Pure: the same circuit and options give the same drawing. */

export const WIDTH_u = 60;
/** The upper left corner is the key's: title, new tube, this tube, what the volts refer to. */
const KEY: Box = box(0, 0, 17, 8.5);
/** Labels may not go below this; the sheet is then cut to what is drawn. */
const DEEPEST_u = 200;

/**
 * Lays out a circuit on a sheet 60 units wide.
 * @param circuit parts with their places; a report's `circuit` will do.
 */
export function layOut(circuit: DrawnCircuit, options: DrawingOptions = {}): Drawing {
  const { parts } = circuit;
  const rails = railsOf(parts, circuit.named);
  const symbols = placeSymbols(parts, options.values);
  const terminals = placeTerminals(symbols, rails);
  const nets = netsOf(symbols, rails);
  const { wires, dots } = wireNets(nets, circuit.spine);

  const writer = new Writer([KEY, ...occupied(symbols, terminals, wires)]);
  for (const symbol of symbols) writer.add({ labels: pinLabels(symbol, options), values: [] });
  writeRails(writer, parts, terminals, circuit.named ?? {}, options);
  const tags = (options.tags ?? taggedNodes(symbols, nets)).flatMap((node) => {
    const pins = nets.get(node);
    if (pins === undefined) return [];
    const tubeFirst = [...pins].sort((a, b) => Number(isOnTube(b)) - Number(isOnTube(a)));
    return writer.tag(tagChoices(node, wires, tubeFirst));
  });
  writeParts(writer, parts, symbols, options);
  const leak = writeLeak(
    writer,
    options,
    (taken) =>
      options.leak === undefined
        ? null
        : drawLeak(
            options.leak,
            { symbols, wires, nets, rails, conductors: conductorsOf(parts, options.values) },
            taken,
          ),
    symbols,
  );

  function isOnTube(pin: { readonly at: Point; readonly node: string }): boolean {
    return symbols.some(
      (symbol) => symbol.shape.form === 'tube' && symbol.pins.some((own) => own === pin),
    );
  }

  const drawn = [
    ...symbols.flatMap((symbol) => symbol.body),
    ...terminals.map((terminal) => terminal.box),
    ...wires.map(boxOf),
    ...[...writer.labels, ...writer.values, ...tags].map((label) => label.box),
  ];
  return {
    title: circuit.title,
    width: WIDTH_u,
    height: Math.ceil(drawn.length === 0 ? KEY.bottom : unionOf(drawn).bottom) + 1,
    key: KEY,
    symbols,
    terminals,
    wires,
    dots,
    labels: writer.labels,
    values: writer.values,
    tags,
    leaders: writer.leaders,
    leak,
  };
}

/** Finds room for one thing after the other; what stands first keeps its place. */
class Writer {
  readonly labels: TextLabel[] = [];
  readonly values: Drawing['values'][number][] = [];
  readonly leaders: Drawing['leaders'][number][] = [];
  private readonly sheet = box(0, 0, WIDTH_u, DEEPEST_u);

  /** Boxes of what was written so far. */
  readonly written: Box[] = [];

  constructor(readonly taken: Box[]) {}

  add(candidate: Candidate): void {
    this.labels.push(...candidate.labels);
    this.values.push(...candidate.values);
    this.leaders.push(...(candidate.leaders ?? []));
    this.take(boxesOf(candidate));
  }

  private take(boxes: readonly Box[]): void {
    this.taken.push(...boxes);
    this.written.push(...boxes);
  }

  write(choices: readonly Candidate[]): Candidate | undefined {
    const choice = firstFree(choices, boxesOf, this.taken, this.sheet);
    if (choice !== undefined) this.add(choice);
    return choice;
  }

  tag(choices: readonly VoltageTag[]): VoltageTag[] {
    const choice = firstFree(choices, (tag) => [tag.box], this.taken, this.sheet);
    if (choice === undefined) return [];
    this.take([choice.box]);
    return [choice];
  }
}

function writeRails(
  writer: Writer,
  parts: readonly Part[],
  terminals: readonly Terminal[],
  named: Readonly<Record<string, string>>,
  options: DrawingOptions,
): void {
  const valued = new Set<string>();
  for (const terminal of terminals) {
    if (terminal.node === CHASSIS) continue;
    const supply = parts.find((part) => part.kind === 'supply' && part.nodes[0] === terminal.node);
    const name = named[terminal.node];
    if (name !== undefined) writer.write(railChoices(terminal, { id: name }, undefined, options));
    if (supply === undefined) continue;
    writer.write(
      railChoices(terminal, supply, valued.has(supply.id) ? undefined : supply, options),
    );
    valued.add(supply.id);
  }
}

/** Tubes first: they have the fewest places. */
function writeParts(
  writer: Writer,
  parts: readonly Part[],
  symbols: readonly PlacedSymbol[],
  options: DrawingOptions,
): void {
  const order = [...symbols].sort(
    (a, b) => Number(b.shape.form === 'tube') - Number(a.shape.form === 'tube'),
  );
  for (const symbol of order) {
    const part = parts.find((p) => p.id === symbol.part)!;
    writer.write(labelChoices(symbol, part, options));
    writer.write(wayChoices(symbol, part));
  }
}

function conductorsOf(parts: readonly Part[], values: DrawingOptions['values']): Conductor[] {
  return parts.flatMap((part): Conductor[] => {
    if (!isDrawn(part)) return [];
    // a winding's own resistance is small beside any grid resistor
    if (part.kind === 'tank' || part.kind === 'inductor')
      return [{ part: part.id, nodes: part.nodes, ohms: 1 }];
    if (part.kind === 'oscillatorTank')
      return part.windings.map(({ nodes }) => ({ part: part.id, nodes, ohms: 1 }));
    if (part.kind === 'outputTransformer')
      return [{ part: part.id, nodes: [part.nodes[0], part.nodes[2]], ohms: 1 }];
    if (part.kind === 'pushPullTransformer')
      return [part.nodes[1], part.nodes[2]].map((plate) => ({
        part: part.id,
        nodes: [part.nodes[0], plate],
        ohms: 1,
      }));
    if (part.kind !== 'resistor') return [];
    return [{ part: part.id, nodes: part.nodes, ohms: numbersOf(part, values)[0] ?? 1e6 }];
  });
}

function writeLeak(
  writer: Writer,
  options: DrawingOptions,
  draw: (taken: readonly Box[]) => LeakDrawing | null,
  symbols: readonly PlacedSymbol[],
): LeakDrawing | null {
  const tube = symbols.find((symbol) => symbol.part === options.leak?.tube);
  if (options.leak === undefined || tube === undefined) return null;
  const bodies = symbols.flatMap((symbol) => symbol.body);
  const leak = draw([...bodies, ...writer.written]);
  if (leak === null) return null;
  if (options.leak.lines.length === 0) return leak;
  const before = [...writer.written];
  const leaderTo = ({ labels }: Candidate): readonly [Point, Point] => {
    const area = unionOf(labels.map((label) => label.box));
    const right = labels[0]?.anchor === 'start';
    const side = placed([right ? 0.6 : -0.6, 0], leak.from, 0);
    return [
      [side[0], (leak.from[1] + leak.to[1]) / 2],
      [right ? area.left - 0.3 : area.right + 0.3, (area.top + area.bottom) / 2],
    ];
  };
  const choices = leakWords(tube, leak, options.leak.lines);
  // a leader through other words is read as theirs
  const clear = choices.filter(
    (one) => !before.some((written) => lineMeets(leaderTo(one), written)),
  );
  const words = writer.write([...clear, ...choices]);
  return words === undefined ? leak : { ...leak, leader: leaderTo(words) };
}
