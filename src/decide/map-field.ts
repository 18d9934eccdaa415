import { squeeze, unsqueeze } from '../verdict/margins.ts';
import { guessFrom, nodesOf, type At, type Margins } from './map-guess.ts';

/**
 * Signed margins over a plane of two readings, dear to compute: computed at Chebyshev points, taken from a polynomial where it is sure of
 * their sign, and computed again at grid points where it is not. What is computed mends the polynomial around it.
 */

/** Margins of all limits over the grid. */
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
  compute(points: readonly At[]): Promise<Margins[]>;
}

/** A mended guess is believed where it is this many times the largest error from 0 that was seen around it. */
const BELIEVED = 3;
/** Cells either way in which errors that were seen count. */
const AROUND = 3;
/** Cells within which a computed point mends the polynomial; far ones less, by their squared distance. */
const REACH = 8;
/** Of the border, every so many points are computed first, to see how far off the polynomials are. */
const SPOT_CHECK = 6;
/** Where in doubt, and away from the border, one point in so many either way is computed: smaller islands may be missed. */
const LATTICE = 3;
/** Of points in doubt side by side one is computed in a round: it may tell the others. */
const APART = 2;
/** A boundary that moves on after so many rounds is left as it was found. */
const ROUNDS = 24;

/**
 * Fills the grid. Where polynomials are sure of every sign, the border too is theirs; how sure they may be is seen on some of its points,
 * which are computed first. Where a limit has no number at some nodes, or a guess that was believed was wrong, the whole border is computed.
 */
export async function fillField(
  x: readonly number[],
  y: readonly number[],
  limits: number,
  options: FieldOptions,
): Promise<Field> {
  const nodes = nodesOf(x, y, options.nodes);
  const { guesses, smooth } = guessFrom(x, y, limits, nodes, await options.compute(nodes.all));
  const grid = mendedGrid(guesses, smooth);
  const { margins, exact, told } = grid;
  let computed = nodes.all.length;

  const cells = x.flatMap((_, i) => y.map((__, k): Cell => [i, k]));
  const inside = ([i, k]: Cell): boolean => isInside(margins[i]?.[k] ?? []);
  const neighbours = ([i, k]: Cell): Cell[] =>
    STEPS.map(([a, b]): Cell => [i + a, k + b]).filter(
      ([a, b]) => a >= 0 && b >= 0 && a < x.length && b < y.length,
    );
  const border = (cell: Cell): boolean =>
    neighbours(cell).some((other) => inside(other) !== inside(cell));
  const surprises: Cell[] = [];
  const onLattice = ([i, k]: Cell): boolean => i % LATTICE === 1 && k % LATTICE === 1;
  const near = (cell: Cell): boolean =>
    border(cell) || surprises.some((other) => apart(cell, other) < APART);
  // a limit in doubt matters only where no other one is surely missed
  const doubtful = (cell: Cell): boolean => {
    const all = told(cell);
    const sure = all.map((_, m) => grid.sure(cell, m));
    const missed = all.some((value, m) => sure[m] === true && !isKept(value));
    return !missed && !sure.every(Boolean);
  };

  // only between polynomials is a border known without looking: elsewhere it may lie anywhere between two points
  let believe = smooth.every(Boolean);
  for (let round = 0; round < ROUNDS; round++) {
    const spot = believe && round === 0;
    const open = cells.filter(
      (cell) =>
        exact[cell[0]]?.[cell[1]] !== true &&
        (((onLattice(cell) || near(cell)) && doubtful(cell)) ||
          ((spot || !believe) && border(cell))),
    );
    const wanted = spot
      ? open.filter((_, n) => n % SPOT_CHECK === 0)
      : believe
        ? thinned(open)
        : open;
    if (wanted.length === 0) break;
    const found = await options.compute(wanted.map(([i, k]) => [x[i] as number, y[k] as number]));
    computed += found.length;
    wanted.forEach((cell, n) => {
      const [before, known] = [inside(cell), !doubtful(cell)];
      const now = found[n] as Margins;
      grid.set(cell, now);
      const surprised = inside(cell) !== before;
      if (surprised) surprises.push(cell);
      if ((known && surprised) || now.some((value, m) => value === undefined && smooth[m] === true))
        believe = false;
    });
    grid.mend(wanted);
  }
  return { margins, exact, computed };
}

type Cell = readonly [i: number, k: number];

const STEPS: readonly Cell[] = [
  [-1, 0],
  [1, 0],
  [0, -1],
  [0, 1],
];

/** Cells either way. */
const apart = (one: Cell, other: Cell): number =>
  Math.max(Math.abs(one[0] - other[0]), Math.abs(one[1] - other[1]));

