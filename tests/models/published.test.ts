import { describe, expect, it } from 'vitest';
import { AIM_PERCENT, accuracyRows, conditions } from '../../models/accuracy.ts';
import { allDevices } from '../../models/catalogue.ts';
import type { FitRecord, Unit } from '../../models/device.ts';
import { fitUnit } from '../../models/fit.ts';

/**
 * Where a model misses its aim, and why. The test fails when a number outside this list misses and when a number in it
 * stops missing, so the list stays what is true.
 */
const MISSES: Readonly<Record<string, string>> = {
  '1R5 pentagrid 90 V, screen 67.5 V, g3 0 V plate_mA':
    'same screens and oscillation as the next row, and the screen current of both rows is the same 3.2 mA',
  '1R5 pentagrid 67.5 V, screen 67.5 V, g3 0 V plate_mA': 'the other side of the same',
  '1R5 pentagrid 45 V, screen 45 V, g3 0 V screen_mA':
    'one power of the screens serves 67.5 V and 45 V; the rows differ in drive too',
  '1T4 pentode 90 V, screen 67.5 V, grid 0 V rp_ohm':
    'plate resistance falls from 800 kohm to 500 kohm as the current doubles; ours falls in proportion',
  '1T4 pentode 67.5 V, screen 67.5 V, grid 0 V screen_mA':
    '1.4 to 1.5 mA for 3.5 to 3.4 mA of plate current: more than the knee gives away',
  '30 triode 135 V, grid -9 V plate_mA':
    '3.1 and 3.0 mA at 180 V, −13.5 V and 135 V, −9 V against mu 9.3: the shift of 45 V is 4.8 V of grid',
  '35L6GT pentode 110 V, screen 110 V, grid -7.5 V rp_ohm':
    'beside the knee, not fitted: it would bend the whole curve',
  '50C5 pentode 110 V, screen 110 V, grid -7.5 V plate_mA':
    '49 and 4 mA at −7.5 V on 110 V and at −8 V on 120 V: half a volt of bias at 7.5 mS is 3.8 mA, 10 V of plate at 10 kohm 1 mA',
  '50C5 pentode 110 V, screen 110 V, grid -7.5 V screen_mA': 'the same',
  '5687 triode 180 V, grid -7 V plate_mA':
    'three published rows on one curve: the middle one lies above it, the others below',
  '5687 triode 120 V, grid -2 V plate_mA': 'as the row before',
  '6AS7G triode 135 V, 250 ohm rp_ohm':
    'mu 2 and 7000 umho make 286 ohm, but the 31 V of bias and 125 mA ask for a steeper grid',
  '6AU6 pentode 250 V, screen joined, grid -4 V plate_mA':
    'less surely remembered than the others; the rows with a screen of 100 to 150 V, carried to 250 V by similarity, ask for more current too',
  '6AU6 pentode 250 V, screen joined, grid -4 V gm_mS':
    'as the current: 5.2 mS and the screen’s 2.1 mS at 14.9 mA, 4.8 mS at 12.2 mA',
  '6AU6 pentode 250 V, screen joined, grid -4 V mu': 'the same',
  '6BA6 pentode 250 V, screen 100 V, grid -2 V gm_mS':
    'remembered curve that contradicts the 11 mA, not fitted',
  '6BA6 pentode 250 V, screen 100 V, grid -5 V gm_mS':
    'remembered curve that contradicts the 11 mA, not fitted',
  '6BA6 pentode 250 V, screen 100 V, grid -10 V gm_mS':
    'remembered curve that contradicts the 11 mA, not fitted',
  '6BA7 pentagrid 250 V, screen 100 V, g3 -20 V gcAt_V': 'the handbook says "approx."',
  '6BA7 pentagrid 100 V, g1 0 V, not oscillating cathode_mA':
    'the mean current of the oscillating rows asks for more at the peaks',
  '6BC5 pentode 125 V, screen 125 V, 100 ohm rp_ohm':
    'plate current times rp is 6.0, 4.0 and 2.8 kV at plates of 250, 125 and 100 V, between which rows it falls faster than any one law',
  '6BE6 pentagrid 250 V, screen 100 V, g3 -30 V gcAt_V': 'the handbook says "approx."',
  '6BE6 pentagrid 100 V, g1 0 V, not oscillating cathode_mA':
    '25 mA at rest and a mean of 10.2 mA at 10 V of oscillator bias do not agree with gm 7.25 mS',
  '6BQ6GTB pentode 60 V, screen 150 V, grid 0 V plate_mA': 'at the knee, not fitted',
  '6BQ6GTB pentode 60 V, screen 150 V, grid 0 V screen_mA': 'at the knee, not fitted',
  '6J7 pentode 250 V, screen joined, grid -8 V plate_mA':
    'not fitted: the screen is 2.5 times as high as in any row that was',
  '6K6GT pentode 250 V, screen 250 V, grid -18 V rp_ohm':
    'plate current times rp over the plate voltage is 11.5, 9.4 and 8.9 at 250/250, 100/100 and 315/250 V; with equal voltages it should be one figure',
  '6K7 pentode 250 V, screen 125 V, grid -3 V rp_ohm':
    'plate current times rp is 5.6 kV on a screen of 100 V and 6.3 kV on 125 V: the nearer the screen, the larger it should not be',
  '6L6GC pentode 300 V, screen 200 V, grid -12.5 V screen_mA':
    'the screen takes 5.2 % of the plate current at 1.5 times its voltage and 4.6 % at 1.4 times; two digits published',
  '6L6GC pentode 350 V, screen 250 V, grid -18 V screen_mA': 'the other side of the same',
  '6L6GC pentode 250 V, screen joined, grid -20 V plate_mA': 'not fitted; the row is the 6L6’s',
  '6V6GT pentode 250 V, screen 250 V, grid -12.5 V, driven by 12.5 V into 5000 ohm drivenScreen_mA':
    'the idle rows (10 % of the plate current at 250/250 V, 6.5 % at 315/225 V) ask for a share that rises faster below the screen voltage than the 7 mA',
  '6SJ7 pentode 180 V, screen joined, grid -6 V plate_mA':
    'between the rows at 100 V and the one at 250 V; both cannot be nearer',
  '6SF5 triode 100 V, grid -1 V rp_ohm': 'the 100 V row asks for a higher mu than its 100',
  '6SL7GT triode 349 V, grid -2 V plate_mA': 'hand reading at the end of the printed curve',
  '6SL7GT triode 480 V, grid -6 V plate_mA': 'hand reading at the end of the printed curve',
  '6W6GT pentode 110 V, screen 110 V, grid -7.5 V plate_mA':
    '49 mA at 110/110/−7.5 V and 46 mA at 200/125 V and 180 ohm (−8.7 V): 15 V more of screen are worth 1.8 V of grid, so the second row should draw more',
  '6W6GT pentode 200 V, screen 125 V, 180 ohm plate_mA': 'the other side of the same',
  '6Y6G pentode 135 V, screen 135 V, grid -13.5 V rp_ohm':
    'plate current times rp over the plate voltage rises from 4.0 to 5.6 between 135 and 200 V on one screen; the published power allows no knee that soft',
  '6Y6G pentode 200 V, screen 135 V, grid -14 V rp_ohm': 'the other side of the same',
};

