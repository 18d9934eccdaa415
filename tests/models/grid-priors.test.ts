import { describe, expect, it } from 'vitest';
import { allDevices } from '../../models/catalogue.ts';
import { gridElectrons_mA } from '../../models/grid.ts';
import { rootOfRising } from '../../models/root.ts';
import { cathodeAndGrid } from '../../models/tube.ts';

/**
 * Grid current is a prior: published are only its onset and what a grid leak makes of it. Radiotron Designer's Handbook, 4th ed.,
 * ch. 2: onset at −0.5 to −1 V for indirectly heated tubes; European data handbooks: 0.3 µA no further out than −1.3 V (ECC83 −0.9 V);
 * contact bias through 10 Mohm −0.3 to −1 V (common practice, no source). All from memory.
 */
const units = allDevices().flatMap((device) =>
  device.units
    .filter(({ family }) => family !== 'diode')
    .map((unit) => ({ name: `${device.id} ${unit.id}`, device, unit })),
);

describe('the grid law of every type', () => {
  it.each(units)('$name is recorded with its spread and source', ({ unit }) => {
    expect(unit.grid?.source).toMatch(/prior/);
    expect(unit.grid?.source).toMatch(/Handbook/);
    expect(unit.grid?.vcSpread_V).toBeGreaterThan(0.1);
    expect(unit.grid?.vcSpread_V).toBeLessThan(0.35);
  });

  it.each(units)('$name starts where handbooks say grids start', ({ device, unit }) => {
    const p = cathodeAndGrid(unit);
    const onset = rootOfRising((grid) => gridElectrons_mA(grid, 100, p) - 0.3e-3, -5, 2);
    expect(onset).toBeGreaterThan(-1);
    expect(onset).toBeLessThan(-0.5);
    // Two and a half of its standard deviations stay inside the published limit.
    const limit = device.id === '12AX7' ? -0.9 : -1.3;
    expect(onset - 2.5 * (unit.grid?.vcSpread_V ?? NaN)).toBeGreaterThan(limit);
    const bias = rootOfRising((grid) => gridElectrons_mA(grid, 100, p) + grid / 10e6 / 1e-3, -5, 2);
    expect(bias).toBeGreaterThan(-1);
    expect(bias).toBeLessThan(-0.5);
  });
});
