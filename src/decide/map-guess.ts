import { chebyshevPoints, chebyshevSurface, type Surface } from '../numerics/chebyshev.ts';
import { squeeze } from '../verdict/margins.ts';

/** What the margins over a plane of two readings are taken for where they were not computed, from what was computed at the nodes of a polynomial. */

/** Margins of all limits at one point; undefined: no number there (a branch that ended, a simulation that failed). */
export type Margins = readonly (number | undefined)[];

export type At = readonly [x: number, y: number];

export interface Guess {
  /** Squeezed margin; undefined: no number. */
  readonly squeezed: number | undefined;
  /** From which size on its sign is believed without a look. */
  readonly least: number;
}

/** A polynomial is believed where it is this many times its doubt from 0. */
const BELIEVED = 5;

/** Where the plane is computed first: `count` Chebyshev points a direction. */
export const nodesOf = (
  x: readonly number[],
  y: readonly number[],
  count: number,
): { readonly x: readonly number[]; readonly y: readonly number[]; readonly all: At[] } => {
  const [nodesX, nodesY] = [chebyshevPoints(...ends(x), count), chebyshevPoints(...ends(y), count)];
  return {
    x: nodesX,
    y: nodesY,
    all: nodesX.flatMap((px) => nodesY.map((py) => [px, py] as const)),
  };
};

/**
 * Guesses of all limits at every grid point, `guesses[i][k][m]`, and whether a limit has a polynomial. One that has no number at some nodes
 * has none: across a branch there is no surface. What lies wholly among such nodes counts as having no number, what lies wholly
 * among numbers of one side as being on that side; what lies between is not believed.
 *
 * @param atNodes margins at `nodes.all`
 */
export function guessFrom(
  x: readonly number[],
  y: readonly number[],
  limits: number,
  nodes: ReturnType<typeof nodesOf>,
  atNodes: readonly Margins[],
): { readonly guesses: readonly (readonly (readonly Guess[])[])[]; readonly smooth: boolean[] } {
  const node = (i: number, k: number): Margins => atNodes[i * nodes.y.length + k] as Margins;
  const surfaces = Array.from({ length: limits }, (_, m): Surface | undefined => {
    const values = nodes.x.map((__, i) => nodes.y.map((___, k) => node(i, k)[m]));
    return values.every((row) => row.every((value) => value !== undefined))
      ? chebyshevSurface(
          values.map((row) => row.map((value) => squeeze(value as number))),
          ends(x),
          ends(y),
        )
      : undefined;
  });
  const guess = (m: number, px: number, py: number): Guess => {
    const surface = surfaces[m];
    if (surface !== undefined)
      return { squeezed: surface.at(px, py), least: BELIEVED * surface.doubt };
    const [i, k] = [below(nodes.x, px), below(nodes.y, py)];
    return among([i, i + 1].flatMap((a) => [k, k + 1].map((b) => node(a, b)[m])));
  };
  return {
    guesses: x.map((px) =>
      y.map((py) => Array.from({ length: limits }, (_, m) => guess(m, px, py))),
    ),
    smooth: surfaces.map((surface) => surface !== undefined),
  };
}

/** Between four nodes on one side nothing is expected to happen; their mean is no more than a sign. */
function among(nodes: Margins): Guess {
  const numbers = nodes.filter((value) => value !== undefined);
  if (numbers.length === 0) return { squeezed: undefined, least: 0 };
  const alike = new Set(numbers.map((value) => value >= 0)).size === 1;
  return {
    squeezed: squeeze(numbers.reduce((sum, value) => sum + value, 0) / numbers.length),
    least: alike && numbers.length === nodes.length ? 0 : Infinity,
  };
}

const ends = (axis: readonly number[]): [number, number] => [
  axis[0] as number,
  axis.at(-1) as number,
];

/** Index of the last node but one at or below a place, so that the next one is above. */
function below(nodes: readonly number[], place: number): number {
  let k = 0;
  while (k < nodes.length - 2 && (nodes[k + 1] as number) <= place) k++;
  return k;
}
