import { chebyshevPoints, chebyshevSurface, type Surface } from '../numerics/chebyshev.ts';
import { squeeze, unsqueeze } from '../verdict/margins.ts';

/**
 * Signed margins over a plane of two readings, dear to compute: computed at Chebyshev points, taken from a polynomial where it is sure of
 * their sign, and computed again at every grid point where it is not.
 */

/** Margins of all limits at one point; undefined: no number there (a branch that ended, a simulation that failed). */
export type Margins = readonly (number | undefined)[];

export interface Field {
  /** `margins[i][k]` at x[i], y[k], by limit. */
  readonly margins: readonly (readonly Margins[])[];
  /** Points that were computed there, not interpolated. */
  readonly exact: readonly (readonly boolean[])[];
  readonly computed: number;
}

export interface FieldOptions {
  /** Chebyshev points a direction. */
  readonly nodes: number;
  compute(points: readonly (readonly [x: number, y: number])[]): Promise<Margins[]>;
}

/**
 * A polynomial is believed where it is this many times its doubt from 0, or this many times the largest error that was seen
 * where it was checked, whichever is less.
 */
const BELIEVED = { doubt: 5, seen: 3 };
/** Of the border, every so many points are computed first, to see how far off the polynomials are. */
const SPOT_CHECK = 6;
/** Where in doubt, and away from the border, one point in so many either way is computed: smaller islands may be missed. */
const LATTICE = 3;
/** Rounds in which neighbours of surprises are computed too; a boundary that moves on after that is left as it was found. */
const ROUNDS = 16;

/**
 * Fills the grid. Where a limit has no number at some of the points around a place, nothing is interpolated there: across a branch there is no
 * surface. What lies wholly among such points counts as having no number, what lies wholly among numbers of one side as being on that
 * side; what lies between is computed. Where polynomials are sure of every sign, the border too is theirs;
 * how sure they may be is seen on some of its points, which are computed first.
 */
