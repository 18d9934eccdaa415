/**
 * Where `share` (0 … 1) of a distribution lies, whose density is given at evenly spaced points and linear between them.
 * Any scale of the density will do; one that is 0 everywhere counts as even.
 */
export function densityQuantile(
  from: number,
  to: number,
  density: readonly number[],
  share: number,
): number {
  const step = (to - from) / (density.length - 1);
  const areas = density.slice(1).map((high, i) => ((density[i] ?? 0) + high) / 2);
  const total = areas.reduce((sum, one) => sum + one, 0);
  if (!(total > 0)) return from + share * (to - from);
  let left = share * total;
  for (const [i, area] of areas.entries()) {
    if (left > area && i < areas.length - 1) {
      left -= area;
      continue;
    }
    const [low, high] = [density[i] ?? 0, density[i + 1] ?? 0];
    // ∫(low + (high − low)·t)dt = left, in the form that is sound for high = low.
    const root = Math.sqrt(Math.max(low * low + 2 * (high - low) * left, 0));
    const part = left === 0 ? 0 : (2 * left) / (low + root);
    return from + step * (i + Math.min(part, 1));
  }
  return to;
}
