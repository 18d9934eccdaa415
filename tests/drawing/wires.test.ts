import { expect, test } from 'vitest';
import { layOut } from '../../src/drawing/layout.ts';
import { boxesThatMeet, netsThatTouch, wiresThroughSymbols } from './meetings.ts';
import { rail, resistor, sheet } from './parts-on-a-sheet.ts';

test('pins that share a row are joined by one level wire without a dot', () => {
  const drawing = layOut(
    sheet([resistor('R1', ['a', '0'], [20, 10]), resistor('R2', ['a', '0'], [30, 10])]),
  );
  expect(drawing.wires).toEqual([{ node: 'a', from: [20, 10], to: [30, 10] }]);
  expect(drawing.dots).toEqual([]);
});

test('where a third end meets a wire there is a dot', () => {
  const drawing = layOut(
    sheet([
      resistor('R1', ['a', '0'], [20, 10]),
      resistor('R2', ['a', '0'], [30, 10]),
      resistor('R3', ['a', '0'], [40, 10]),
    ]),
  );
  expect(drawing.dots).toEqual([{ node: 'a', at: [30, 10] }]);
});

test('pins on both sides of a spine meet at a dot although no wire ends there', () => {
  const left = resistor('R1', ['a', '0'], [20, 14]);
  const right = resistor('R2', ['a', '0'], [40, 14]);
  const above = resistor('R3', ['0', 'a'], [30, 2]);
  const below = resistor('R4', ['a', '0'], [30, 24]);
  const drawing = layOut(sheet([left, right, above, below], { a: ['v', 30] }));
  expect(drawing.dots).toEqual([{ node: 'a', at: [30, 14] }]);
});

test('a spine that the circuit names is used, and else the column of the first pin', () => {
  const parts = [resistor('R1', ['0', 'a'], [20, 4]), resistor('R2', ['a', '0'], [30, 20])];
  const own = layOut(sheet(parts));
  expect(own.wires).toContainEqual({ node: 'a', from: [20, 10], to: [20, 20] });
  const named = layOut(sheet(parts, { a: ['h', 15] }));
  expect(named.wires).toContainEqual({ node: 'a', from: [20, 15], to: [30, 15] });
});

test('rails and chassis are never wired: each pin on one has a sign of its own', () => {
  const drawing = layOut(
    sheet([
      rail('B', 'b'),
      resistor('R1', ['b', '0'], [20, 10]),
      resistor('R2', ['b', '0'], [30, 10]),
    ]),
  );
  expect(drawing.wires).toEqual([]);
  expect(drawing.terminals.map(({ sign, at }) => `${sign} ${at.join(',')}`)).toEqual([
    'supply 20,10',
    'chassis 20,16',
    'supply 30,10',
    'chassis 30,16',
  ]);
});

test('a rail is named at each of its signs and has one value', () => {
  const drawing = layOut(
    sheet([
      rail('B', 'b'),
      resistor('R1', ['b', '0'], [20, 10]),
      resistor('R2', ['b', '0'], [30, 10]),
    ]),
  );
  expect(drawing.labels.filter((label) => label.of === 'B')).toHaveLength(2);
  expect(drawing.values.filter((value) => value.of === 'B').map((v) => v.text)).toEqual([
    '250\u00a0V',
  ]);
});

test('a part that is simulated only leaves no trace', () => {
  const shown = resistor('R1', ['a', '0'], [20, 10]);
  const hidden = resistor('R2', ['a', '0'], [30, 10], { drawn: false });
  expect(layOut(sheet([shown, hidden]))).toEqual(layOut(sheet([shown])));
});

// the checks that hold stages to their drawing must themselves find something

test('the check of nets tells of two that cross', () => {
  const drawing = layOut(
    sheet([
      resistor('R1', ['a', '0'], [20, 10]),
      resistor('R2', ['a', '0'], [40, 10]),
      resistor('R3', ['0', 'b'], [30, 1]),
      resistor('R4', ['b', '0'], [30, 20]),
    ]),
  );
  expect(netsThatTouch(drawing)).toEqual(['wire a (a) touches wire b (b)']);
});

test('the check of symbols tells of two that stand on each other, and of a wire through one', () => {
  const drawing = layOut(
    sheet([
      resistor('R1', ['a', '0'], [20, 10]),
      resistor('R2', ['c', '0'], [21, 10]),
      resistor('R3', ['d', '0'], [10, 13]),
      resistor('R4', ['d', '0'], [30, 13]),
    ]),
  );
  expect(boxesThatMeet(drawing).some((text) => /symbol R1 .* meets symbol R2/.test(text))).toBe(
    true,
  );
  expect(
    wiresThroughSymbols(drawing).some((text) => /wire d .* through symbol R1/.test(text)),
  ).toBe(true);
});
