import type { Node, Part } from '../types.ts';
import type { DrawingOptions, DrawnCircuit, PlacedPin, PlacedSymbol, Terminal } from './drawing.ts';
import {
  box,
  placed,
  placedBox,
  samePoint,
  turned,
  type Box,
  type Point,
  type Turn,
} from './geometry.ts';
import { isDrawn, symbolOf } from './parts.ts';

/** Puts symbols where their parts stand, and a rail or chassis sign at every pin that is on one. */

export const CHASSIS: Node = '0';

/** Extent of the signs about their pin, upright. */
const SIGN_BOXES: Readonly<Record<Terminal['sign'], Box>> = {
  supply: box(-0.35, -1.6, 0.35, 0),
  chassis: box(-1.2, 0, 1.2, 1.6),
};

export function placeSymbols(
  parts: readonly Part[],
  values: DrawingOptions['values'],
): PlacedSymbol[] {
  return parts.flatMap((part): PlacedSymbol[] => {
    if (part.kind === 'supply' || !isDrawn(part)) return [];
    const { shape, nodes } = symbolOf(part, values);
    const { at, orientation: turn = 0 } = part;
    const pins = Object.entries(nodes).flatMap(([name, node]): PlacedPin[] => {
      const pin = shape.pins[name];
      if (pin === undefined) return [];
      return [{ name, node, at: placed(pin.at, at, turn), out: turned(pin.out, turn) }];
    });
    return [
      {
        part: part.id,
        shape,
        at,
        turn,
        pins,
        body: shape.body.map((b) => placedBox(b, at, turn)),
        leads: shape.leads.map(({ from, to }) => ({
          from: placed(from, at, turn),
          to: placed(to, at, turn),
        })),
      },
    ];
  });
}

/** Nodes that are never wired: chassis, every rail, and nets that the circuit names. */
export function railsOf(
  parts: readonly Part[],
  named: DrawnCircuit['named'] = {},
): ReadonlySet<Node> {
  return new Set([
    CHASSIS,
    ...parts.flatMap((part) => (part.kind === 'supply' ? [part.nodes[0]] : [])),
    ...Object.keys(named),
  ]);
}

export function placeTerminals(
  symbols: readonly PlacedSymbol[],
  rails: ReadonlySet<Node>,
): Terminal[] {
  const terminals: Terminal[] = [];
  const pins = symbols.flatMap((symbol) => symbol.pins);
  for (const { node, at, out: way } of pins) {
    if (!rails.has(node)) continue;
    if (terminals.some((other) => other.node === node && samePoint(other.at, at))) continue;
    // between two parts the sign stands to the side
    const alone = pins.filter((pin) => pin.node === node && samePoint(pin.at, at)).length === 1;
    const out: Point = alone || node === CHASSIS ? way : [1, 0];
    const sign = node === CHASSIS ? 'chassis' : 'supply';
    const turn = sign === 'chassis' ? chassisTurn(out) : supplyTurn(out);
    terminals.push({ sign, node, at, turn, box: placedBox(SIGN_BOXES[sign], at, turn) });
  }
  return terminals;
}

/** A chassis hangs down, unless its part is there. */
const chassisTurn = (out: Point): Turn => (out[1] < 0 ? 180 : 0);

function supplyTurn(out: Point): Turn {
  if (out[0] > 0) return 90;
  if (out[0] < 0) return 270;
  return out[1] > 0 ? 180 : 0;
}
