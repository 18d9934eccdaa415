/** Quantiles of samples. */

/**
 * Quantile at `share` (0 … 1) of unweighted samples, interpolated linearly between the order statistics.
 * Source: R. Hyndman, Y. Fan, "Sample quantiles in statistical packages", Am. Statistician 50 (1996) 361, type 7.
 * @throws RangeError without samples, with one that is not a number, or a share outside 0 … 1.
 */
export function quantile(values: ArrayLike<number>, share: number): number {
  checkSamples(values, share);
  const sorted = Float64Array.from(values).sort();
  const place = share * (sorted.length - 1);
  return blend(sorted[Math.floor(place)] as number, sorted[Math.ceil(place)] as number, place % 1);
}

/**
 * Quantile of weighted samples: each stands at the middle of its own weight, linear in between, flat beyond the first and
 * last middle. With equal weights this is Hyndman and Fan's type 5. Samples of weight 0 do not count.
 * @throws RangeError as `quantile` does, and for a negative weight or weights that sum to 0.
 */
export function weightedQuantile(
  values: ArrayLike<number>,
  weights: ArrayLike<number>,
  share: number,
): number {
  checkSamples(values, share);
  const pairs = Array.from(values, (value, k) => ({ value, weight: weights[k] ?? NaN }));
  const wrong = pairs.find(({ weight }) => !(weight >= 0 && weight < Infinity));
  if (wrong !== undefined) throw new RangeError(`Weight ${wrong.weight}: 0 or more expected.`);
  const sorted = pairs.filter(({ weight }) => weight > 0).sort((a, b) => a.value - b.value);
  const total = sorted.reduce((sum, { weight }) => sum + weight, 0);
  if (total === 0) throw new RangeError('All weights are 0.');
  let before = 0;
  const middles = sorted.map(({ weight }) => {
    const middle = (before + weight / 2) / total;
    before += weight;
    return middle;
  });
  const next = middles.findIndex((middle) => middle >= share);
  if (next < 0) return sorted[sorted.length - 1]?.value as number;
  const high = sorted[next]?.value as number;
  if (next === 0) return high;
  const [from, to] = [middles[next - 1] as number, middles[next] as number];
  return blend(sorted[next - 1]?.value as number, high, (share - from) / (to - from));
}

/** Written so that two equal infinities stay themselves. */
function blend(low: number, high: number, part: number): number {
  return low === high || part === 0 ? low : low + part * (high - low);
}

function checkSamples(values: ArrayLike<number>, share: number): void {
  if (values.length === 0) throw new RangeError('A quantile needs at least one sample.');
  if (!(share >= 0 && share <= 1)) throw new RangeError(`Share ${share}: 0 … 1 expected.`);
  for (let k = 0; k < values.length; k++) {
    if (Number.isNaN(values[k])) throw new RangeError(`Sample ${k} is not a number.`);
  }
}
