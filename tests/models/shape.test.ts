import { describe, expect, it } from 'vitest';
import { newTubeState } from '../../models/cathode.ts';
import { allDevices } from '../../models/catalogue.ts';
import { characteristics } from '../../models/characteristics.ts';
import { tubeModel } from '../../models/tube.ts';
import { modelOf } from './samples.ts';

const all = allDevices().flatMap((device) =>
  device.units
    .filter(({ fit }) => fit !== undefined)
    .map((unit) => ({
      name: `${device.id} ${unit.id}`,
      model: tubeModel(device, unit.id),
      plate_V: unit.ratings?.plate_V ?? 300,
      screen_V: unit.ratings?.screen_V ?? 200,
      character: unit.character,
    })),
);
const units = all.filter(({ model }) => ['triode', 'pentode'].includes(model.family));
const steps = (low: number, high: number, count: number) =>
  Array.from({ length: count }, (_, i) => low + ((high - low) * i) / (count - 1));

describe('curves over the whole rated range', () => {
  it.each(units)(
    '$name: plate current rises with plate and grid',
    ({ model, plate_V, screen_V }) => {
      const state = newTubeState(model);
      const screens =
        model.family === 'pentode' ? [0.3, 0.6, 1].map((part) => part * screen_V) : [0];
      for (const screen of screens)
        for (const grid of [-40, -20, -10, -5, -2, -1, 0, 1]) {
          const at = (plate: number, up = 0) =>
            model.currents({ plate, screen, grid: grid + up, cathode: 0 }, state).plate ?? NaN;
          const currents = steps(0, plate_V, 60).map((plate) => at(plate));
          expect(currents.every((i, k) => k === 0 || i >= (currents[k - 1] ?? NaN))).toBe(true);
          // Below the knee the curves of real pentodes cross a little: more current moves the knee up.
          const lowest = model.family === 'pentode' ? 0.25 * screen : 5;
          if (grid < 0)
            for (const plate of steps(lowest, plate_V, 12))
              expect(at(plate, 0.2)).toBeGreaterThanOrEqual(at(plate));
        }
    },
  );

  it.each(units.filter(({ model }) => model.family === 'pentode'))(
    '$name: all currents rise with the screen; the screen’s falls as the plate rises',
    ({ model, plate_V, screen_V }) => {
      const state = newTubeState(model);
      for (const grid of [-8, -3, 0]) {
        const at = (plate: number, screen: number) =>
          model.currents({ plate, screen, grid, cathode: 0 }, state);
        const bySecond = steps(10, screen_V, 20).map((screen) => at(plate_V, screen));
        bySecond.slice(1).forEach((now, k) => {
          expect(now.plate ?? NaN).toBeGreaterThanOrEqual(bySecond[k]?.plate ?? NaN);
          expect(now.screen ?? NaN).toBeGreaterThanOrEqual(bySecond[k]?.screen ?? NaN);
        });
        const byPlate = steps(0, plate_V, 40).map((plate) => at(plate, screen_V).screen ?? NaN);
        expect(byPlate.every((i, k) => k === 0 || i <= (byPlate[k - 1] ?? NaN) + 1e-15)).toBe(true);
      }
    },
  );

  it.each(units.filter(({ model }) => model.family === 'pentode'))(
    '$name: the knee lies between 5 % and 45 % of the screen voltage',
    ({ model, screen_V }) => {
      // Common practice, no source: at zero bias the plate takes 80 % of its full current somewhere in this range.
      const state = newTubeState(model);
      const at = (plate: number) =>
        model.currents({ plate, screen: screen_V, grid: 0, cathode: 0 }, state).plate ?? NaN;
      const full = at(screen_V);
      const knee = steps(0, screen_V, 400).find((plate) => at(plate) >= 0.8 * full) ?? NaN;
      expect(knee / screen_V).toBeGreaterThan(0.05);
      expect(knee / screen_V).toBeLessThan(0.45);
    },
  );
});

