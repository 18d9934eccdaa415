import type { Circuit, Node, View } from '../types.ts';

/**
 * A view prints the circuit one or several times. Each copy has a suffix for its node names and the
 * cosine of its signal phase; supplies and chassis are shared by all.
 */
export interface Copy {
  readonly suffix: string;
  readonly cosine: number;
}

/** Phases theta_k = (k + 1/2) pi / K: half a cycle, enough for circuits without memory between the copies. */
export function phaseOf(copy: number, count: number): number {
  return ((copy + 0.5) * Math.PI) / count;
}

export function copiesOf(view: View): Copy[] {
  if (view.as !== 'phases') return [{ suffix: '', cosine: 0 }];
  return Array.from({ length: view.count }, (_, k) => ({
    suffix: `_${k}`,
    cosine: Math.cos(phaseOf(k, view.count)),
  }));
}

/** Nodes that every copy shares: chassis and the supplies. */
export function sharedNodes(circuit: Circuit): ReadonlySet<Node> {
  return new Set<Node>([
    '0',
    ...circuit.parts.flatMap((part) => (part.kind === 'supply' ? [part.nodes[0]] : [])),
  ]);
}

export function nodeIn(node: Node, copy: Copy, shared: ReadonlySet<Node>): string {
  return shared.has(node) ? node : node + copy.suffix;
}
