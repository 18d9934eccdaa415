import type { Circuit, Node, SimResult, View } from '../types.ts';
import { copiesOf, sharedNodes } from './copies.ts';
import { substepsOf } from './print.ts';

/** Node voltages of a steady run: for every row, one value a phase copy. */
export interface RowVolts {
  /** Volts of a watched node over the phases (one value in the quiescent view and on shared nodes). */
  of(node: Node): Float64Array;
}

/**
 * Splits a steady run's vectors into its first `rows` rows. They must have been checked, and be of a request printed from the
 * same circuit and view.
 */
export function readRows(
  circuit: Circuit,
  view: View,
  rows: number,
  result: Pick<Extract<SimResult, { ok: true }>, 'vectors'>,
): RowVolts[] {
  const copies = copiesOf(view);
  const shared = sharedNodes(circuit);
  const stride = substepsOf(view);
  const columns = new Map<Node, Float64Array[]>();
  for (const node of circuit.watch) {
    const names = shared.has(node) ? [node] : copies.map((copy) => node + copy.suffix);
    columns.set(
      node,
      names.map((name) => {
        const vector = result.vectors[`v(${name.toLowerCase()})`];
        if (vector === undefined) throw new Error(`no vector for node ${name}`);
        return vector;
      }),
    );
  }
  return Array.from({ length: rows }, (_, row) => ({
    of(node: Node): Float64Array {
      const vectors = columns.get(node);
      if (vectors === undefined) throw new Error(`node ${node} is not watched`);
      return Float64Array.from(vectors, (vector) => vector[row * stride]!);
    },
  }));
}
