/** How well a share is known from a count, and what a sum of squares may be by chance. */
import { normalQuantile } from './normal.ts';

/**
 * Wilson's score interval of a share of which `hits` of `count` were seen; `level` is what the interval holds (0.9: nine in ten).
 * Source: E. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; R. Newcombe, Statist. Med. 17 (1998) 857, method 3.
 * @throws RangeError without trials, or with hits outside 0 … count.
 */
export function wilsonInterval(
  hits: number,
  count: number,
  level = 0.9,
): { readonly low: number; readonly high: number } {
  if (!(count > 0 && hits >= 0 && hits <= count))
    throw new RangeError(`${hits} of ${count}: 0 … ${count} expected, of at least one.`);
  const z2 = normalQuantile((1 + level) / 2) ** 2;
  const share = hits / count;
  const middle = share + z2 / (2 * count);
  const half = Math.sqrt(z2 * ((share * (1 - share)) / count + z2 / (4 * count ** 2)));
  const whole = 1 + z2 / count;
  return {
    low: hits === 0 ? 0 : (middle - half) / whole,
    high: hits === count ? 1 : (middle + half) / whole,
  };
}

/**
 * Value below which χ² lies with probability `share`, to about 1 % from 3 degrees of freedom up and 3 % at one.
 * Source: E. Wilson, M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684.
 */
export function chiSquareQuantile(share: number, freedom: number): number {
  const spread = 2 / (9 * freedom);
  return freedom * (1 - spread + normalQuantile(share) * Math.sqrt(spread)) ** 3;
}
