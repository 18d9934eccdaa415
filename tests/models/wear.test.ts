import { describe, expect, it } from 'vitest';
import {
  atHeaterVoltage,
  ionisation,
  newTubeState,
  saturationRatio,
} from '../../models/cathode.ts';
import { characteristics } from '../../models/characteristics.ts';
import { leakCurrents } from '../../models/leakage.ts';
import type { TubeModel, TubeState } from '../../src/types.ts';
import { modelOf, NEW } from './samples.ts';

const sum = (amps: Readonly<Record<string, number>>) =>
  Object.values(amps).reduce((a, b) => a + b, 0);

describe('saturation of the cathode', () => {
  /** Richardson–Dushman, T = T0·v^p, T0 = 1050 K: the emission equation itself, at both temperatures. */
  const richardson = (v: number, phi: number, p: number) => {
    const k = 8.617333262e-5;
    const emission = (kelvin: number) => kelvin * kelvin * Math.exp(-phi / (k * kelvin));
    return emission(1050 * v ** p) / emission(1050);
  };

  it.each([0.95, 1.0, 1.1])(
    'follows the heater by Richardson’s equation, work function %s eV',
    (phi) => {
      for (const p of [0.37, 0.4])
        for (const v of [0.8, 0.85, 0.9, 1, 1.1])
          expect(
            saturationRatio(v, {
              workFunction_eV: phi,
              temperature_K: 1050,
              temperatureExponent: p,
            }),
          ).toBeCloseTo(richardson(v, phi, p), 10);
    },
  );

  it('leaves about 0.57–0.60 at 10 % less heater and 0.30–0.33 at 20 % less', () => {
    // Computed from the emission equation for T0 1050 K, phi 1.0 eV, p 0.37–0.40 (constants from memory of textbooks).
    expect(saturationRatio(0.9)).toBeCloseTo(0.57, 2);
    expect(saturationRatio(0.8)).toBeCloseTo(0.3, 2);
    expect(
      saturationRatio(0.9, { workFunction_eV: 1, temperature_K: 1050, temperatureExponent: 0.37 }),
    ).toBeCloseTo(0.6, 2);
  });

  it('moves the effective bias by 0.1 V for 10 % of heater voltage', () => {
    const state = atHeaterVoltage({ ...NEW, leaks: [] }, 0.9);
    expect(state.contactShift_V).toBeCloseTo(-0.1, 12);
    expect(state.saturation_A).toBeCloseTo(NEW.saturation_A * saturationRatio(0.9), 12);
    expect(atHeaterVoltage({ ...NEW, leaks: [] })).toEqual({ ...NEW });
  });

  it('lowers current and transconductance by the blend’s closed form', () => {
    // I = a·J·(1 + x^n)^(-1/n), gm = a·gm·(1 + x^n)^(-1-1/n), x = a·J/Isat, n = 2: differentiated by hand.
    const model = modelOf('12AU7');
    const at = { plate_V: 250, grid_V: -8.5 };
    const boundless: TubeState = { ...NEW, saturation_A: Infinity };
    const full = characteristics(model, at, boundless);
    for (const area of [1, 0.6])
      for (const saturation_mA of [40, 8]) {
        const worn = characteristics(model, at, {
          ...boundless,
          area,
          saturation_A: saturation_mA * 1e-3,
        });
        const x = (area * full.plateCurrent_mA) / saturation_mA;
        expect(worn.plateCurrent_mA).toBeCloseTo(
          area * full.plateCurrent_mA * (1 + x * x) ** -0.5,
          6,
        );
        expect(worn.gm_mS / (area * full.gm_mS * (1 + x * x) ** -1.5)).toBeCloseTo(1, 5);
      }
  });
});

