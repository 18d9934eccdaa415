import { expect, test } from 'vitest';
import { lineMeets } from '../../src/drawing/geometry.ts';
import { layOut } from '../../src/drawing/layout.ts';
import { wayToRail } from '../../src/drawing/leak.ts';
import type { Electrode } from '../../src/types.ts';
import { VARIANTS } from './variants.ts';

const drawn = (name: string) => {
  const variant = VARIANTS.find((v) => v.name === name);
  if (variant === undefined) throw new Error(`no variant ${name}`);
  return variant;
};

test('the way to a rail is the one of least resistance', () => {
  const conductors = [
    { part: 'R1', nodes: ['g', 'b'], ohms: 1e12 },
    { part: 'R2', nodes: ['g', 'x'], ohms: 1e6 },
    { part: 'R3', nodes: ['0', 'x'], ohms: 1e6 },
  ] as const;
  const way = (rails: readonly string[]): string[] =>
    wayToRail('g', conductors, new Set(rails)).map((c) => c.part);
  expect(way(['b', '0'])).toEqual(['R2', 'R3']);
  expect(way(['b'])).toEqual(['R1']);
  expect(way(['nowhere'])).toEqual([]);
  expect(wayToRail('0', conductors, new Set(['0']))).toEqual([]);
});

test('on the AGC line the wash runs from the grid through the coil and the line resistor to its source', () => {
  const { leak, terminals } = drawn('agc-if-amplifier pentode').drawing;
  expect(leak?.through).toEqual(['T1', 'R1']);
  // of screen and grid the grid is the lower one
  expect(leak?.wash[0]).toEqual(leak?.to);
  expect(leak?.wash.at(-1)).toEqual(terminals.find((t) => t.node === 'agc')?.at);
});

test('in a resistance-coupled stage the wash runs through the grid resistor to chassis', () => {
  for (const family of ['triode', 'pentode'])
    expect(drawn(`rc-amplifier ${family}`).drawing.leak?.through).toEqual(['R3']);
});

test('a coupling capacitor that leaks more than the grid resistor carries the current', () => {
  const { drawing } = drawn('rc-amplifier triode couplingLeakage 10000');
  expect(drawing.leak?.through).toEqual(['R2']);
});

test('a leak from heater to cathode washes the cathode resistor', () => {
  expect(drawn('rc-amplifier triode leak heater to cathode').drawing.leak?.through).toEqual(['R5']);
});

test('the arrowheads point the way of the current: from the electrode at the higher voltage', () => {
  const { circuit, options, drawing } = drawn('agc-if-amplifier pentode');
  const turnsFrom = (from: Electrode): string[] =>
    layOut(circuit, { ...options, leak: { ...options.leak!, from } })
      .leak!.arrows.map(({ turn }) => String(turn))
      .toSorted();
  const away = turnsFrom('screen');
  expect(away.length).toBeGreaterThan(0);
  expect(away).toEqual(drawing.leak!.arrows.map(({ turn }) => String(turn)).toSorted());
  const back = away.map((turn) => String((Number(turn) + 180) % 360)).toSorted();
  expect(turnsFrom('grid')).toEqual(back);
  expect(back).not.toEqual(away);
});

test('every wash is a line of level and upright pieces', () => {
  for (const { name, drawing } of VARIANTS) {
    const points = drawing.leak?.wash ?? [];
    for (const [i, [x, y]] of points.slice(1).entries()) {
      const [px, py] = points[i]!;
      expect(x === px || y === py, `${name}: (${px}, ${py}) to (${x}, ${y})`).toBe(true);
    }
  }
});

test('both ends of a leak lie on its two electrodes', () => {
  for (const { drawing } of VARIANTS) {
    const { leak } = drawing;
    if (leak === null) continue;
    const tube = drawing.symbols.find((symbol) => symbol.part === leak.tube)!;
    const heights = leak.between.map(
      (electrode) => tube.at[1] + tube.shape.electrodes[electrode]!.y,
    );
    expect([leak.from[1], leak.to[1]]).toEqual([Math.min(...heights), Math.max(...heights)]);
    expect(leak.from[0]).toBe(leak.to[0]);
  }
});

test('no leak is drawn for an electrode that the tube does not have, or a tube that is not there', () => {
  const { circuit } = drawn('rc-amplifier triode');
  const leak = (tube: string, between: readonly [Electrode, Electrode]) =>
    layOut(circuit, { leak: { tube, between, status: 'usable', lines: ['leak'] } });
  expect(leak('V1', ['screen', 'grid']).leak).toBeNull();
  expect(leak('V9', ['plate', 'grid']).leak).toBeNull();
  expect(leak('V1', ['screen', 'grid'])).toEqual(layOut(circuit, {}));
});

test('no leader to the words of a leak passes through other words', () => {
  const through = VARIANTS.flatMap(({ name, drawing }) => {
    const { leader } = drawing.leak ?? {};
    if (leader === undefined || leader === null) return [];
    return [...drawing.labels, ...drawing.values]
      .filter(({ box }) => lineMeets(leader, box))
      .map((label) => `${name}: ${label.of}`);
  });
  expect(through).toEqual([]);
});
