/** 0 below 0, 1 above 1, and between them 3x² − 2x³: value and slope run on without a step. */
export function smoothStep(x: number): number {
  const t = Math.min(Math.max(x, 0), 1);
  return t * t * (3 - 2 * t);
}
