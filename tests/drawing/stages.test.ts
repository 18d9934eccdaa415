import { describe, expect, test } from 'vitest';
import { layOut } from '../../src/drawing/layout.ts';
import { isDrawn } from '../../src/drawing/parts.ts';
import {
  boxesThatMeet,
  netsThatTouch,
  outsideTheSheet,
  wiresThroughSymbols,
  wiresThroughTexts,
} from './meetings.ts';
import { VARIANTS } from './variants.ts';

/** Over every stage of the catalogue, so that a new stage is held to this as soon as it is there. */
describe.each(VARIANTS.map((variant) => [variant.name, variant] as const))(
  'the drawing of %s',
  (_, { circuit, options, drawing }) => {
    test('has no two nets that touch or cross', () => {
      expect(netsThatTouch(drawing)).toEqual([]);
    });

    test('has no wire through a symbol', () => {
      expect(wiresThroughSymbols(drawing)).toEqual([]);
    });

    test('has no wire through a text', () => {
      expect(wiresThroughTexts(drawing)).toEqual([]);
    });

    test('has no two labels, tags or symbols that meet', () => {
      expect(boxesThatMeet(drawing)).toEqual([]);
    });

    test('lies inside its sheet', () => {
      expect(drawing.width).toBe(60);
      expect(outsideTheSheet(drawing)).toEqual([]);
    });

    test('stands on whole units', () => {
      const pins = drawing.symbols.flatMap((symbol) => symbol.pins.flatMap((pin) => [...pin.at]));
      expect(pins.filter((coordinate) => !Number.isInteger(coordinate))).toEqual([]);
    });

    test('shows every part once, with its id, and supplies as terminals', () => {
      const expected = circuit.parts.filter((part) => part.kind !== 'supply' && isDrawn(part));
      const ids = expected.map((part) => part.id).sort();
      expect(drawing.symbols.map((symbol) => symbol.part).sort()).toEqual(ids);
      const labelled = drawing.labels.filter((label) => label.role === 'id').map((l) => l.of);
      expect(labelled.sort()).toEqual(ids);
      for (const part of circuit.parts) {
        if (part.kind !== 'supply' || !isDrawn(part)) continue;
        expect(
          drawing.terminals.some((terminal) => terminal.node === part.nodes[0]),
          `supply ${part.id} has no terminal`,
        ).toBe(true);
      }
    });

    test('names the type of each tube of the stage beside it', () => {
      const types = drawing.labels
        .filter((label) => label.role === 'type')
        .map(({ of, run }) => `${of}: ${run.text}${run.sub ?? ''}`);
      const expected = circuit.parts.flatMap((part) =>
        part.kind === 'tube' && options.tubeTypes?.[part.tube] !== undefined
          ? [`${part.id}: ${options.tubeTypes[part.tube]}`]
          : [],
      );
      expect(types.sort()).toEqual(expected.sort());
    });

    test('has one field for each value that a drawn part edits', () => {
      const edits = circuit.parts.flatMap((part) =>
        isDrawn(part) && 'edits' in part && part.edits !== undefined ? [part.edits] : [],
      );
      const fields = drawing.values.flatMap((value) => value.edits ?? []);
      expect(fields.sort()).toEqual(edits.sort());
      expect(drawing.values.filter((value) => value.text === '')).toEqual([]);
    });

    test('tags every electrode that has a wire of its own', () => {
      const rails = new Set(drawing.terminals.map((terminal) => terminal.node));
      // a heater is drawn and not wired
      const nodes = circuit.parts.flatMap((part) =>
        part.kind === 'tube'
          ? Object.entries(part.nodes).flatMap(([electrode, node]) =>
              electrode === 'heater' ? [] : [node],
            )
          : [],
      );
      const expected = [...new Set(nodes)].filter((node) => !rails.has(node));
      expect(drawing.tags.map((tag) => tag.node).sort()).toEqual(expected.sort());
    });

    test('joins every pin of a net', () => {
      const nets = new Map<string, (readonly [number, number])[]>();
      for (const pin of drawing.symbols.flatMap((symbol) => symbol.pins))
        nets.set(pin.node, [...(nets.get(pin.node) ?? []), pin.at]);
      for (const terminal of drawing.terminals) nets.delete(terminal.node);
      for (const [node, pins] of nets) {
        const joined = reachable(
          pins[0]!,
          drawing.wires.filter((wire) => wire.node === node),
        );
        for (const [x, y] of pins) expect(joined(x, y), `${node} at (${x}, ${y})`).toBe(true);
      }
    });

    test('is the same when it is drawn again', () => {
      expect(layOut(circuit, options)).toEqual(drawing);
    });
  },
);

interface Line {
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
}

/** Whether a point can be reached along wires: grows the set of wires from the start until nothing is added. */
function reachable(
  [startX, startY]: readonly [number, number],
  wires: readonly Line[],
): (x: number, y: number) => boolean {
  const on = ({ from, to }: Line, x: number, y: number): boolean =>
    x >= Math.min(from[0], to[0]) &&
    x <= Math.max(from[0], to[0]) &&
    y >= Math.min(from[1], to[1]) &&
    y <= Math.max(from[1], to[1]);
  const meet = (a: Line, b: Line): boolean =>
    (on(a, b.from[0], a.from[1]) && on(b, b.from[0], a.from[1])) ||
    (on(a, a.from[0], b.from[1]) && on(b, a.from[0], b.from[1]));
  const reached = wires.filter((wire) => on(wire, startX, startY));
  for (let i = 0; i < reached.length; i++)
    for (const wire of wires)
      if (!reached.includes(wire) && meet(reached[i]!, wire)) reached.push(wire);
  return (x, y) => (x === startX && y === startY) || reached.some((wire) => on(wire, x, y));
}
