import type { Drawing } from '../../src/drawing/drawing.ts';
import {
  boxesMeet,
  boxOf,
  grown,
  isInside,
  segmentsTouch,
  type Box,
  type Segment,
} from '../../src/drawing/geometry.ts';

/** What is wrong with a drawing, each as a sentence that names the two things that meet. */

interface Named {
  readonly name: string;
  readonly box: Box;
}

const at = (b: Box): string =>
  `${b.left.toFixed(1)}..${b.right.toFixed(1)} × ${b.top.toFixed(1)}..${b.bottom.toFixed(1)}`;

/** Wires of every net and the leads of its parts: pieces of two nets may not touch. */
export function netsThatTouch(drawing: Drawing): string[] {
  const pieces: { readonly node: string; readonly name: string; readonly line: Segment }[] = [
    ...drawing.wires.map((wire) => ({ node: wire.node, name: `wire ${wire.node}`, line: wire })),
    ...drawing.symbols.flatMap((symbol) =>
      symbol.leads.flatMap((lead) => {
        const pin = symbol.pins.find(
          (p) =>
            (p.at[0] === lead.from[0] && p.at[1] === lead.from[1]) ||
            (p.at[0] === lead.to[0] && p.at[1] === lead.to[1]),
        );
        return pin === undefined
          ? []
          : [{ node: pin.node, name: `lead ${symbol.part}.${pin.name}`, line: lead }];
      }),
    ),
  ];
  return pairs(pieces)
    .filter(([a, b]) => a.node !== b.node && segmentsTouch(a.line, b.line))
    .map(([a, b]) => `${a.name} (${a.node}) touches ${b.name} (${b.node})`);
}

/** A wire may end at a symbol and not run through it. Bodies are taken a hair smaller, so that touching is allowed. */
export function wiresThroughSymbols(drawing: Drawing): string[] {
  return drawing.wires.flatMap((wire) =>
    [...bodies(drawing), ...signs(drawing)]
      .filter(({ box }) => boxesMeet(grown(boxOf(wire), 0.01), grown(box, -0.05)))
      .map(({ name }) => `wire ${wire.node} at ${at(boxOf(wire))} runs through ${name}`),
  );
}

export function boxesThatMeet(drawing: Drawing): string[] {
  const texts = textBoxes(drawing);
  const solid = [...bodies(drawing), ...signs(drawing)];
  const key: Named = { name: 'the key', box: drawing.key };
  const met = [
    ...pairs(texts),
    ...texts.flatMap((text) => [...solid, key].map((thing): [Named, Named] => [text, thing])),
    ...solid.map((thing): [Named, Named] => [thing, key]),
    ...pairs(solid).filter(([a, b]) => a.name !== b.name),
  ];
  return met
    .filter(([a, b]) => boxesMeet(a.box, b.box))
    .map(([a, b]) => `${a.name} at ${at(a.box)} meets ${b.name} at ${at(b.box)}`);
}

export function wiresThroughTexts(drawing: Drawing): string[] {
  return textBoxes(drawing).flatMap((text) =>
    drawing.wires
      .filter((wire) => boxesMeet(grown(boxOf(wire), 0.01), text.box))
      .map(
        (wire) =>
          `wire ${wire.node} at ${at(boxOf(wire))} runs through ${text.name} at ${at(text.box)}`,
      ),
  );
}

export function outsideTheSheet(drawing: Drawing): string[] {
  const sheet: Box = { left: 0, top: 0, right: drawing.width, bottom: drawing.height };
  const wires = drawing.wires.map((wire): Named => ({
    name: `wire ${wire.node}`,
    box: boxOf(wire),
  }));
  return [...textBoxes(drawing), ...bodies(drawing), ...signs(drawing), ...wires]
    .filter(({ box }) => !isInside(box, sheet))
    .map(({ name, box }) => `${name} at ${at(box)} leaves the sheet ${at(sheet)}`);
}

export function textBoxes(drawing: Drawing): Named[] {
  return [
    ...drawing.labels.map((label) => ({
      name: `${label.role} "${label.run.text}${label.run.sub ?? ''}" of ${label.of}`,
      box: label.box,
    })),
    ...drawing.values.map((value) => ({
      name: `value "${value.text}" of ${value.of}`,
      box: value.box,
    })),
    ...drawing.tags.map((tag) => ({ name: `tag of ${tag.node}`, box: tag.box })),
  ];
}

const bodies = (drawing: Drawing): Named[] =>
  drawing.symbols.flatMap((symbol) =>
    symbol.body.map((box) => ({ name: `symbol ${symbol.part}`, box })),
  );

const signs = (drawing: Drawing): Named[] =>
  drawing.terminals.map(({ sign, node, at: [x, y], box }) => ({
    name: `${sign} ${node} at (${x}, ${y})`,
    box,
  }));

function pairs<T>(things: readonly T[]): [T, T][] {
  return things.flatMap((a, i) => things.slice(i + 1).map((b): [T, T] => [a, b]));
}
