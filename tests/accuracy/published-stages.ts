import type { Device, Point } from '../../models/device.ts';

/**
 * Published figures of whole stages. All from memory of the books named, none read while this was written.
 */

/** Resistance-coupled amplifier charts of the receiving tube manuals (RCA RC-14 to RC-30): 300 V unless said; Mohm and ohm. */
export interface ChartRow {
  readonly type: string;
  readonly supply_V: number;
  readonly plate_Mohm: number;
  readonly next_Mohm: number;
  readonly screen_Mohm?: number;
  readonly cathode_ohm: number;
  /** Peak output at the onset of grid current, V. */
  readonly output_V: number;
  readonly gain: number;
}

type Triode = readonly [number, number, number, number, number];
const triodes = (type: string, rows: readonly Triode[]): ChartRow[] =>
  rows.map(([plate_Mohm, next_Mohm, cathode_ohm, output_V, gain]) => ({
    type,
    supply_V: 300,
    plate_Mohm,
    next_Mohm,
    cathode_ohm,
    output_V,
    gain,
  }));
type Pentode = readonly [number, number, number, number, number, number];
const pentodes = (type: string, supply_V: number, rows: readonly Pentode[]): ChartRow[] =>
  rows.map(([plate_Mohm, next_Mohm, screen_Mohm, cathode_ohm, output_V, gain]) => ({
    type,
    supply_V,
    plate_Mohm,
    next_Mohm,
    screen_Mohm,
    cathode_ohm,
    output_V,
    gain,
  }));

export const CHART: readonly ChartRow[] = [
  ...triodes('12AX7', [
    [0.1, 0.1, 1300, 43, 45],
    [0.1, 0.22, 1500, 57, 52],
    [0.1, 0.47, 1700, 66, 57],
    [0.22, 0.22, 2200, 54, 59],
    [0.22, 0.47, 2800, 69, 65],
    [0.22, 1, 3100, 79, 68],
    [0.47, 0.47, 4300, 62, 69],
    [0.47, 1, 5200, 77, 73],
    [0.47, 2.2, 5900, 92, 75],
  ]),
  ...triodes('12AU7', [
    [0.047, 0.047, 870, 38, 12],
    [0.047, 0.1, 1200, 52, 12],
    [0.047, 0.22, 1500, 68, 12],
    [0.1, 0.1, 1900, 44, 12],
    [0.1, 0.22, 3000, 68, 12],
    [0.1, 0.47, 4000, 80, 12],
    [0.22, 0.22, 5300, 57, 12],
    [0.22, 0.47, 8800, 82, 12],
    [0.22, 1, 11000, 92, 12],
  ]),
  ...triodes('6SN7GT', [
    [0.05, 0.05, 1020, 41, 13],
    [0.05, 0.1, 1270, 51, 14],
    [0.05, 0.25, 1500, 60, 14],
    [0.1, 0.1, 1900, 43, 14],
    [0.1, 0.25, 2440, 56, 14],
    [0.1, 0.5, 2700, 64, 14],
    [0.25, 0.25, 4590, 46, 14],
    [0.25, 0.5, 5770, 57, 14],
    [0.25, 1, 6950, 64, 14],
  ]),
  ...triodes('6SQ7', [
    [0.1, 0.1, 1900, 31, 31],
    [0.1, 0.25, 2200, 41, 39],
    [0.1, 0.5, 2300, 45, 42],
    [0.25, 0.25, 3300, 42, 48],
    [0.25, 0.5, 3900, 51, 53],
    [0.25, 1, 4200, 60, 56],
    [0.5, 0.5, 5300, 47, 58],
    [0.5, 1, 6100, 62, 60],
    [0.5, 2, 7000, 67, 63],
  ]),
  ...pentodes('6SJ7', 300, [
    [0.1, 0.1, 0.35, 500, 72, 67],
    [0.1, 0.25, 0.37, 530, 96, 98],
    [0.1, 0.5, 0.47, 590, 101, 104],
    [0.25, 0.25, 0.89, 850, 79, 139],
    [0.25, 0.5, 1.1, 860, 88, 167],
    [0.25, 1, 1.18, 910, 98, 185],
    [0.5, 0.5, 2, 1300, 64, 200],
    [0.5, 1, 2.2, 1410, 79, 238],
    [0.5, 2, 2.5, 1530, 89, 263],
  ]),
  ...pentodes('6SJ7', 180, [
    [0.1, 0.1, 0.29, 760, 49, 55],
    [0.1, 0.25, 0.31, 800, 60, 82],
    [0.1, 0.5, 0.37, 860, 62, 91],
    [0.25, 0.25, 0.83, 1050, 38, 109],
    [0.25, 0.5, 0.94, 1060, 47, 131],
    [0.25, 1, 0.94, 1100, 54, 161],
    [0.5, 0.5, 1.85, 2000, 37, 151],
    [0.5, 1, 2.2, 2180, 44, 192],
    [0.5, 2, 2.4, 2410, 54, 208],
  ]),
];

