import type { TubeFacts } from './facts.ts';
import { Z90 } from '../numerics/normal.ts';
import type { Readings } from './readings.ts';

/** Transconductance over a new tube's at the same volts; undefined where the type's own is not known. */
export function gmRatio(readings: Readings, tube: TubeFacts): number | undefined {
  const reading = readings.transconductance;
  if (reading === undefined) return undefined;
  if (reading.percent !== undefined) return reading.percent / 100;
  const { mS, plateVolts, gridVolts, screenVolts } = reading;
  if (mS === undefined || plateVolts === undefined || gridVolts === undefined) return undefined;
  const bogey = tube.transconductance_S?.({
    plate_V: plateVolts,
    grid_V: gridVolts,
    ...(screenVolts === undefined ? {} : { screen_V: screenVolts }),
  });
  return bogey === undefined || !(bogey > 0) ? undefined : (mS * 1e-3) / bogey;
}

/** Error of a transconductance reading, of the logarithm: 10 % in nine of ten. Common practice, no source. */
const GM_SD = 0.1 / Z90;

/** gm = a·gm_new·(1 + x^n)^(−1−1/n) with x = a·J_new/Isat, both at the typical operating point. */
export function gmFactor(area: number, saturation_A: number, n: number, tube: TubeFacts): number {
  const x = (area * tube.typicalCathode_A) / saturation_A;
  return area * (1 + x ** n) ** (-1 - 1 / n);
}

/**
 * Area from a transconductance ratio for a given saturation, by bisection below the area where gm is largest;
 * that area where no smaller one reaches the ratio.
 */
export function areaFromGm(
  ratio: number,
  saturation_A: number,
  n: number,
  z: number,
  tube: TubeFacts,
): number {
  const seen = ratio * Math.exp(GM_SD * z);
  let low = 0;
  // d(gm)/da = 0 where x^n = 1/n.
  let high = Math.min((saturation_A / tube.typicalCathode_A) * n ** (-1 / n), 2);
  for (let i = 0; i < 50; i += 1) {
    const area = (low + high) / 2;
    if (gmFactor(area, saturation_A, n, tube) < seen) low = area;
    else high = area;
  }
  return (low + high) / 2;
}
