import { boxesMeet, boxOf, grown, isInside, type Box } from './geometry.ts';
import type { Leader, PlacedSymbol, Terminal, TextLabel, ValueLabel, Wire } from './drawing.ts';

/** What labels must keep clear of, and the choice of a free place among candidates. */

/** One way to write something: all its pieces together. */
export interface Candidate {
  readonly labels: readonly TextLabel[];
  readonly values: readonly ValueLabel[];
  readonly leaders?: readonly Leader[];
}

const WIRE_CLEARANCE_u = 0.2;

/** Thin boxes about everything that is drawn in lines. */
export function occupied(
  symbols: readonly PlacedSymbol[],
  terminals: readonly Terminal[],
  wires: readonly Wire[],
): Box[] {
  return [
    ...symbols.flatMap((symbol) => symbol.body),
    ...terminals.map((terminal) => terminal.box),
    ...[...symbols.flatMap((symbol) => symbol.leads), ...wires].map((line) =>
      grown(boxOf(line), WIRE_CLEARANCE_u),
    ),
  ];
}

export const boxesOf = (candidate: Candidate): Box[] =>
  [...candidate.labels, ...candidate.values].map((label) => label.box);

/**
 * The first choice whose boxes are free and on the sheet. Where none is, the one that meets least: a drawing is better
 * with a label over a wire than without the label, and the tests tell of it.
 */
export function firstFree<T>(
  choices: readonly T[],
  boxes: (choice: T) => readonly Box[],
  taken: readonly Box[],
  sheet: Box,
): T | undefined {
  let best: T | undefined;
  let least = Infinity;
  for (const choice of choices) {
    const own = boxes(choice);
    const outside = own.filter((b) => !isInside(b, sheet)).length;
    const meetings = own.reduce((sum, b) => sum + taken.filter((t) => boxesMeet(b, t)).length, 0);
    const cost = 100 * outside + meetings;
    if (cost === 0) return choice;
    if (cost < least) {
      least = cost;
      best = choice;
    }
  }
  return best;
}
