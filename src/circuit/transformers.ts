import type {
  FeedbackPart,
  OutputTransformerPart,
  PushPullTransformerPart,
  TwoPin,
} from '../types.ts';
import { conductance, printInductor, printResistor, type PrintContext } from './plain-parts.ts';

/** Output transformers, and what is fed back from them. */

/** Winding resistance, then load and inductance side by side. At rest the inductance is a short, in the copies a steady current. */
export function printOutputTransformer(part: OutputTransformerPart, c: PrintContext): string[] {
  const [supply, core, plate] = part.nodes;
  const at = { at: part.at, drawn: false } as const;
  const winding: TwoPin = {
    ...at,
    kind: 'resistor',
    id: `${part.id}r`,
    nodes: [supply, core],
    value: part.resistance,
  };
  const load: TwoPin = {
    ...at,
    kind: 'resistor',
    id: `${part.id}l`,
    nodes: [core, plate],
    value: part.load,
  };
  const primary: TwoPin = {
    ...at,
    kind: 'inductor',
    id: part.id,
    nodes: [core, plate],
    value: part.inductance_H,
  };
  return [...printResistor(winding, c), ...printResistor(load, c), ...printInductor(primary, c)];
}

/** Sections of the two halves of a primary, from the centre outwards: a share of the half, and where it ends. */
export function windingSections({
  id,
  nodes: [centre, ...ends],
  taps,
}: Pick<PushPullTransformerPart, 'id' | 'nodes' | 'taps'>): {
  readonly name: string;
  readonly from: string;
  readonly to: string;
  readonly ofHalf: number;
  readonly sign: 1 | -1;
}[] {
  return ([1, -1] as const).flatMap((sign, half) => {
    const plate = ends[half]!;
    const whole = { sign, from: centre, to: plate, ofHalf: 1, name: `${id}_${half}` };
    if (taps === undefined || taps.share <= 0 || taps.share >= 1) return [whole];
    const tap = taps.nodes[half]!;
    return [
      { ...whole, to: tap, ofHalf: taps.share, name: `${id}_${half}a` },
      { ...whole, from: tap, ofHalf: 1 - taps.share, name: `${id}_${half}b` },
    ];
  });
}

/**
 * Each section: its share of the resistance, then its turns, which copy the secondary's volts and hand their current to it.
 * In every copy the halves see each other; only the inductance at the secondary remembers.
 */
export function printPushPullTransformer(part: PushPullTransformerPart, c: PrintContext): string[] {
  const secondary = part.nodes[3];
  const at = { at: part.at, drawn: false, nodes: [secondary, '0'] } as const;
  return [
    ...windingSections(part).flatMap(({ name, from, to, ofHalf, sign }) =>
      c.copies.flatMap((copy) => {
        const [a, b, out] = [from, to, secondary].map((node) => c.node(node, copy));
        const own = name + copy.suffix;
        const turns = (sign * ofHalf) / 2;
        return [
          ...conductance(own, a!, `${own}_in`, part.resistance, c, ofHalf / 2),
          `E${own} ${b} ${own}_in ${out} 0 ${turns}`,
          `F${own} 0 ${out} E${own} ${turns}`,
        ];
      }),
    ),
    ...printResistor({ ...at, kind: 'resistor', id: `${part.id}l`, value: part.load }, c),
    ...printInductor({ ...at, kind: 'inductor', id: part.id, value: part.inductance_H }, c),
  ];
}

export function printFeedback(part: FeedbackPart, c: PrintContext): string[] {
  const { share } = part;
  return c.copies.map((copy) => {
    const [a, b, from] = [...part.nodes, part.from].map((node) => c.node(node, copy));
    return typeof share === 'number' || c.isFixed(share)
      ? `E${part.id}${copy.suffix} ${a} ${b} ${from} 0 ${c.firstOf(share)}`
      : `B${part.id}${copy.suffix} ${a} ${b} V=v(${share.knob})*v(${from})`;
  });
}
