import { afterAll, describe, expect, test } from 'vitest';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import { measured, modelOf, NEW, numberOf } from './bench.ts';

/**
 * Typical operation as single-ended class A amplifier: receiving tube manuals of the 1950s–60s; EL34: European data handbooks.
 * All from memory. The first row of a type with several also decided its fit, the others did not. The drive is the bias, but for the 6BQ5 (4.4 V effective) and the EL34 (8.7 V effective).
 */
const simulator = nodeSimulator({ workers: 2 });

interface Published {
  readonly type: string;
  readonly plate_V: number;
  readonly screen_V: number;
  readonly grid_V: number;
  readonly drive_V?: number;
  readonly load_ohm: number;
  readonly power_W: number;
  readonly distortion_percent: number;
  readonly drivenPlate_mA?: number;
  readonly drivenScreen_mA?: number;
  /** Why it is further away than asked, and what is held instead: lower and upper ratio of power and screen current, points. */
  readonly miss?: {
    readonly why: string;
    readonly power?: readonly [number, number];
    readonly screen?: readonly [number, number];
    readonly points?: number;
  };
}

const row = (
  [type, plate_V, screen_V, grid_V]: readonly [string, number, number, number],
  [load_ohm, power_W, distortion_percent]: readonly [number, number, number],
  [drivenPlate_mA, drivenScreen_mA]: readonly [number, number],
  rest: Pick<Published, 'drive_V' | 'miss'> = {},
): Published => ({
  type,
  plate_V,
  screen_V,
  grid_V,
  load_ohm,
  power_W,
  distortion_percent,
  drivenPlate_mA,
  drivenScreen_mA,
  ...rest,
});

/** Its idle rows, where the screen takes 10 % of the plate current at equal voltages and 6.5 % at 315/225 V, ask for a share that rises faster below. */
const SCREEN_OF_6V6 = {
  why: 'the idle rows ask for a screen current that rises faster below the screen voltage',
  screen: [0.65, 1.45],
} as const;

const TABLE: readonly Published[] = [
  row(['6V6GT', 250, 250, -12.5], [5000, 4.5, 8], [47, 7], { miss: SCREEN_OF_6V6 }),
  row(['6V6GT', 180, 180, -8.5], [5500, 2, 8], [30, 4], { miss: SCREEN_OF_6V6 }),
  row(['6V6GT', 315, 225, -13], [8500, 5.5, 12], [35, 6], { miss: SCREEN_OF_6V6 }),
  row(['6AQ5', 250, 250, -12.5], [5000, 4.5, 8], [47, 7]),
  row(['6AQ5', 180, 180, -8.5], [5500, 2, 8], [30, 4]),
  row(['6L6GC', 250, 250, -14], [2500, 6.5, 10], [79, 7.3]),
  row(['6L6GC', 300, 200, -12.5], [4500, 6.5, 11], [55, 4.7]),
  row(['6L6GC', 350, 250, -18], [4200, 10.8, 15], [66, 7]),
  row(['6BQ5', 250, 250, -7.3], [5200, 5.7, 10], [49.5, 10.8], { drive_V: 6.2 }),
  row(['50C5', 110, 110, -7.5], [2500, 1.9, 9], [50, 8.5]),
  row(['50C5', 120, 110, -8], [2500, 2.3, 10], [50, 8.5], {
    miss: {
      why: 'published as drawing the idle current of the smaller bias, which no one tube does: the model idles lower and bends less',
      points: 5,
    },
  }),
  row(['6K6GT', 250, 250, -18], [7600, 3.4, 11], [33, 10]),
  row(['6K6GT', 100, 100, -7], [12000, 0.35, 11], [9.5, 3]),
  row(['6K6GT', 315, 250, -21], [9000, 4.5, 15], [28, 9]),
  row(['6F6', 250, 250, -16.5], [7000, 3.2, 8], [36, 10.5]),
  row(['6F6', 285, 285, -20], [7000, 4.8, 9], [40, 13]),
  {
    type: 'EL34',
    plate_V: 250,
    screen_V: 265,
    grid_V: -13.5,
    drive_V: 12.3,
    load_ohm: 2000,
    power_W: 11,
    distortion_percent: 10,
  },
];

const lines: string[] = [];
afterAll(() => {
  simulator.close();
  console.info(
    [
      'typical operation, published → here: power W, distortion %, mean plate and screen current at full drive mA',
      ...lines,
    ].join('\n'),
  );
});

describe('published typical operation', () => {
  test.for(TABLE)(
    '$type at $plate_V V, $screen_V V, $grid_V V: power within 12 %, distortion within 3 points, or as the miss says',
    { timeout: 60_000 },
    async (at) => {
      const given = {
        plateSupply: at.plate_V,
        screenSupply: at.screen_V,
        fixedBias: at.grid_V,
        drive: at.drive_V ?? -at.grid_V,
        loadResistance: at.load_ohm,
        // the published points are at the electrodes
        primaryResistance: 1,
        sourceResistance: 1,
        gridResistor: 100e3,
      };
      const condition = { ...NEW, saturation_A: modelOf(at.type).parameters['isat_mA']! * 1e-3 };
      const steps = ['rest', 'driven'];
      const out = (
        await measured(outputSingleEnded, at.type, given, [condition], simulator, steps)
      )[0]!;
      const power = numberOf(out, 'powerOutput');
      const distortion = numberOf(out, 'distortion');
      const plate_mA = numberOf(out, 'drivenPlateCurrent') * 1e3;
      const screen_mA = numberOf(out, 'drivenScreenCurrent') * 1e3;
      const pair = (published: number | undefined, here: number): string =>
        `${published ?? '—'} → ${here.toPrecision(3)}`;
      lines.push(
        [
          `${at.type} ${at.plate_V}/${at.screen_V}/${at.grid_V}`.padEnd(20),
          pair(at.power_W, power).padEnd(16),
          pair(at.distortion_percent, distortion).padEnd(12),
          pair(at.drivenPlate_mA, plate_mA).padEnd(14),
          pair(at.drivenScreen_mA, screen_mA).padEnd(14),
          at.miss?.why ?? '',
        ].join('  '),
      );
      const [low, high] = at.miss?.power ?? [0.88, 1.12];
      expect(power / at.power_W).toBeGreaterThan(low);
      expect(power / at.power_W).toBeLessThan(high);
      expect(Math.abs(distortion - at.distortion_percent)).toBeLessThan(at.miss?.points ?? 3);
      if (at.drivenPlate_mA !== undefined)
        expect(Math.abs(plate_mA / at.drivenPlate_mA - 1)).toBeLessThan(0.15);
      if (at.drivenScreen_mA !== undefined) {
        const [least, most] = at.miss?.screen ?? [0.65, 1.35];
        expect(screen_mA / at.drivenScreen_mA).toBeGreaterThan(least);
        expect(screen_mA / at.drivenScreen_mA).toBeLessThan(most);
      }
    },
  );
});
