import { describe, expect, it } from 'vitest';
import { newTubeState } from '../../models/cathode.ts';
import { characteristics } from '../../models/characteristics.ts';
import { rootOfRising } from '../../models/root.ts';
import { modelOf } from './samples.ts';

/** Quiescent point and gain of a resistance-coupled triode stage, cathode bypassed: bisection, then gm·(rp ∥ loads). */
function stage(
  type: string,
  supply_V: number,
  plate_ohm: number,
  cathode_ohm: number,
  next_ohm: number,
) {
  const model = modelOf(type, 'triode');
  const state = newTubeState(model);
  let low = 0;
  let high = supply_V / (plate_ohm + cathode_ohm);
  for (let i = 0; i < 80; i += 1) {
    const amps = (low + high) / 2;
    const pins = { plate: supply_V - amps * plate_ohm, grid: 0, cathode: amps * cathode_ohm };
    if ((model.currents(pins, state).plate ?? NaN) > amps) low = amps;
    else high = amps;
  }
  const cathode_V = low * cathode_ohm;
  const c = characteristics(model, {
    plate_V: supply_V - low * plate_ohm - cathode_V,
    grid_V: -cathode_V,
  });
  const load = 1 / (1 / c.rp_ohm + 1 / plate_ohm + 1 / next_ohm);
  return { plate_mA: low * 1e3, gain: c.gm_mS * 1e-3 * load };
}

describe('stages computed from the models against published tables', () => {
  // ECC83 data handbook, operating conditions as AF amplifier, Ra 220 kohm, next grid 680 kohm (from memory).
  it.each([
    [200, 3300, 0.36, 56.5],
    [250, 2700, 0.48, 61],
    [300, 2200, 0.63, 66.5],
    [350, 1500, 0.85, 72],
    [400, 1200, 1.02, 75.5],
  ])('ECC83 at %i V with %i ohm', (supply_V, cathode_ohm, plate_mA, gain) => {
    const s = stage('ECC83', supply_V, 220e3, cathode_ohm, 680e3);
    expect(Math.abs(s.plate_mA / plate_mA - 1)).toBeLessThan(0.06);
    // Its gains are measured with signal; ours are of a vanishing one: most apart at the lowest current.
    expect(Math.abs(s.gain / gain - 1)).toBeLessThan(0.16);
  });

  // Resistance-coupled amplifier charts of the receiving tube manuals, 300 V (from memory): Rp, Rg Mohm, Rk ohm, gain, and
  // how near we come. The 6SN7GT and 6SQ7 rows are of the 1940s edition and contradict the characteristics (below).
  it.each([
    ['12AX7', 0.1, 0.1, 1300, 45, 0.05],
    ['12AX7', 0.1, 0.47, 1700, 57, 0.05],
    ['12AX7', 0.22, 0.47, 2800, 65, 0.05],
    ['12AX7', 0.47, 1, 5200, 73, 0.05],
    ['12AU7', 0.047, 0.22, 1500, 12, 0.1],
    ['12AU7', 0.1, 0.47, 4000, 12, 0.1],
    ['12AU7', 0.22, 1, 11000, 12, 0.1],
    ['6SN7GT', 0.05, 0.25, 1500, 14, 0.2],
    ['6SN7GT', 0.1, 0.5, 2700, 14, 0.2],
    ['6SN7GT', 0.25, 1, 6950, 14, 0.2],
    ['6SQ7', 0.1, 0.5, 2300, 42, 0.15],
    ['6SQ7', 0.25, 1, 4200, 56, 0.15],
    ['6SQ7', 0.5, 2, 7000, 63, 0.15],
  ])('%s with %d Mohm into %d Mohm, cathode %d ohm: gain %d', (type, rp, rg, rk, gain, within) => {
    const s = stage(type, 300, rp * 1e6, rk, rg * 1e6);
    expect(Math.abs(s.gain / gain - 1)).toBeLessThan(within);
  });
});

/**
 * No model here: a row of the characteristics alone, carried to the chart's load line by similarity of voltages (receiving tube
 * manuals, conversion factors: all voltages by F, currents by F^1.5, rp by F^−0.5, mu unchanged; from memory). The charts of the 1940s
 * edition lie below what the same books' mu and rp give, where the tube is in the very state of the row; a model that meets
 * the row cannot meet them.
 */
