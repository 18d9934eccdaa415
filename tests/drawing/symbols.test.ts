import { describe, expect, test } from 'vitest';
import { layOut } from '../../src/drawing/layout.ts';
import { symbolOf } from '../../src/drawing/parts.ts';
import { blockShape, SYMBOLS } from '../../src/drawing/symbols.ts';
import { turned } from '../../src/drawing/geometry.ts';
import { toSvg } from '../../src/drawing/svg.ts';
import type { Part } from '../../src/types.ts';
import { boxesThatMeet, netsThatTouch } from './meetings.ts';
import { sheet } from './parts-on-a-sheet.ts';

const shapes = [...Object.values(SYMBOLS), blockShape([10, 12], 3)];

describe.each(shapes.map((shape) => [shape.name, shape] as const))('the symbol %s', (_, shape) => {
  test('has its pins on whole units, outside its body, each at the end of a lead', () => {
    for (const [name, { at, out }] of Object.entries(shape.pins)) {
      expect(at.every(Number.isInteger), name).toBe(true);
      expect(Math.abs(out[0]) + Math.abs(out[1]), name).toBe(1);
      const within = shape.body.filter(
        (b) => at[0] > b.left && at[0] < b.right && at[1] > b.top && at[1] < b.bottom,
      );
      expect(within, name).toEqual([]);
      if (shape.form === 'block' || name === 'tap') continue;
      const lead = shape.leads.find((l) =>
        [l.from, l.to].some((end) => end[0] === at[0] && end[1] === at[1]),
      );
      expect(lead, name).toBeDefined();
    }
  });
});

test('a quarter turn takes pin b from below to the left, and four of them back', () => {
  expect(turned([0, 6], 90)).toEqual([-6, 0]);
  expect(turned([0, 6], 180)).toEqual([0, -6]);
  expect(turned([0, 6], 270)).toEqual([6, 0]);
  expect(turned(turned(turned(turned([2, 5], 90), 90), 90), 90)).toEqual([2, 5]);
});

test('the nodes of a tube tell its family', () => {
  const symbol = (nodes: object): string =>
    symbolOf({ kind: 'tube', id: 'V1', nodes, tube: 0, at: [0, 0] } as never, undefined).shape.name;
  expect(symbol({ plate: 'p', cathode: '0' })).toBe('tubeDiode');
  expect(symbol({ plate: 'p', grid: 'g', cathode: '0' })).toBe('triode');
  expect(symbol({ plate: 'p', screen: 's', grid: 'g', cathode: '0' })).toBe('pentode');
  expect(
    symbol({ plate: 'p', screen: 's', signalGrid: 'g', oscillatorGrid: 'o', cathode: '0' }),
  ).toBe('pentagrid');
});

test('a capacitor of a microfarad or more has a positive side', () => {
  const symbol = (value: number): string =>
    symbolOf({ kind: 'capacitor', id: 'C1', nodes: ['a', '0'], value, at: [0, 0] }, undefined).shape
      .name;
  expect(symbol(25e-6)).toBe('electrolytic');
  expect(symbol(0.1e-6)).toBe('capacitor');
});

test('every electrode of a pentagrid has a pin of its own, and its drawing keeps its nets apart', () => {
  const tube: Part = {
    kind: 'tube',
    id: 'V1',
    nodes: {
      plate: 'p',
      screen: 's',
      signalGrid: 'g',
      oscillatorGrid: 'o',
      cathode: 'k',
      heater: '0',
    },
    tube: 0,
    at: [30, 20],
  };
  const drawing = layOut(sheet([tube]), {
    leak: { tube: 'V1', between: ['screen', 'signalGrid'], status: 'marginal', lines: ['leak'] },
  });
  expect(
    drawing.symbols[0]!.pins.map((pin) => pin.name).sort((a, b) => a.localeCompare(b)),
  ).toEqual(['cathode', 'oscillatorGrid', 'plate', 'screen', 'signalGrid', 'suppressor']);
  expect(netsThatTouch(drawing)).toEqual([]);
  expect(boxesThatMeet(drawing)).toEqual([]);
});

test('words of a circuit are escaped in SVG', () => {
  const block: Part = {
    kind: 'block',
    id: 'X1',
    nodes: [],
    size: [14, 6],
    title: 'a <b> & "c"',
    at: [30, 20],
  };
  const svg = toSvg(layOut(sheet([block])));
  expect(svg).toContain('a &lt;b&gt; &amp; &quot;c&quot;');
  expect(svg).not.toContain('<b>');
});
