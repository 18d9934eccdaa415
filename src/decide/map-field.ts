import { squeeze, unsqueeze } from '../verdict/margins.ts';
import { guessFrom, nodesOf, type At, type Guess, type Margins } from './map-guess.ts';

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
  let computed = nodes.all.length;

  const cells = x.flatMap((_, i) => y.map((__, k): Cell => [i, k]));
  const border = ([i, k]: Cell): boolean => {
    const here = grid.inside([i, k]);
    return STEPS.map(([a, b]): Cell => [i + a, k + b])
      .filter(([a, b]) => a >= 0 && b >= 0 && a < x.length && b < y.length)
      .some((other) => grid.inside(other) !== here);
  };
  const surprises: Cell[] = [];
  const onLattice = ([i, k]: Cell): boolean => i % LATTICE === 1 && k % LATTICE === 1;
  const near = (cell: Cell): boolean =>
    border(cell) || surprises.some((other) => apart(cell, other) < APART);
  // a limit in doubt matters only where no other one is surely missed
  const doubtful = (cell: Cell): boolean => {
    const all = grid.told(cell);
    const sure = all.map((guess, m) => grid.sure(cell, m, guess));
    const missed = all.some((guess, m) => sure[m] === true && !isKept(guess));
    return !missed && !sure.every(Boolean);
  };

  // only between polynomials is a border known without looking: elsewhere it may lie anywhere between two points
  let believe = smooth.every(Boolean);
  for (let round = 0; round < ROUNDS; round++) {
    const spot = believe && round === 0;
    const open = cells.filter(
      (cell) =>
        !grid.isComputed(cell) &&
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
      const now = found[n] as Margins;
      const surprised = isInside(now) !== grid.inside(cell);
      if (surprised) surprises.push(cell);
      if (
        (surprised && !doubtful(cell)) ||
        now.some((value, m) => value === undefined && smooth[m] === true)
      )
        believe = false;
    });
    grid.take(wanted, found);
  }
  return {
    margins: x.map((_, i) => y.map((__, k) => grid.margins([i, k]))),
    exact: x.map((_, i) => y.map((__, k) => grid.isComputed([i, k]))),
    computed,
  };
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
 * The grid as it is known so far: what was computed, and guesses elsewhere, moved around computed points by what they were off there. Source
 * of the weights: D. Shepard, Proc. 23rd ACM National Conf. (1968) 517.
 */
function mendedGrid(guesses: ReturnType<typeof guessFrom>['guesses'], smooth: readonly boolean[]) {
  const computed = guesses.map((row) => row.map((): Margins | undefined => undefined));
  /** Sum of weighted offsets and of weights, by cell and limit. */
  const moved = guesses.map((row) => row.map((all) => all.map((): [number, number] => [0, 0])));
  const errors: { readonly cell: Cell; readonly of: Margins }[] = [];

  const at = ([i, k]: Cell): Margins | undefined => computed[i]?.[k];
  const guessAt = ([i, k]: Cell): readonly Guess[] => guesses[i]?.[k] ?? [];
  /** Squeezed guesses as they were mended. */
  const told = (cell: Cell): Margins =>
    guessAt(cell).map(({ squeezed }, m) => {
      const [sum, weights] = moved[cell[0]]?.[cell[1]]?.[m] ?? [0, 0];
      return squeezed === undefined ? undefined : squeezed + sum / (weights + FAR);
    });
  /** How far computed margins are from guesses, of the limits that have a polynomial. */
  const off = (now: Margins, guessed: Margins): Margins =>
    now.map((value, m) =>
      value === undefined || smooth[m] !== true ? undefined : squeeze(value) - (guessed[m] ?? 0),
    );
  /** The largest error that was seen around a cell; where none was, anywhere. */
  const errorAround = (cell: Cell, m: number): number => {
    let [near, anywhere] = [-1, -1];
    for (const { cell: other, of } of errors) {
      const error = Math.abs(of[m] ?? -1);
      if (of[m] === undefined) continue;
      anywhere = Math.max(anywhere, error);
      if (apart(cell, other) <= AROUND) near = Math.max(near, error);
    }
    return near >= 0 ? near : anywhere >= 0 ? anywhere : Infinity;
  };

  function spread([i, k]: Cell, offsets: Margins): void {
    for (let a = Math.max(0, i - REACH); a <= i + REACH && a < moved.length; a++)
      for (let b = Math.max(0, k - REACH); b <= k + REACH && b < (moved[a]?.length ?? 0); b++) {
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

  return {
    told,
    isComputed: (cell: Cell): boolean => at(cell) !== undefined,
    margins: (cell: Cell): Margins =>
      at(cell) ?? told(cell).map((one) => (one === undefined ? undefined : unsqueeze(one))),
    // a squeezed margin has the sign of the margin
    inside: (cell: Cell): boolean => isInside(at(cell) ?? told(cell)),
    /** Whether the sign of a guess is believed. */
    sure(cell: Cell, m: number, guess: number | undefined): boolean {
      const least = guessAt(cell)[m]?.least ?? Infinity;
      return (
        guess === undefined || Math.abs(guess) >= Math.min(least, BELIEVED * errorAround(cell, m))
      );
    },
    /** Takes what was computed at these cells to the guesses around them. */
    take(cells: readonly Cell[], found: readonly Margins[]): void {
      const each = cells.map((cell, n) => ({ cell, now: found[n] as Margins }));
      for (const { cell, now } of each) errors.push({ cell, of: off(now, told(cell)) });
      for (const { cell, now } of each) {
        (computed[cell[0]] as (Margins | undefined)[])[cell[1]] = now;
        spread(
          cell,
          off(
            now,
            guessAt(cell).map(({ squeezed }) => squeezed),
          ),
        );
      }
    },
  };
}

/** Weight of the polynomial itself. */
const FAR = 1 / REACH ** 2;