/** Gains below what mu and rp of the same books give, without any model: `tests/models/stages-outside.test.ts` shows it. */
export const CONTRADICTED_CHARTS: readonly string[] = ['6SN7GT', '6SQ7'];

/**
 * Rows whose figures decided something of the type's model, as its device file tells: they are no test of it. The onset of the
 * 6SQ7's grid current was taken from the peak outputs of the middle row of each plate load.
 */
export function seenByFit(device: Device, row: ChartRow): { gain: boolean; output: boolean } {
  const gain = fitted(device).some(
    (point) =>
      point.kind === 'coupled' &&
      point.supply_V === row.supply_V &&
      point.plate_ohm === row.plate_Mohm * 1e6 &&
      point.next_ohm === row.next_Mohm * 1e6,
  );
  const middle = CHART.filter(
    ({ type, supply_V, plate_Mohm }) =>
      type === row.type && supply_V === row.supply_V && plate_Mohm === row.plate_Mohm,
  )[1];
  return { gain, output: row.type === '6SQ7' && row === middle };
}

/** The same of a row of typical operation. */
export function drivenSeenByFit(device: Device, row: PowerRow): boolean {
  return fitted(device).some(
    (point) =>
      point.kind === 'driven' &&
      point.plate_V === row.plate_V &&
      point.screen_V === row.screen_V &&
      point.load_ohm === row.load_ohm,
  );
}

const fitted = (device: Device): readonly Point[] =>
  device.units.flatMap(({ points }) => points.filter(({ use }) => use === 'fit'));

/** Typical operation of single output tubes, class A: receiving tube manuals; EL34, ECL82: European data handbooks. */
export interface PowerRow {
  readonly type: string;
  readonly unit?: string;
  readonly plate_V: number;
  readonly screen_V: number;
  readonly grid_V: number;
  /** Peak drive where it is not the bias. */
  readonly drive_V?: number;
  readonly load_ohm: number;
  readonly power_W: number;
  readonly distortion_percent: number;
}

type Power = readonly [string, number, number, number, number, number, number, number?];
export const TYPICAL_OPERATION: readonly PowerRow[] = (
  [
    ['6V6GT', 250, 250, -12.5, 5000, 4.5, 8],
    ['6V6GT', 180, 180, -8.5, 5500, 2, 8],
    ['6V6GT', 315, 225, -13, 8500, 5.5, 12],
    ['6AQ5', 250, 250, -12.5, 5000, 4.5, 8],
    ['6AQ5', 180, 180, -8.5, 5500, 2, 8],
    ['6L6GC', 250, 250, -14, 2500, 6.5, 10],
    ['6L6GC', 300, 200, -12.5, 4500, 6.5, 11],
    ['6L6GC', 350, 250, -18, 4200, 10.8, 15],
    ['6BQ5', 250, 250, -7.3, 5200, 5.7, 10, 6.2],
    ['50C5', 110, 110, -7.5, 2500, 1.9, 9],
    ['50C5', 120, 110, -8, 2500, 2.3, 10],
    ['6K6GT', 250, 250, -18, 7600, 3.4, 11],
    ['6K6GT', 100, 100, -7, 12000, 0.35, 11],
    ['6K6GT', 315, 250, -21, 9000, 4.5, 15],
    ['6F6', 250, 250, -16.5, 7000, 3.2, 8],
    ['6F6', 285, 285, -20, 7000, 4.8, 9],
    ['EL34', 250, 265, -13.5, 2000, 11, 10, 12.3],
    ['35L6GT', 110, 110, -7.5, 2500, 1.5, 10],
    ['35L6GT', 200, 110, -8, 4500, 3.3, 10],
    ['6Y6G', 135, 135, -13.5, 2000, 3.6, 10],
    ['6Y6G', 200, 135, -14, 2600, 6, 10],
    ['6AK6', 180, 180, -9, 10000, 1.1, 10],
    ['6550', 250, 250, -14, 1500, 12.5, 7],
    ['6550', 400, 225, -16.5, 3000, 20, 13.5],
  ] satisfies readonly Power[]
).map(
  ([
    type,
    plate_V,
    screen_V,
    grid_V,
    load_ohm,
    power_W,
    distortion_percent,
    drive_V,
  ]): PowerRow => ({
    type,
    plate_V,
    screen_V,
    grid_V,
    load_ohm,
    power_W,
    distortion_percent,
    ...(drive_V === undefined ? {} : { drive_V }),
  }),
);