describe('currents of a worn tube', () => {
  const worn: TubeState = {
    area: 0.6,
    saturation_A: 0.01,
    gasRatio: 1e-4,
    gridEmission_A: 1e-6,
    contactShift_V: -0.1,
    interface_ohm: 200,
  };

  it.each(['12AX7', '6BA6', '6V6GT'])('of %s sum to nothing', (type) => {
    const model = modelOf(type);
    for (const plate of [0, 100, 250])
      for (const grid of [-5, 0, 3]) {
        const amps = model.currents({ plate, screen: 100, grid, cathode: 0 }, worn);
        expect(Math.abs(sum(amps))).toBeLessThan(1e-15);
      }
  });

  it('depend on differences of voltage only', () => {
    const model = modelOf('6BA6');
    const a = model.currents({ plate: 200, screen: 90, grid: -2, cathode: 0 }, worn);
    const b = model.currents({ plate: 320, screen: 210, grid: 118, cathode: 120 }, worn);
    expect(b.plate).toBeCloseTo(a.plate ?? NaN, 12);
    expect(b.grid).toBeCloseTo(a.grid ?? NaN, 12);
  });

  it('flow out of the grid by gas in proportion to the space current, and not below the ionisation voltage', () => {
    const model = modelOf('6BA6');
    const gas = (plate: number) => {
      const pins = { plate, screen: 100, grid: -3, cathode: 0 };
      const gassy = model.currents(pins, { ...NEW, gasRatio: 1e-4 });
      const clean = model.currents(pins, NEW);
      return ((clean.grid ?? 0) - (gassy.grid ?? 0)) / ((clean.plate ?? 0) + (clean.screen ?? 0));
    };
    expect(gas(100)).toBeCloseTo(1e-4, 8);
    expect(gas(5)).toBeLessThan(0.02e-4);
    // Cross-section of nitrogen relative to 100 eV: about 0.4 at 30 eV, 0.8 at 50 and 250 eV (from memory).
    expect(ionisation(30)).toBeGreaterThan(0.3);
    expect(ionisation(30)).toBeLessThan(0.6);
    expect(ionisation(250)).toBeCloseTo(0.83, 1);
  });

  it('through an interface layer drop R times the cathode current, and cost gm/(1 + gm·R)', () => {
    const model = modelOf('12AU7');
    const at = { plate_V: 250, grid_V: -8.5 };
    const pins = { plate: 250, grid: -8.5, cathode: 0 };
    const layered = { ...NEW, interface_ohm: 150 };
    const ik = -(model.currents(pins, layered).cathode ?? NaN);
    const behind = model.currents({ ...pins, cathode: 150 * ik }, NEW);
    expect(behind.plate).toBeCloseTo(model.currents(pins, layered).plate ?? NaN, 12);
    const c = characteristics(model, { plate_V: 250 - 150 * ik, grid_V: -8.5 - 150 * ik }, NEW);
    const expected = c.gm_mS / (1 + 0.15 * c.gm_mS * (1 + 1 / c.mu));
    expect(characteristics(model, at, layered).gm_mS).toBeCloseTo(expected, 4);
  });

  it('of the grid start where contact bias puts them: −0.5 to −1 V across 10 Mohm', () => {
    // Range of the grid-current point of indirectly heated tubes: Radiotron Designer's Handbook, 4th ed., ch. 2 (from memory).
    const model = modelOf('6AV6', 'triode');
    const balance = (grid: number) =>
      (model.currents({ plate: 100, grid, cathode: 0 }, newTubeState(model)).grid ?? NaN) +
      grid / 10e6;
    expect(balance(-1)).toBeLessThan(0);
    expect(balance(-0.5)).toBeGreaterThan(0);
  });

  it('put contact shift on space current and grid current alike', () => {
    const model: TubeModel = modelOf('12AX7');
    const shifted = model.currents(
      { plate: 150, grid: -0.6, cathode: 0 },
      { ...NEW, contactShift_V: 0.2 },
    );
    const moved = model.currents({ plate: 150, grid: -0.4, cathode: 0 }, NEW);
    expect(shifted.plate).toBeCloseTo(moved.plate ?? NaN, 12);
    expect(shifted.grid).toBeCloseTo(moved.grid ?? NaN, 12);
  });
});

describe('ohmic leaks', () => {
  it('obey Ohm’s law on both pins', () => {
    const amps = leakCurrents({ plate: 250, grid: -5, cathode: 0 }, [
      { between: ['plate', 'grid'], siemens: 1e-8 },
      { between: ['grid', 'cathode'], siemens: 1e-6 },
    ]);
    expect(amps.plate).toBeCloseTo(2.55e-6, 15);
    expect(amps.grid).toBeCloseTo(-2.55e-6 - 5e-6, 15);
    expect(amps.cathode).toBeCloseTo(5e-6, 15);
  });
});