describe('curves of the other families', () => {
  it.each(all.filter(({ model }) => model.family === 'pentagrid'))(
    '$name: plate current rises with plate, screens and either grid; what a grid refuses the screens take',
    ({ model, plate_V, screen_V }) => {
      const state = newTubeState(model);
      const at = (plate: number, screen: number, oscillatorGrid: number, signalGrid: number) =>
        model.currents({ plate, screen, oscillatorGrid, signalGrid, cathode: 0 }, state);
      for (const g1 of [-20, -8, -3, 0])
        for (const g3 of [-40, -15, -5, -1, 0]) {
          const rising = (currents: readonly (number | undefined)[]) =>
            currents.every((i, k) => k === 0 || (i ?? NaN) >= (currents[k - 1] ?? NaN));
          expect(rising(steps(0, plate_V, 40).map((p) => at(p, screen_V, g1, g3).plate))).toBe(
            true,
          );
          expect(rising(steps(10, screen_V, 20).map((s) => at(plate_V, s, g1, g3).plate))).toBe(
            true,
          );
          const [here, up1, up3] = [
            at(plate_V, screen_V, g1, g3),
            at(plate_V, screen_V, g1 + 0.2, g3),
            at(plate_V, screen_V, g1, g3 + 0.2),
          ];
          expect(up1.plate).toBeGreaterThanOrEqual(here.plate ?? NaN);
          expect(up3.plate).toBeGreaterThanOrEqual(here.plate ?? NaN);
          expect(up3.screen).toBeLessThanOrEqual((here.screen ?? NaN) * 1.0001);
          const sum = model.electrodes.reduce((total, pin) => total + (here[pin] ?? NaN), 0);
          expect(Math.abs(sum)).toBeLessThan(1e-12);
        }
    },
  );

  it.each(all.filter(({ model }) => model.family === 'diode'))(
    '$name: current follows the 3/2-power law from its published drop and stops against the field',
    ({ model }) => {
      const state = newTubeState(model);
      const at = (plate: number) => model.currents({ plate, cathode: 0 }, state).plate ?? NaN;
      const currents = steps(-5, 30, 71).map(at);
      expect(currents.every((i, k) => k === 0 || i > (currents[k - 1] ?? NaN))).toBe(true);
      expect(at(-3)).toBeLessThan(1e-6 * at(10));
      // Saturation flattens it a little at the top.
      expect(at(10) / at(5)).toBeGreaterThan(2.6);
      expect(at(10) / at(5)).toBeLessThan(2 ** 1.5);
    },
  );
});

describe('remote cutoff', () => {
  it.each(units.filter(({ character }) => character === 'remote'))(
    '$name: the slope of log gm never jumps by more than about a factor 2 within a volt',
    ({ model }) => {
      const gm_dB = (grid_V: number) =>
        20 * Math.log10(characteristics(model, { plate_V: 250, screen_V: 100, grid_V }).gm_mS);
      const slopes = steps(-1.5, -35, 68).map((grid) => gm_dB(grid) - gm_dB(grid - 0.5));
      for (const slope of slopes) expect(slope).toBeGreaterThan(0);
      // Neighbourhood: two steps of 0.5 V either side.
      slopes.forEach((slope, k) => {
        for (const other of slopes.slice(Math.max(0, k - 2), k + 3))
          expect(slope / other).toBeLessThan(2.2);
      });
      // Against a wider neighbourhood the family must not be a staircase: no local maximum 1.5 times both its sides.
      slopes.forEach((slope, k) => {
        const before = Math.min(...slopes.slice(Math.max(0, k - 8), k), slope);
        const after = Math.min(...slopes.slice(k + 1, k + 9), slope);
        if (k >= 8 && k < slopes.length - 8)
          expect(Math.min(slope / before, slope / after)).toBeLessThan(1.5);
      });
    },
  );

  it('keeps some transconductance where a sharp-cutoff tube has none', () => {
    const at = { plate_V: 250, screen_V: 100, grid_V: -12 };
    expect(characteristics(modelOf('6BA6'), at).gm_mS).toBeGreaterThan(0.05);
    expect(characteristics(modelOf('6AU6'), at).gm_mS).toBeLessThan(1e-6);
  });
});

describe('characteristics', () => {
  it('give mu as gm times rp', () => {
    const c = characteristics(modelOf('12AX7'), { plate_V: 250, grid_V: -2 });
    expect(c.mu).toBeCloseTo((c.gm_mS * c.rp_ohm) / 1e3, 9);
    expect(c.screenCurrent_mA).toBe(0);
  });
});
