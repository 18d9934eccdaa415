import type { Electrode, Node, Part, PartValue, Unit } from '../types.ts';
import { blockShape, SYMBOLS, type SymbolShape } from './symbols.ts';
import type { DrawingOptions } from './drawing.ts';

/** From a part to its symbol, the nodes of its pins, and its value. A new kind of part is one case in each. */

/** Every part but supplies, which stand as terminals at the pins on them, and parts that are simulated only. */
export type SymbolPart = Exclude<Part, { kind: 'supply' }>;

export const isDrawn = (part: Part): boolean => part.drawn !== false;

/** From this value on a capacitor is drawn as an electrolytic (common practice, no source). */
const ELECTROLYTIC_F = 1e-6;

const DEFAULT_SUPPRESSOR: Node = '0';

const OSCILLATOR_SYMBOLS = {
  tap: 'tappedCoil',
  capacitors: 'tappedCapacitors',
  winding: 'coupledCoils',
} as const;

export interface SymbolOf {
  readonly shape: SymbolShape;
  /** Node by pin name; a pin that is left out is not connected. */
  readonly nodes: Readonly<Record<string, Node>>;
}

export function symbolOf(part: SymbolPart, values: DrawingOptions['values']): SymbolOf {
  switch (part.kind) {
    case 'resistor':
    case 'inductor':
      return { shape: SYMBOLS[part.kind], nodes: { a: part.nodes[0], b: part.nodes[1] } };
    case 'capacitor': {
      const farads = numberOf(part, values);
      const electrolytic = farads !== undefined && farads >= ELECTROLYTIC_F;
      return {
        shape: SYMBOLS[electrolytic ? 'electrolytic' : 'capacitor'],
        nodes: { a: part.nodes[0], b: part.nodes[1] },
      };
    }
    case 'tank':
      return { shape: SYMBOLS.ifTransformer, nodes: { a: part.nodes[0], b: part.nodes[1] } };
    case 'outputTransformer':
      return {
        shape: SYMBOLS.outputTransformer,
        nodes: { p1: part.nodes[0], p2: part.nodes[2] },
      };
    case 'oscillatorTank': {
      const shape = SYMBOLS[OSCILLATOR_SYMBOLS[part.feedback]];
      const pins = Object.keys(shape.pins);
      return { shape, nodes: Object.fromEntries(part.nodes.map((node, i) => [pins[i]!, node])) };
    }
    case 'pushPullTransformer':
      return {
        shape: SYMBOLS.outputTransformer,
        nodes: { p1: part.nodes[1], tap: part.nodes[0], p2: part.nodes[2] },
      };
    case 'feedback':
      throw new Error(`feedback ${part.id} is not drawn`);
    case 'signal':
      return { shape: SYMBOLS.source, nodes: { a: part.nodes[0], b: part.nodes[1] } };
    case 'tube':
      return tubeSymbol(part.nodes);
    case 'block':
      return {
        shape: blockShape(part.size, part.nodes.length),
        nodes: Object.fromEntries(part.nodes.map((node, i) => [`n${i}`, node])),
      };
  }
}

/** The nodes tell the family: a report carries parts and no tube models. */
function tubeSymbol(nodes: Readonly<Partial<Record<Electrode, Node>>>): SymbolOf {
  const shape =
    nodes.signalGrid !== undefined || nodes.oscillatorGrid !== undefined
      ? SYMBOLS.pentagrid
      : nodes.screen !== undefined
        ? SYMBOLS.pentode
        : nodes.grid !== undefined
          ? SYMBOLS.triode
          : SYMBOLS.tubeDiode;
  const pins = Object.keys(shape.pins).flatMap((pin): [string, Node][] => {
    const node = pin === 'suppressor' ? DEFAULT_SUPPRESSOR : nodes[pin as Electrode];
    return node === undefined ? [] : [[pin, node]];
  });
  return { shape, nodes: Object.fromEntries(pins) };
}

const UNITS: Readonly<Partial<Record<Part['kind'], Unit>>> = {
  resistor: 'ohm',
  capacitor: 'F',
  inductor: 'H',
  tank: 'ohm',
  oscillatorTank: 'ohm',
  outputTransformer: 'ohm',
  pushPullTransformer: 'ohm',
  supply: 'V',
  signal: 'V',
};

export const unitOf = (part: Part): Unit => UNITS[part.kind] ?? '';

/** A tuned circuit without a value of the socket only says where a signal comes from. */
const partValue = (part: Part): PartValue | undefined =>
  part.kind === 'oscillatorTank' || (part.kind === 'tank' && part.edits !== undefined)
    ? part.impedance
    : part.kind === 'outputTransformer' || part.kind === 'pushPullTransformer'
      ? part.load
      : 'value' in part
        ? part.value
        : undefined;

/** The numbers a part stands for: the user's, where the part edits a value of the socket; else the circuit's. */
export function numbersOf(part: Part, values: DrawingOptions['values']): readonly number[] {
  const key = 'edits' in part ? part.edits : undefined;
  const own = partValue(part);
  const knob = typeof own === 'object' ? own.knob : undefined;
  for (const name of [key, knob]) {
    const given = name === undefined ? undefined : values?.[name]?.value;
    if (typeof given === 'number') return [given];
    if (typeof given === 'object' && given !== null) return given;
  }
  return typeof own === 'number' ? [own] : [];
}

const numberOf = (part: Part, values: DrawingOptions['values']): number | undefined =>
  numbersOf(part, values)[0];
