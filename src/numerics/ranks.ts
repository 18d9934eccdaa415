/** Association told from ranks: takes no shape for granted but that one thing rises or falls with the other. */

/** Ranks from 1; equal values share the middle of theirs. */
export function midRanks(values: readonly number[]): number[] {
  const order = values
    .map((_, i) => i)
    .sort((a, b) => (values[a] as number) - (values[b] as number));
  const ranks: number[] = Array.from({ length: values.length }, () => 0);
  for (let from = 0; from < order.length;) {
    const value = values[order[from] as number];
    let to = from;
    while (to < order.length && values[order[to] as number] === value) to++;
    for (let k = from; k < to; k++) ranks[order[k] as number] = (from + to + 1) / 2;
    from = to;
  }
  return ranks;
}

/**
 * Spearman's rank correlation, −1 … 1: Pearson's correlation of the ranks. 0 where either does not vary. Of independent data
 * (n − 1) ρ² is near χ² with one degree of freedom.
 * Source: C. Spearman, Am. J. Psychol. 15 (1904) 72; M. Kendall, "Rank Correlation Methods", ch. 5.
 * @throws RangeError unless both have the same length.
 */
export function spearman(x: readonly number[], y: readonly number[]): number {
  if (x.length !== y.length)
    throw new RangeError(`${x.length} x and ${y.length} y: as many of each expected.`);
  const [a, b] = [midRanks(x), midRanks(y)];
  const mean = (x.length + 1) / 2;
  let [ab, aa, bb] = [0, 0, 0];
  a.forEach((rank, i) => {
    const [da, db] = [rank - mean, (b[i] as number) - mean];
    ab += da * db;
    aa += da * da;
    bb += db * db;
  });
  return aa === 0 || bb === 0 ? 0 : ab / Math.sqrt(aa * bb);
}

/**
 * Kruskal and Wallis' H of values in classes, corrected for ties; of data that do not depend on the class near χ² with one degree of
 * freedom less than there are classes. 0 where nothing varies.
 * Source: W. Kruskal, W. Wallis, J. Am. Stat. Assoc. 47 (1952) 583.
 * @throws RangeError unless there is a class for each value.
 */
export function kruskalWallis(
  values: readonly number[],
  classes: readonly number[],
): { readonly h: number; readonly freedom: number } {
  if (values.length !== classes.length)
    throw new RangeError(`${values.length} values, ${classes.length} classes: as many expected.`);
  const ranks = midRanks(values);
  const mean = (values.length + 1) / 2;
  const sums = new Map<number, { count: number; sum: number }>();
  classes.forEach((one, i) => {
    const { count, sum } = sums.get(one) ?? { count: 0, sum: 0 };
    sums.set(one, { count: count + 1, sum: sum + (ranks[i] as number) - mean });
  });
  const between = [...sums.values()].reduce((all, { count, sum }) => all + sum ** 2 / count, 0);
  const within = ranks.reduce((all, rank) => all + (rank - mean) ** 2, 0);
  return {
    h: within === 0 ? 0 : ((values.length - 1) * between) / within,
    freedom: sums.size - 1,
  };
}
