import { describe, expect, it } from 'vitest';
import { AIM_PERCENT, accuracyRows, conditions } from '../../models/accuracy.ts';
import { allDevices } from '../../models/catalogue.ts';
import { fitUnit } from '../../models/fit.ts';

/**
 * Where a model misses its aim, and why. The test fails when a number outside this list misses and when a number in it
 * stops missing, so the list stays what is true.
 */
const MISSES: Readonly<Record<string, string>> = {
  '12AU7 triode 250 V, grid -24 V cutoff_V':
    'the handbook’s fall of mu from 19.5 to 17 asks for a soft cutoff, its −24 V for a sharp one; one rounding serves both',
  '6SN7GT triode 250 V, grid -18 V cutoff_V':
    'the handbook says "approx."; the tail is as in the 12AU7',
  '6CG7 triode 250 V, grid -18 V cutoff_V': 'as the 6SN7GT',
  '6J5 triode 250 V, grid -18 V cutoff_V': 'as the 6SN7GT',
  '6SL7GT triode 349 V, grid -2 V plate_mA': 'hand reading at the end of the printed curve',
  '6SL7GT triode 480 V, grid -6 V plate_mA': 'hand reading at the end of the printed curve',
  '6BA6 pentode 250 V, screen 100 V, grid -2 V gm_mS':
    'remembered curve that contradicts the 11 mA, not fitted',
  '6BA6 pentode 250 V, screen 100 V, grid -5 V gm_mS':
    'remembered curve that contradicts the 11 mA, not fitted',
  '6BA6 pentode 250 V, screen 100 V, grid -10 V gm_mS':
    'remembered curve that contradicts the 11 mA, not fitted',
  '6K6GT pentode 250 V, screen 250 V, grid -18 V screen_mA':
    'its share of screen current is nearly the same at 100 V and at 250 V; the knee that moves with current makes it fall',
  '6K6GT pentode 100 V, screen 100 V, grid -7 V screen_mA': 'the other side of the same',
};

describe('published points', () => {
  const rows = accuracyRows(allDevices());
  const nameOf = ({ device, unit, point, residual }: (typeof rows)[number]) =>
    `${device} ${unit} ${conditions(point)} ${residual.quantity}`;

  it(`are met within ${AIM_PERCENT.plate_mA} % of plate current, ${AIM_PERCENT.screen_mA} % of screen current and gm, ${AIM_PERCENT.rp_ohm} % of plate resistance, but for the listed misses`, () => {
    const missed = rows.filter(({ within }) => !within).map(nameOf);
    expect(missed.toSorted()).toEqual(Object.keys(MISSES).toSorted());
  });

  it('are many: at least 250 numbers on at least 30 types', () => {
    expect(rows.length).toBeGreaterThan(250);
    expect(new Set(rows.map(({ device }) => device)).size).toBeGreaterThanOrEqual(30);
  });

  it('say where they come from, and whether from memory', () => {
    for (const { point } of rows) {
      expect(point.source.length).toBeGreaterThan(10);
      if (/memory/.test(point.source)) expect(point.provenance).toBe('fromMemory');
    }
  });

  it('stand in the files as the parameters give them', () => {
    for (const row of rows) {
      const stored = allDevices()
        .find(({ id }) => id === row.device)
        ?.units.find(({ id }) => id === row.unit)?.fit?.residuals;
      expect(stored).toContainEqual(row.residual);
    }
  });
});

describe('a new fit', () => {
  const units = allDevices().flatMap((device) =>
    device.units
      .filter(({ fit }) => fit !== undefined)
      .map((unit) => ({ device, unit, name: `${device.id} ${unit.id}` })),
  );
  it.each(units)('of $name gives the parameters in its file', ({ device, unit }) => {
    const again = fitUnit(device, unit);
    for (const [name, value] of Object.entries(unit.fit?.parameters ?? {})) {
      const size = Math.abs(value) + 1e-3 * (unit.fit?.standardErrors[name] ?? 1);
      expect(Math.abs((again.parameters[name] ?? NaN) - value) / size, name).toBeLessThan(1e-3);
    }
    expect(again.restOnPrior).toEqual(unit.fit?.restOnPrior);
  });
});
