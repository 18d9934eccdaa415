/** Stratified samples of independent standard normals. */
import { normalQuantile } from './normal.ts';
import { seededRandom } from './random.ts';

/**
 * `count` draws of all names. Each name takes the middle of each of `count` equally likely slices exactly once; which slices
 * go together is drawn. A name's own sequence depends on name, count and seed only, so another unknown more does not
 * disturb the others.
 * Source: M. McKay, R. Beckman, W. Conover, Technometrics 21 (1979) 239; middles of slices: M. Stein, Technometrics 29 (1987) 143.
 * @throws RangeError unless count is a positive integer.
 */
export function latinHypercube(
  names: readonly string[],
  count: number,
  seed: string | number,
): Record<string, number>[] {
  if (!(Number.isInteger(count) && count > 0))
    throw new RangeError(`${count} draws: a positive integer expected.`);
  const middles = Array.from({ length: count }, (_, slice) =>
    normalQuantile((slice + 0.5) / count),
  );
  const columns = names.map((name) => shuffled(middles, `${typeof seed} ${seed} ${name}`));
  return middles.map((_, row) =>
    Object.fromEntries(names.map((name, column) => [name, columns[column]?.[row] as number])),
  );
}

/** Fisher–Yates. */
function shuffled(values: readonly number[], seed: string): number[] {
  const random = seededRandom(seed);
  const result = [...values];
  for (let last = result.length - 1; last > 0; last--) {
    const other = random.below(last + 1);
    [result[last], result[other]] = [result[other] as number, result[last] as number];
  }
  return result;
}
