import type { Device, FitResidual, Point, Quantity } from './device.ts';
import { CURVE_READING_mA, residualTable } from './fit.ts';

/** How near a model should come to a published number, in percent of it. */
export const AIM_PERCENT: Readonly<Record<Quantity, number>> = {
  plate_mA: 3,
  screen_mA: 5,
  cathode_mA: 5,
  gm_mS: 5,
  rp_ohm: 10,
  mu: 10,
  cutoff_V: 10,
  gmAt_V: 10,
  gc_uS: 10,
  gcAt_V: 10,
  drop_V: 5,
  power_W: 12,
  distortion_percent: 30,
  drivenPlate_mA: 8,
  drivenScreen_mA: 25,
  gain: 8,
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

/** What the figure was published for: "250 V, screen 100 V, grid -3 V" */
export function conditions(point: Point): string {
  if (point.kind === 'coupled')
    return `${point.supply_V} V through ${point.plate_ohm / 1e6} Mohm into ${point.next_ohm / 1e6} Mohm, cathode ${point.cathode_ohm} ohm`;
  const screen =
    'screen_V' in point && point.screen_V !== undefined ? `screen ${point.screen_V} V, ` : '';
  const joined = point.kind === 'joined' ? 'screen joined, ' : '';
  return `${point.plate_V} V, ${screen}${joined}${biasOf(point)}`;
}

function biasOf(point: Exclude<Point, { kind: 'coupled' }>): string {
  switch (point.kind) {
    case 'driven':
      return `grid ${point.grid_V} V, driven by ${point.drive_V} V into ${point.load_ohm} ohm`;
    case 'drop':
      return `${point.plate_mA} mA`;
    case 'oscillator':
      return `g1 ${point.oscillatorGrid_V} V, not oscillating`;
    case 'conversion':
    case 'gcAt':
      return `g3 ${point.signalGrid_V} V`;
    case 'operating':
      return point.cathode_ohm === undefined
        ? `grid ${point.grid_V} V`
        : `${point.cathode_ohm} ohm`;
    default:
      return `grid ${point.grid_V} V`;
  }
}
