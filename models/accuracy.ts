import type { Device, FitResidual, Point } from './device.ts';
import { CURVE_READING_mA, residualTable } from './fit.ts';

/** How near a model should come to a published number, in percent of it. */
export const AIM_PERCENT: Readonly<Record<FitResidual['quantity'], number>> = {
  plate_mA: 3,
  screen_mA: 5,
  gm_mS: 5,
  rp_ohm: 10,
  mu: 10,
  cutoff_V: 10,
  gmAt_V: 10,
};

/** One published number of one unit, beside the model's. */
export interface AccuracyRow {
  readonly device: string;
  readonly unit: string;
  readonly point: Point;
  readonly residual: FitResidual;
  readonly within: boolean;
}

/** Every published number of the devices, misses included. Computed from the parameters, not read from the files. */
export function accuracyRows(devices: readonly Device[]): readonly AccuracyRow[] {
  return devices.flatMap((device) =>
    device.units.flatMap((unit) =>
      unit.fit === undefined
        ? []
        : residualTable(device, unit).map((residual) => {
            const point = unit.points[residual.point];
            if (point === undefined) throw new Error('residual without its point');
            const reading = point.kind === 'curve' ? 2 * CURVE_READING_mA : 0;
            const within =
              Math.abs(residual.error_percent) <= AIM_PERCENT[residual.quantity] ||
              Math.abs(residual.model - residual.published) <= reading;
            return { device: device.id, unit: unit.id, point, residual, within };
          }),
    ),
  );
}

/** "250 V, screen 100 V, grid −3 V" */
export function conditions(point: Point): string {
  const bias =
    point.kind === 'operating' && point.cathode_ohm !== undefined
      ? `${point.cathode_ohm} ohm`
      : `grid ${point.grid_V} V`;
  const screen = point.screen_V === undefined ? '' : `screen ${point.screen_V} V, `;
  return `${point.plate_V} V, ${screen}${bias}`;
}
