import type { Judged, Report } from '../types.ts';

/**
 * Margin at the end of the 90 % interval that lies nearer the limit (or beyond it), over the size of the bound: the figure by
 * which statuses are told. The central margin where there is no interval; undefined where nothing is judged.
 */
export function safeMargin({ limit, margin, low, high }: Judged): number | undefined {
  if (limit === null) return undefined;
  if (low === null || high === null) return margin ?? undefined;
  const inside = limit.sense === 'atLeast' ? low - limit.bound : limit.bound - high;
  return inside / Math.max(Math.abs(limit.bound), 1e-12);
}

/** The least of them, with the measure it belongs to; undefined where nothing is judged. */
export function worstMargin(
  report: Report,
): { readonly measure: Judged; readonly margin: number } | undefined {
  return report.measures
    .flatMap((measure) => {
      const margin = safeMargin(measure);
      return margin === undefined ? [] : [{ measure, margin }];
    })
    .sort((a, b) => a.margin - b.margin)[0];
}

/** Not negative where the verdict is usable; below 0, the more the worse, where it is not. */
export function scoreOf(report: Report): number {
  const margin = worstMargin(report)?.margin ?? -1;
  return report.verdict === 'usable' ? Math.max(0, margin) : Math.min(-1e-6, margin);
}

/** A margin squeezed so that tenfolds and hundredfolds do not outweigh what happens near 0; keeps the sign. */
export const squeeze = (margin: number): number => Math.asinh(margin);

export const unsqueeze = (squeezed: number): number => Math.sinh(squeezed);
