/** How far a set of published figures is missed. */
export interface ErrorSummary {
  /** Published figures compared. */
  readonly points: number;
  readonly median_percent: number;
  readonly p90_percent: number;
  /** The five that are furthest away, worst first. */
  readonly worst: readonly string[];
}

export interface NamedError {
  readonly name: string;
  readonly error_percent: number;
}

/** Median and 90th percentile of the sizes (nearest rank), and the worst five by name. */
export function summariseErrors(errors: readonly NamedError[]): ErrorSummary {
  const sorted = errors.toSorted((a, b) => Math.abs(a.error_percent) - Math.abs(b.error_percent));
  const rank = (part: number): number => {
    const found = sorted[Math.max(0, Math.ceil(part * sorted.length) - 1)];
    return found === undefined ? NaN : Number(Math.abs(found.error_percent).toFixed(2));
  };
  return {
    points: errors.length,
    median_percent: rank(0.5),
    p90_percent: rank(0.9),
    worst: sorted
      .slice(-5)
      .toReversed()
      .map(({ name, error_percent }) => `${name}: ${error_percent.toFixed(1)} %`),
  };
}