function thinned(cells: readonly Cell[]): Cell[] {
  const taken: Cell[] = [];
  for (const cell of cells)
    if (taken.every((other) => apart(cell, other) >= APART)) taken.push(cell);
  return taken;
}

const isKept = (margin: number | undefined): boolean => margin !== undefined && margin >= 0;

/** Within every limit; what has no number is not. */
export const isInside = (margins: Margins): boolean => margins.every(isKept);

/**
 * The grid as it is known so far. Around computed points the polynomials are moved by what they were off there. Source of the weights: D.
 * Shepard, Proc. 23rd ACM National Conf. (1968) 517.
 */
function mendedGrid(guesses: ReturnType<typeof guessFrom>['guesses'], smooth: readonly boolean[]) {
  const squeezed = guesses.map((row) => row.map((all) => all.map((one) => one.squeezed)));
  const margins = guesses.map((row) => row.map((all): Margins => all.map(toMargin)));
  const exact = guesses.map((row) => row.map(() => false));
  /** Sum of weighted offsets and of weights, by cell and limit. */
  const moved = guesses.map((row) => row.map((all) => all.map((): [number, number] => [0, 0])));
  const errors: { readonly cell: Cell; readonly of: readonly (number | undefined)[] }[] = [];
  const worst: (number | undefined)[] = smooth.map(() => undefined);
  const told = ([i, k]: Cell): (number | undefined)[] => squeezed[i]?.[k] ?? [];

  const errorAround = (cell: Cell, m: number): number => {
    const around = errors.flatMap(({ cell: other, of }) =>
      apart(cell, other) <= AROUND && of[m] !== undefined ? [of[m]] : [],
    );
    return around.length > 0 ? Math.max(...around) : (worst[m] ?? Infinity);
  };

  return {
    margins,
    exact,
    told,
    /** Whether the sign of a guess is believed. */
    sure(cell: Cell, m: number): boolean {
      const value = told(cell)[m];
      const least = guesses[cell[0]]?.[cell[1]]?.[m]?.least ?? Infinity;
      return (
        value === undefined || Math.abs(value) >= Math.min(least, BELIEVED * errorAround(cell, m))
      );
    },
    set(cell: Cell, now: Margins): void {
      const [i, k] = cell;
      (margins[i] as Margins[])[k] = now;
      (exact[i] as boolean[])[k] = true;
    },
    /** Takes what was computed at these cells to the guesses around them. */
    mend(cells: readonly Cell[]): void {
      for (const cell of cells) {
        const now = margins[cell[0]]?.[cell[1]] ?? [];
        const off = (from: (number | undefined)[]): (number | undefined)[] =>
          now.map((value, m) =>
            value === undefined || smooth[m] !== true
              ? undefined
              : squeeze(value) - (from[m] as number),
          );
        const of = off(told(cell)).map((one) => (one === undefined ? undefined : Math.abs(one)));
        errors.push({ cell, of });
        of.forEach((error, m) => {
          if (error !== undefined) worst[m] = Math.max(worst[m] ?? 0, error);
        });
        spread(cell, off((guesses[cell[0]]?.[cell[1]] ?? []).map((one) => one.squeezed)));
      }
      guesses.forEach((row, i) =>
        row.forEach((all, k) => {
          if (exact[i]?.[k] === true) return;
          const here = all.map((one, m) => {
            const [sum, weights] = moved[i]?.[k]?.[m] ?? [0, 0];
            return one.squeezed === undefined ? undefined : one.squeezed + sum / (weights + FAR);
          });
          (squeezed[i] as (number | undefined)[][])[k] = here;
          (margins[i] as Margins[])[k] = here.map((value) =>
            value === undefined ? undefined : unsqueeze(value),
          );
        }),
      );
    },
  };

  function spread([i, k]: Cell, offsets: readonly (number | undefined)[]): void {
    for (let a = Math.max(0, i - REACH); a <= i + REACH && a < guesses.length; a++)
      for (let b = Math.max(0, k - REACH); b <= k + REACH && b < (guesses[a]?.length ?? 0); b++) {
        const square = (a - i) ** 2 + (b - k) ** 2;
        if (square === 0 || square > REACH ** 2) continue;
        moved[a]?.[b]?.forEach((of, m) => {
          const offset = offsets[m];
          if (offset === undefined) return;
          of[0] += offset / square;
          of[1] += 1 / square;
        });
      }
  }
}

/** Weight of the polynomial itself. */
const FAR = 1 / REACH ** 2;

const toMargin = ({ squeezed }: { readonly squeezed: number | undefined }): number | undefined =>
  squeezed === undefined ? undefined : unsqueeze(squeezed);
