/**
 * Where a sampled curve first reaches a level on a summit between its points: three of them, the middle one the highest and below the
 * level, with the parabola through them above it. A straight line from point to point passes under such a summit.
 *
 * @param x rising
 * @returns undefined where no summit reaches it, also where a point does (that is a crossing between points)
 */
export function firstSummit(
  x: readonly number[],
  y: readonly number[],
  level: number,
): number | undefined {
  for (let k = 1; k < x.length - 1; k++) {
    const [x0, x1, x2] = [x[k - 1]!, x[k]!, x[k + 1]!];
    const [y0, y1, y2] = [y[k - 1]!, y[k]!, y[k + 1]!];
    if (!(y0 < level && y1 < level && y2 < level)) return undefined;
    if (y1 < y0 || y1 < y2) continue;
    const slope = (y1 - y0) / (x1 - x0);
    const bend = ((y2 - y1) / (x2 - x1) - slope) / (x2 - x0);
    if (bend >= 0) continue;
    // y0 + slope (x - x0) + bend (x - x0) (x - x1) = level
    const b = slope - bend * (x0 + x1);
    const c = y0 - slope * x0 + bend * x0 * x1 - level;
    const square = b * b - 4 * bend * c;
    if (square >= 0) return (-b + Math.sqrt(square)) / (2 * bend);
  }
  return undefined;
}