export async function fillField(
  x: readonly number[],
  y: readonly number[],
  limits: number,
  options: FieldOptions,
): Promise<Field> {
  const { nodes } = options;
  const [spanX, spanY] = [ends(x), ends(y)];
  const [nodesX, nodesY] = [chebyshevPoints(...spanX, nodes), chebyshevPoints(...spanY, nodes)];
  const atNodes = await options.compute(
    nodesX.flatMap((px) => nodesY.map((py) => [px, py] as const)),
  );
  const node = (i: number, k: number): Margins => atNodes[i * nodes + k] as Margins;
  const surfaces = Array.from({ length: limits }, (_, m): Surface | undefined => {
    const values = nodesX.map((__, i) => nodesY.map((___, k) => node(i, k)[m]));
    return values.every((row) => row.every((value) => value !== undefined))
      ? chebyshevSurface(
          values.map((row) => row.map((value) => squeeze(value as number))),
          spanX,
          spanY,
        )
      : undefined;
  });

  /** Guess of a limit at a grid point: its squeezed margin, and from which size on its sign is believed. */
  const guess = (m: number, px: number, py: number): Guess => {
    const surface = surfaces[m];
    if (surface !== undefined)
      return { squeezed: surface.at(px, py), least: BELIEVED.doubt * surface.doubt };
    const [i, k] = [below(nodesX, px), below(nodesY, py)];
    const around = [i, i + 1].flatMap((a) => [k, k + 1].map((b) => node(a, b)[m]));
    const numbers = around.filter((value) => value !== undefined);
    if (numbers.length === 0) return { squeezed: undefined, least: 0 };
    // between four points on one side nothing is expected to happen; their mean is no more than a sign
    const alike = new Set(numbers.map((value) => value >= 0)).size === 1;
    return {
      squeezed: squeeze(numbers.reduce((sum, value) => sum + value, 0) / numbers.length),
      least: alike && numbers.length === around.length ? 0 : Infinity,
    };
  };
  const guesses = x.map((px) =>
    y.map((py) => Array.from({ length: limits }, (_, m) => guess(m, px, py))),
  );
  const margins: Margins[][] = guesses.map((row) =>
    row.map((all) =>
      all.map(({ squeezed }) => (squeezed === undefined ? undefined : unsqueeze(squeezed))),
    ),
  );
  const exact = x.map(() => y.map(() => false));
  const inside = (i: number, k: number): boolean => isInside(margins[i]?.[k] ?? []);
  const neighbours = (i: number, k: number): [number, number][] =>
    (
      [
        [i - 1, k],
        [i + 1, k],
        [i, k - 1],
        [i, k + 1],
      ] as [number, number][]
    ).filter(([a, b]) => a >= 0 && b >= 0 && a < x.length && b < y.length);
  let computed = atNodes.length;
  /** Largest error of each polynomial where it was checked; none before the first check. */
  const seen: (number | undefined)[] = Array.from({ length: limits }, () => undefined);
  const sure = ({ squeezed, least }: Guess, m: number): boolean =>
    squeezed === undefined ||
    Math.abs(squeezed) >= Math.min(least, BELIEVED.seen * (seen[m] ?? Infinity));
  // a limit in doubt matters only where no other one is surely missed
  const doubtful = (i: number, k: number): boolean => {
    const all = guesses[i]?.[k] ?? [];
    const surelyOut = all.some(
      (one, m) => sure(one, m) && (one.squeezed === undefined || one.squeezed < 0),
    );
    return !surelyOut && !all.every(sure);
  };
  const border = (i: number, k: number): boolean =>
    neighbours(i, k).some(([a, b]) => inside(a, b) !== inside(i, k));
  const surprises: [number, number][] = [];
  const near = (i: number, k: number): boolean =>
    border(i, k) ||
    neighbours(i, k).some(([a, b]) => border(a, b)) ||
    surprises.some(([a, b]) => Math.max(Math.abs(a - i), Math.abs(b - k)) < LATTICE);
  const onLattice = (i: number, k: number): boolean => i % LATTICE === 1 && k % LATTICE === 1;
  // only between polynomials is a border known without looking: elsewhere it may lie anywhere between two points
  let believe = surfaces.every((surface) => surface !== undefined);
  for (let round = 0; round < ROUNDS; round++) {
    const open = x.flatMap((_, i) =>
      [...y.keys()]
        .filter((k) => exact[i]?.[k] !== true)
        .filter(
          (k) =>
            (doubtful(i, k) && (onLattice(i, k) || near(i, k))) ||
            (border(i, k) && (!believe || round === 0)),
        )
        .map((k) => [i, k] as const),
    );
    const wanted = round === 0 && believe ? open.filter((__, n) => n % SPOT_CHECK === 0) : open;
    if (wanted.length === 0) break;
    const found = await options.compute(
      wanted.map(([i, k]) => [x[i] as number, y[k] as number] as const),
    );
    computed += found.length;
    wanted.forEach(([i, k], n) => {
      const [before, known] = [inside(i, k), !doubtful(i, k)];
      const now = found[n] as Margins;
      (margins[i] as Margins[])[k] = now;
      (exact[i] as boolean[])[k] = true;
      if (inside(i, k) !== before) surprises.push([i, k]);
      if (known && inside(i, k) !== before) believe = false;
      surfaces.forEach((surface, m) => {
        if (surface === undefined) return;
        const [value, told] = [now[m], guesses[i]?.[k]?.[m]?.squeezed];
        if (value === undefined) believe = false;
        else seen[m] = Math.max(seen[m] ?? 0, Math.abs(squeeze(value) - (told ?? 0)));
      });
    });
  }
  return { margins, exact, computed };
}

interface Guess {
  /** Undefined: no number. */
  readonly squeezed: number | undefined;
  readonly least: number;
}

/** Within every limit; what has no number is not. */
export const isInside = (margins: Margins): boolean =>
  margins.every((margin) => margin !== undefined && margin >= 0);

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
