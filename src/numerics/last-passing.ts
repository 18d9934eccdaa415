/** Where a row of trials, best first, stops passing: for trials too dear to make them all. */

/**
 * Index of the last trial that passes, of `count` in falling order of which the first is known to pass: one after which
 * the next one fails (or there is no next). Where passes and failures are mixed it is one of the places that look so.
 *
 * `score` is at least 0 where a trial passes, and falls evenly on the whole: half of the trials are guessed from the scores of the
 * bracket's ends, the others halve it, so that no score can cost more than twice the trials of bisection.
 *
 * @param start index of the first trial; without it the last one, which settles rows that pass to their end
 * @throws RangeError without a trial
 */
export async function lastPassing(
  count: number,
  firstScore: number,
  score: (index: number) => Promise<number>,
  start: number = count - 1,
): Promise<number> {
  if (!(Number.isInteger(count) && count > 0))
    throw new RangeError(`${count} trials: at least one expected.`);
  let [low, atLow] = [0, firstScore];
  let [high, atHigh] = [count, Number.NaN];
  let wanted = start;
  for (let guess = true; high - low > 1; guess = !guess) {
    const index = Math.min(high - 1, Math.max(low + 1, Math.floor(wanted)));
    const found = await score(index);
    if (found >= 0) [low, atLow] = [index, found];
    else [high, atHigh] = [index, found];
    const crossing = low + ((high - low) * atLow) / (atLow - atHigh);
    wanted = guess && Number.isFinite(crossing) ? crossing : (low + high) / 2;
  }
  return low;
}
