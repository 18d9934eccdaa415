/** One cycle of the drive, equally spaced, beginning at the drive's positive peak. */
export type Cycle = Float64Array;

const POINTS = 512;
/** The last two cycles may differ by this share of the node's swing or mean. */
const CYCLE_TOLERANCE = 1e-3;
/** A slow mean may still have this share to go, extrapolated over the longest R·C. */
const DRIFT_TOLERANCE = 5e-3;

/**
 * The last whole cycles of a transient that begin at a positive peak of the drive, resampled. The drive is a sine from
 * t = 0 and the run ends at a whole number of cycles, so a peak lies a quarter period after each of them.
 *
 * @param count cycles wanted; the vectors must hold one more
 */
export function lastCycles(
  time_s: Float64Array,
  values: Float64Array,
  frequency_Hz: number,
  count: number,
): Cycle[] {
  const period = 1 / frequency_Hz;
  const end = time_s.at(-1)!;
  let at = 0;
  const valueAt = (t: number): number => {
    while (at < time_s.length - 2 && time_s[at + 1]! < t) at++;
    const [t0, t1] = [time_s[at]!, time_s[at + 1]!];
    return values[at]! + ((t - t0) / (t1 - t0)) * (values[at + 1]! - values[at]!);
  };
  return Array.from({ length: count }, (_, c) => {
    const start = end - (count - c + 0.75) * period;
    return Float64Array.from({ length: POINTS }, (__, i) => valueAt(start + (i / POINTS) * period));
  });
}

/**
 * Settled: the last two cycles agree, and the drift of the mean, carried on over the longest time constant, is small.
 * @param settlingCycles five of the longest R·C, in cycles
 */
export function settled(cycles: readonly Cycle[], settlingCycles: number): boolean {
  const last = cycles.at(-1)!;
  const before = cycles.at(-2)!;
  const mean = average(last);
  const swing = Math.max(...last) - Math.min(...last);
  const size = Math.max(swing, 0.01 * Math.abs(mean), 1e-6);
  let worst = 0;
  for (let i = 0; i < last.length; i++) worst = Math.max(worst, Math.abs(last[i]! - before[i]!));
  const drift = Math.abs(mean - average(before)) * (settlingCycles / 5);
  return (
    worst <= CYCLE_TOLERANCE * size && drift <= DRIFT_TOLERANCE * Math.max(size, Math.abs(mean))
  );
}

const average = (cycle: Cycle): number => cycle.reduce((sum, x) => sum + x, 0) / cycle.length;