describe('published points', () => {
  const rows = accuracyRows(allDevices());
  const nameOf = ({ device, unit, point, residual }: (typeof rows)[number]) =>
    `${device} ${unit} ${conditions(point)} ${residual.quantity}`;

  it(`are met within ${AIM_PERCENT.plate_mA} % of plate current, ${AIM_PERCENT.screen_mA} % of screen current and gm, ${AIM_PERCENT.rp_ohm} % of plate resistance, but for the listed misses`, () => {
    const missed = rows.filter(({ within }) => !within).map(nameOf);
    expect(missed.toSorted()).toEqual(Object.keys(MISSES).toSorted());
  });

  it('are many: at least 700 numbers on at least 100 types', () => {
    expect(rows.length).toBeGreaterThan(700);
    expect(new Set(rows.map(({ device }) => device)).size).toBeGreaterThanOrEqual(100);
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
  /** From the typical tube, as `npm run fit:devices` does it: slow, so a few of each family. */
  const SCRATCH = new Set([
    '12AX7',
    '6SN7GT',
    '6AU6',
    '6BA6',
    '6V6GT',
    '6AN8A',
    '5Y3GT',
    '1U4',
    '2A3',
  ]);
  it.each(units)('of $name stays at the parameters in its file', ({ device, unit }) => {
    const from = unit.fit?.parameters ?? {};
    same(fitUnit(device, unit, { from }), unit);
  });

  it.each(units.filter(({ device }) => SCRATCH.has(device.id)))(
    'of $name from scratch gives the parameters in its file',
    ({ device, unit }) => {
      const again = fitUnit(device, unit);
      same(again, unit);
      expect(again.restOnPrior).toEqual(unit.fit?.restOnPrior);
      expect(again.atBound).toEqual(unit.fit?.atBound);
    },
    60_000,
  );

  function same(again: FitRecord, unit: Unit): void {
    for (const [name, value] of Object.entries(unit.fit?.parameters ?? {})) {
      // Where points leave a parameter open, a part of its standard error is no difference.
      const size = Math.abs(value) + 20 * (unit.fit?.standardErrors[name] ?? 1);
      expect(Math.abs((again.parameters[name] ?? NaN) - value) / size, name).toBeLessThan(1e-3);
    }
  }
});
