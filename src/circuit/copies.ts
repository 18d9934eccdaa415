import type { Circuit, Node, View } from '../types.ts';

/**
 * A view prints the circuit one or several times. Each copy has a suffix for its node names and the
 * cosine of its signal phase; supplies and chassis are shared by all.
 */
export interface Copy {
  readonly suffix: string;
  readonly cosine: number;
  /** Which moment of the audio cycle, as a part of node names; empty where there is but one. */
  readonly moment: string;
  /** Amplitude of the drive at that moment, over that of the carrier. */
  readonly level: number;
  /** Share of the cycle, or of its moment, that the copy stands for. */
  readonly weight: number;
}

/** Phases theta_k = (k + 1/2) pi / K: half a cycle, enough for circuits without memory between the copies. */
export function phaseOf(copy: number, count: number): number {
  return ((copy + 0.5) * Math.PI) / count;
}

export function copiesOf(view: View): Copy[] {
  if (view.as === 'phases')
    return Array.from({ length: view.count }, (_, k) => ({
      suffix: `_${k}`,
      cosine: Math.cos(phaseOf(k, view.count)),
      moment: '',
      level: 1,
      weight: 1 / view.count,
    }));
  if (view.as === 'envelope')
    return Array.from({ length: view.moments }, (_, m) => m).flatMap((m) =>
      Array.from({ length: view.count }, (__, k) => ({
        suffix: `_${m}_${k}`,
        cosine: Math.cos(phaseOf(k, view.count)),
        moment: `_${m}`,
        level: 1 + view.tone.depth * Math.cos((2 * Math.PI * m) / view.moments),
        weight: 1 / view.count,
      })),
    );
  if (view.as === 'cycle')
    return Array.from({ length: view.points }, (_, m) => ({
      suffix: `_${m}`,
      cosine: Math.cos((2 * Math.PI * m) / view.points),
      moment: `_${m}`,
      level: 1,
      weight: 1,
    }));
  if (view.as === 'levels' && view.charging !== undefined)
    return Array.from({ length: view.shares.length * view.charging.steps }, (_, m) => ({
      suffix: `_${m}`,
      cosine: 0,
      moment: `_${m}`,
      level: 1,
      weight: 1,
    }));
  if (view.as === 'levels')
    return view.shares.map((weight, j) => ({
      suffix: `_${j}`,
      cosine: 0,
      moment: '',
      level: 1,
      weight,
    }));
  return [{ suffix: '', cosine: 0, moment: '', level: 1, weight: 1 }];
}

/** The moments that copies stand at, each once, in order. */
export const momentsOf = (copies: readonly Copy[]): string[] => [
  ...new Set(copies.map((copy) => copy.moment)),
];

/**
 * Row of the derivative by phase of a periodic function known at N (odd) evenly spaced phases: entry (n, m) times the
 * value at m, summed, is the derivative at n; exact for harmonics below N/2. Source: Trefethen, "Spectral Methods in
 * MATLAB" (2000), ch. 3 (from memory).
 */
export function derivativeWeight(n: number, m: number, moments: number): number {
  if (n === m) return 0;
  return ((n - m) % 2 === 0 ? 0.5 : -0.5) / Math.sin(((n - m) * Math.PI) / moments);
}

/**
 * What the slow nodes of the moments charge each other with, by moment: the derivative by phase at moment n as weights of
 * the values at other moments. The audio of an envelope is smooth and takes the spectral weights. A cycle with a diode in
 * it has corners, at which those ring: it takes the second-order backward difference, which does not.
 */
export function derivativeRow(
  view: View,
  n: number,
  moments: number,
): { readonly m: number; readonly weight: number }[] {
  const before = (back: number): number => (n - back + moments) % moments;
  if (view.as === 'levels') {
    const { steps } = view.charging!;
    const step = (2 * Math.PI * view.shares[Math.floor(n / steps)]!) / steps;
    // from a level's edge on by one value, then by two: no difference reaches over an edge
    const weights = n % steps === 0 ? [1, -1] : [1.5, -2, 0.5];
    return weights.map((weight, back) => ({ m: before(back), weight: weight / step }));
  }
  if (view.as !== 'cycle')
    return Array.from({ length: moments }, (_, m) => ({
      m,
      weight: derivativeWeight(n, m, moments),
    })).filter(({ m }) => m !== n);
  const perRadian = moments / (2 * Math.PI);
  return [1.5, -2, 0.5].map((weight, back) => ({
    m: before(back),
    weight: weight * perRadian,
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
