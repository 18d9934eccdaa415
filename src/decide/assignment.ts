import munkres from 'munkres';

/** A row (a tube) in a column (a socket): how good it is there. */
export interface Fit {
  /** Surely good, or only perhaps; what is neither is no fit. */
  readonly sure: boolean;
  /** Margin, larger is better; only its order and sum count. */
  readonly margin: number;
}

/** Margins beyond these count as these: nobody gains from the tenth-fold. */
const LEAST = -1;
const MOST = 10;

/**
 * The best placing of rows on columns, each used once at most: first as many sure fits as can be, then as many others as can be,
 * then the largest worst margin, then the largest sum of margins. Exact: the counts and the sum by the Hungarian method (Kuhn 1955,
 * Munkres 1957, from the package `munkres`), the worst margin by bisection over the margins that occur.
 *
 * @returns for each column its row, or undefined where it stays empty
 */
export function bestPlacing(
  fits: readonly (readonly (Fit | undefined)[])[],
  columns: number,
): (number | undefined)[] {
  if (fits.length === 0 || columns === 0) return Array.from({ length: columns }, () => undefined);
  const margins = [
    ...new Set(fits.flatMap((row) => row.flatMap((fit) => (fit === undefined ? [] : [clip(fit)])))),
  ].sort((a, b) => a - b);
  const free = solve(fits, columns, -Infinity);
  const wanted = counts(fits, free);
  // what is left out by a higher threshold can only make fewer fits, so the threshold is found by bisection
  let [low, high] = [0, margins.length - 1];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    const found = counts(fits, solve(fits, columns, margins[middle] as number));
    if (found.sure === wanted.sure && found.perhaps === wanted.perhaps) low = middle;
    else high = middle - 1;
  }
  return margins.length === 0 ? free : solve(fits, columns, margins[low] as number);
}

const clip = ({ margin }: Fit): number => Math.min(MOST, Math.max(LEAST, margin));

/** One sure fit outweighs any number of others, one of those any sum of margins. */
function solve(
  fits: readonly (readonly (Fit | undefined)[])[],
  columns: number,
  least: number,
): (number | undefined)[] {
  const most = Math.min(fits.length, columns);
  const perhaps = 2 * (most + 1) * (MOST - LEAST);
  const sure = perhaps * (most + 1);
  const allowed = (fit: Fit | undefined): fit is Fit => fit !== undefined && clip(fit) >= least;
  const costs = fits.map((row) =>
    Array.from({ length: columns }, (_, k) => {
      const fit = row[k];
      return allowed(fit) ? -((fit.sure ? sure : perhaps) + clip(fit) - LEAST) : 0;
    }),
  );
  const placing: (number | undefined)[] = Array.from({ length: columns }, () => undefined);
  for (const [row, column] of munkres(costs))
    if (allowed(fits[row]?.[column])) placing[column] = row;
  return placing;
}

function counts(
  fits: readonly (readonly (Fit | undefined)[])[],
  placing: readonly (number | undefined)[],
): { sure: number; perhaps: number } {
  const placed = placing.flatMap((row, column) =>
    row === undefined ? [] : [fits[row]?.[column] as Fit],
  );
  const sure = placed.filter((fit) => fit.sure).length;
  return { sure, perhaps: placed.length - sure };
}
