import { expect, test } from 'vitest';
import { idRun, valueText, voltsText } from '../../src/drawing/text.ts';
import { rail, resistor } from './parts-on-a-sheet.ts';

test('an id has its number lowered', () => {
  expect(idRun('R12')).toEqual({ text: 'R', sub: '12' });
  expect(idRun('from V2')).toEqual({ text: 'from V', sub: '2' });
  expect(idRun('AGC')).toEqual({ text: 'AGC' });
});

test('a value is what the socket says, else what the circuit says, else nothing', () => {
  const part = resistor('R1', ['a', '0'], [0, 0], { edits: 'load' } as object);
  expect(valueText(part, { load: { value: 47e3 } })).toBe('47\u00a0kΩ');
  expect(valueText(part, undefined)).toBe('1\u00a0kΩ');
  const knob = resistor('R1', ['a', '0'], [0, 0], { value: { knob: 'load' } } as object);
  expect(valueText(knob, { load: { value: 1537 } })).toBe('1.537\u00a0kΩ');
  expect(valueText(knob, undefined)).toBe('');
});

test('a list of values names its unit once', () => {
  const held = { ...rail('A', 'agc'), edits: 'agc' };
  expect(valueText(held, { agc: { value: [0, -5, -12] } })).toBe('0, \u22125, \u221212\u00a0V');
  expect(valueText(held, { agc: { value: [-0.5, -12] } })).toBe(
    '\u2212500\u00a0mV, \u221212\u00a0V',
  );
});

test('volts are told in volts, with a true minus and a dash where there are none', () => {
  expect(voltsText(0.742)).toBe('0.74\u00a0V');
  expect(voltsText(-5.02)).toBe('\u22125.02\u00a0V');
  expect(voltsText(9.999)).toBe('10.0\u00a0V');
  expect(voltsText(239.4)).toBe('239\u00a0V');
  expect(voltsText(-0.001)).toBe('0.00\u00a0V');
  expect(voltsText(undefined)).toBe('—');
  expect(voltsText(NaN)).toBe('—');
});
