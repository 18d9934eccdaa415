import { describe, expect, test } from 'vitest';
import { BENCHES, OUTPUT, SMALL } from './benches.ts';
import { cases, holds, PLANS, type Quantity } from './round-trip.ts';

/** 5 benches × 3 plans × 34 = 510 tubes, half of them output tubes. */
const EACH = 34;

describe('tubes of known wear, read and read back', () => {
  test('the 90 % interval holds the truth in 85 to 95 of 100', () => {
    const total: Partial<Record<Quantity, { held: number; told: number }>> = {};
    const rows: string[] = [];
    for (const [bench, profile] of Object.entries(BENCHES)) {
      for (const [plan, readings] of Object.entries(PLANS)) {
        const row: Partial<Record<Quantity, { held: number; told: number }>> = {};
        cases(EACH, `${bench} ${plan}`, profile, OUTPUT, readings).forEach((one, i) => {
          const tube = i % 2 === 0 ? OUTPUT : SMALL;
          const mine =
            i % 2 === 0 ? one : cases(EACH, `${bench} ${plan}`, profile, SMALL, readings)[i];
          if (mine === undefined) throw new Error('no case');
          for (const [quantity, held] of Object.entries(holds(mine, profile, tube, 150)) as [
            Quantity,
            boolean,
          ][])
            for (const sum of [total, row]) {
              const before = sum[quantity] ?? { held: 0, told: 0 };
              sum[quantity] = { held: before.held + (held ? 1 : 0), told: before.told + 1 };
            }
        });
        rows.push(`${bench} · ${plan}: ${text(row)}`);
      }
    }
    console.log([...rows, `all: ${text(total)}`].join('\n'));
    for (const quantity of ['area', 'saturation', 'leak', 'gas', 'heaterCathode'] as const) {
      const { held, told } = total[quantity] ?? { held: 0, told: 0 };
      expect(told).toBeGreaterThan(120);
      expect(held / told, quantity).toBeGreaterThan(0.85);
      expect(held / told, quantity).toBeLessThan(0.95);
    }
  });
});

function text(row: Partial<Record<Quantity, { held: number; told: number }>>): string {
  return Object.entries(row)
    .map(([quantity, { held, told }]) => `${quantity} ${String(held)}/${String(told)}`)
    .join(', ');
}
