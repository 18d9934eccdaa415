import { describe, expect, it } from 'vitest';
import { newTubeState } from '../../models/cathode.ts';
import { findDevice } from '../../models/catalogue.ts';
import { characteristics } from '../../models/characteristics.ts';
import {
  conversion,
  conversionTransconductance_S,
  oscillatorPeak_V,
} from '../../models/pentagrid/conversion.ts';
import { tubeModel } from '../../models/tube.ts';
import type { TubeModel } from '../../src/types.ts';
import { modelOf } from './samples.ts';

const USUAL = { oscillatorGrid_ohm: 20e3, oscillatorGrid_A: 0.5e-3 };

describe('conversion transconductance', () => {
  // Receiving tube manual of the 1950s–60s (RCA RC-19 to RC-30), characteristics as converter, from memory.
  it.each([
    ['6BE6', 250, 100, -1.5, USUAL, 475],
    ['12BE6', 100, 100, -1.5, USUAL, 455],
    ['EK90', 250, 100, -1.5, USUAL, 475],
    ['6SA7', 250, 100, 0, USUAL, 450],
    ['12SA7', 100, 100, 0, USUAL, 425],
    ['6BA7', 250, 100, -1, { oscillatorGrid_ohm: 20e3, oscillatorGrid_A: 0.35e-3 }, 950],
    ['1R5', 90, 67.5, 0, { oscillatorGrid_ohm: 100e3, oscillatorGrid_A: 0.25e-3 }, 300],
    ['DK91', 45, 45, 0, { oscillatorGrid_ohm: 100e3, oscillatorGrid_A: 0.15e-3 }, 235],
  ])(
    'of a %s at %d V, screens %d V, meets the handbook within 8 %%',
    (type, plate_V, screen_V, signalGrid_V, oscillation, gc_uS) => {
      const c = conversion(modelOf(type), { plate_V, screen_V, signalGrid_V, ...oscillation });
      expect(Math.abs((1e6 * c.conversion_S) / gc_uS - 1)).toBeLessThan(0.08);
    },
  );

  it('is half the fundamental of a transconductance that is known in closed form', () => {
    // A multiplier: plate current A·(1 + g3)·(1 + g1) mA for g1 above −1, no current below it.
    const multiplier = {
      ...modelOf('6BE6'),
      currents: (v: Parameters<TubeModel['currents']>[0]) => ({
        plate: 1e-3 * (1 + (v.signalGrid ?? 0)) * Math.max(0, 1 + (v.oscillatorGrid ?? 0)),
        oscillatorGrid: 0,
      }),
    };
    const at = {
      plate_V: 100,
      screen_V: 100,
      signalGrid_V: -0.5,
      oscillatorGrid_ohm: 1,
      oscillatorGrid_A: 0,
    };
    // gm3 = 1 mS·(1 + 0.8 cos θ): gc = 0.8/2 mS.
    expect(conversionTransconductance_S(multiplier, at, 0.8)).toBeCloseTo(0.4e-3, 9);
    expect(conversion(multiplier, at, undefined, 0.8).plate_A).toBeCloseTo(0.5e-3, 9);
  });

  it('falls steadily as the signal grid goes negative, and with a worn cathode', () => {
    const model = modelOf('6BE6');
    const at = (signalGrid_V: number) => ({ plate_V: 250, screen_V: 100, signalGrid_V, ...USUAL });
    const falling = [-1, -3, -6, -10, -15, -22, -30].map(
      (v) => conversion(model, at(v)).conversion_S,
    );
    falling.slice(1).forEach((gc, k) => expect(gc).toBeLessThan(falling[k] ?? NaN));
    const peak = oscillatorPeak_V(model, at(-1.5));
    const worn = { ...newTubeState(model), area: 0.8, saturation_A: 0.01 };
    expect(conversion(model, at(-1.5), worn, peak).conversion_S).toBeLessThan(
      0.8 * conversion(model, at(-1.5)).conversion_S,
    );
  });

  it('hardly hangs on the oscillator grid’s law, which no handbook prints', () => {
    const device = findDevice('6BE6')?.device;
    if (device === undefined) throw new Error('no 6BE6');
    const at = { plate_V: 250, screen_V: 100, signalGrid_V: -1.5, ...USUAL };
    const gc = (factor: number) => {
      const units = device.units.map((unit) => ({
        ...unit,
        ...(unit.grid === undefined
          ? {}
          : { grid: { ...unit.grid, kgg_mA: factor * unit.grid.kgg_mA } }),
      }));
      return conversion(tubeModel({ ...device, units }), at).conversion_S;
    };
    for (const factor of [0.5, 2]) expect(Math.abs(gc(factor) / gc(1) - 1)).toBeLessThan(0.15);
  });

  it('is no number where nothing drives the stated grid current', () => {
    const at = {
      plate_V: 250,
      screen_V: 100,
      signalGrid_V: 0,
      oscillatorGrid_ohm: 1,
      oscillatorGrid_A: 1e3,
    };
    expect(conversion(modelOf('6BE6'), at).conversion_S).toBeNaN();
  });
});

describe('characteristics', () => {
  it('of a diode’s plate resistance follow the 3/2-power law: two thirds of V/I', () => {
    const c = characteristics(modelOf('6AL5'), { plate_V: 5, grid_V: 0 });
    expect(c.rp_ohm / ((2 / 3) * (5 / c.plateCurrent_mA) * 1e3)).toBeCloseTo(1, 1);
  });
});