describe('a chart against the characteristics of the same books', () => {
  const ROWS = {
    '12AX7': { plate_V: 250, plate_A: 1.2e-3, mu: 100, rp_ohm: 62_500 },
    '12AU7': { plate_V: 250, plate_A: 10.5e-3, mu: 17, rp_ohm: 7700 },
    '6SN7GT': { plate_V: 250, plate_A: 9e-3, mu: 20, rp_ohm: 7700 },
    '6SQ7': { plate_V: 250, plate_A: 0.9e-3, mu: 100, rp_ohm: 91_000 },
  } as const;
  const scaled = (type: keyof typeof ROWS, plate_ohm: number, next_ohm: number): number => {
    const row = ROWS[type];
    const volts = rootOfRising(
      (v) => v + plate_ohm * row.plate_A * (v / row.plate_V) ** 1.5 - 300,
      1,
      300,
    );
    const rp_ohm = row.rp_ohm * (row.plate_V / volts) ** 0.5;
    const load = 1 / (1 / plate_ohm + 1 / next_ohm);
    return (row.mu * load) / (load + rp_ohm);
  };

  it.each([
    ['12AX7', 0.1, 0.1, 45, -0.1, 0],
    ['12AX7', 0.1, 0.22, 52, -0.1, 0],
    ['12AX7', 0.1, 0.47, 57, -0.1, 0],
    ['12AU7', 0.047, 0.047, 12, -0.1, 0.1],
    ['12AU7', 0.047, 0.1, 12, -0.1, 0.1],
    ['12AU7', 0.047, 0.22, 12, -0.1, 0.12],
    ['6SN7GT', 0.05, 0.05, 13, 0.07, 0.15],
    ['6SN7GT', 0.05, 0.1, 14, 0.07, 0.15],
    ['6SN7GT', 0.05, 0.25, 14, 0.07, 0.15],
    ['6SQ7', 0.1, 0.1, 31, 0.07, 0.15],
    ['6SQ7', 0.1, 0.25, 39, 0.07, 0.15],
    ['6SQ7', 0.1, 0.5, 42, 0.07, 0.15],
  ] as const)('%s with %d Mohm into %d Mohm, gain %d', (type, rp, rg, gain, low, high) => {
    const apart = scaled(type, rp * 1e6, rg * 1e6) / gain - 1;
    expect(apart).toBeGreaterThan(low);
    expect(apart).toBeLessThan(high);
  });
});

describe('worked examples', () => {
  // "Fun with Tubes", Basics 04, Example 4.1 (seen): mu 100, rp 80 kohm, 220 kohm into 470 kohm: gain 65.2.
  it('a 12AX7 at the current where its rp is 80 kohm gives the gain of the example', () => {
    const c = characteristics(modelOf('12AX7'), { plate_V: 100, grid_V: -1 });
    const load = 1 / (1 / 220e3 + 1 / 470e3);
    expect(Math.abs((c.mu * load) / (c.rp_ohm + load) / 65.2 - 1)).toBeLessThan(0.03);
  });

  // Example 4.2 of the same: gain into 3000 ohm at the handbook's point.
  it.each([
    ['12AT7', { plate_V: 250, grid_V: -2 }, 12.9],
    ['12AU7', { plate_V: 250, grid_V: -8.5 }, 4.77],
    ['12AX7', { plate_V: 100, grid_V: -1 }, 3.61],
  ])('%s into 3000 ohm', (type, at, gain) => {
    const c = characteristics(modelOf(type), at);
    expect(Math.abs((c.mu * 3000) / (c.rp_ohm + 3000) / gain - 1)).toBeLessThan(0.05);
  });

  // "Fun with Transistors", Fig. 4 eh.6 (seen): 6SL7GT, 250 V, 100 kohm, 1800 ohm: 0.93 mA read off the curves.
  it('6SL7GT on a 100 kohm load line', () => {
    const s = stage('6SL7GT', 250, 100e3, 1800, 1e9);
    expect(Math.abs(s.plate_mA / 0.93 - 1)).toBeLessThan(0.05);
  });
});

describe('amplification factor at low current', () => {
  // K. Snook, reading of a published ECC81 curve at 1.1 mA (seen): mu 52, 49, 45. Ours falls as it does, 6 to 14 % lower.
  it.each([
    [100, 52],
    [170, 49],
    [200, 45],
  ])('of an ECC81 at %i V', (plate_V, mu) => {
    const model = modelOf('ECC81');
    const at = (grid_V: number) => characteristics(model, { plate_V, grid_V });
    const grid_V = rootOfRising((grid) => at(grid).plateCurrent_mA - 1.1, -10, 0);
    expect(at(grid_V).plateCurrent_mA).toBeCloseTo(1.1, 6);
    expect(Math.abs(at(grid_V).mu / mu - 1)).toBeLessThan(0.15);
  });
});
