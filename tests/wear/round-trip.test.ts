import { describe, expect, test } from 'vitest';
import { BENCHES, OUTPUT, SMALL } from './benches.ts';
import { cases, holds, PLANS, type Quantity } from './round-trip.ts';

/** 5 benches × 3 plans × 34 = 510 tubes, half of them output tubes; `npm run accuracy:readings` takes 500 a bench and plan. */
const EACH = 34;
type Row = Partial<Record<Quantity, { held: number; told: number }>>;

describe('tubes of known wear, read and read back', () => {
  test('the 90 % interval holds the truth in 85 to 95 of 100, on no bench in much less', () => {
    const total: Row = {};
    const benches = Object.entries(BENCHES).map(([bench, profile]) => {
      const row: Row = {};
      for (const [plan, readings] of Object.entries(PLANS))
        for (const tube of [OUTPUT, SMALL])
          for (const one of cases(EACH / 2, `${bench} ${plan}`, profile, tube, readings))
            for (const [key, held] of Object.entries(holds(one, profile, tube, 100)))
              for (const sum of [total, row]) {
                const before = sum[key as Quantity] ?? { held: 0, told: 0 };
                sum[key as Quantity] = {
                  held: before.held + (held ? 1 : 0),
                  told: before.told + 1,
                };
              }
      return { bench, row };
    });
    console.log(
      [...benches, { bench: 'all', row: total }]
        .map(({ bench, row }) => `${bench}: ${text(row)}`)
        .join('\n'),
    );
    for (const quantity of [
      'area',
      'saturation',
      'leak',
      'gas',
      'gridEmission',
      'heaterCathode',
    ] as const) {
      const { held, told } = total[quantity] ?? { held: 0, told: 0 };
      expect(told).toBeGreaterThan(120);
      expect(held / told, quantity).toBeGreaterThan(0.85);
      expect(held / told, quantity).toBeLessThan(0.95);
      for (const { bench, row } of benches) {
        const own = row[quantity] ?? { held: 0, told: 0 };
        // Three standard errors of so few tubes below 0.88.
        const least = 0.88 - 3 * Math.sqrt((0.88 * 0.12) / own.told);
        expect(own.held / own.told, `${quantity}, ${bench}`).toBeGreaterThan(least);
      }
    }
  }, 180_000);
});

function text(row: Row): string {
  return Object.entries(row)
    .map(([quantity, { held, told }]) => `${quantity} ${String(held)}/${String(told)}`)
    .join(', ');
}
