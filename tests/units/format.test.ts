import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Unit } from '../../src/types.ts';
import { formatBeside, formatInterval, formatQuantity } from '../../src/units/format.ts';
import { parseQuantity } from '../../src/units/quantity.ts';

/** Ordinary spaces, so that the expectations below can be read. */
const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('printing a quantity', () => {
  const printed: [number, Unit, number, string][] = [
    [2.2e6, 'ohm', 3, '2.2 MΩ'],
    [470e3, 'ohm', 2, '470 kΩ'],
    [1.4e-6, 'A', 2, '1.4 µA'],
    [-5.8, 'V', 2, '−5.8 V'],
    [-5.849, 'V', 3, '−5.85 V'],
    [0.0047, 'ohm', 3, '4.7 mΩ'],
    [999.96, 'V', 4, '1 kV'],
    [999_950, 'ohm', 3, '1 MΩ'],
    [1000, 'Hz', 3, '1 kHz'],
    [455e3, 'Hz', 3, '455 kHz'],
    [0, 'A', 3, '0 A'],
    [-0, 'V', 3, '0 V'],
    [-1e-30, 'V', 3, '−1e−21 nV'],
    [4.7e-6, '', 2, '4.7×10⁻⁶'],
    [0.00012, '', 2, '0.00012'],
    [4e-13, 'F', 2, '0.4 pF'],
    [10, '%', 3, '10 %'],
    [12_345, '%', 3, '12300 %'],
    [-3.04, 'dB', 2, '−3 dB'],
    [4.25, '×', 3, '4.25×'],
    [0.5, '', 2, '0.5'],
    [5e12, 'A', 2, '5000000000 kA'],
  ];
  test.each(printed)('%d in %s to %d digits is %4$s', (value, unit, digits, expected) => {
    expect(plain(formatQuantity(value, unit, { digits }))).toBe(expected);
  });

  test('has a no-break space and a true minus', () => {
    expect(formatQuantity(-5.8, 'V')).toBe('\u22125.8\u00a0V');
  });

  test('what is no number is a dash, what has no end is infinite', () => {
    expect(formatQuantity(NaN, 'V')).toBe('—');
    expect(plain(formatQuantity(-Infinity, 'V'))).toBe('−∞ V');
  });

  test('is within half a unit of the last digit that was asked for', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-9, max: 1e9, noNaN: true }),
        fc.integer({ min: 1, max: 6 }),
        (value, digits) => {
          const parsed = parseQuantity(formatQuantity(value, 'ohm', { digits }), 'ohm');
          expect(parsed.ok && Math.abs(parsed.value / value - 1)).toBeLessThanOrEqual(
            0.5 * 10 ** (1 - digits) * (1 + 1e-9),
          );
        },
      ),
      { seed: 23, numRuns: 500 },
    );
  });
});

describe('printing an interval', () => {
  const intervals: [number, number, Unit, string][] = [
    [-6.0812, -5.4377, 'V', '−6.08 … −5.44 V'],
    [-6.4, -1.9, 'V', '−6.4 … −1.9 V'],
    [-0.04, 5.2, 'V', '0 … 5.2 V'],
    [1.23e6, 4.56e6, 'ohm', '1.2 … 4.6 MΩ'],
    [60e6, 3e9, 'ohm', '60 MΩ … 3 GΩ'],
    [0, 2.34e-6, 'A', '0 … 2.3 µA'],
    [81.2, 118.9, '%', '81 … 119 %'],
    [0.9996e-3, 1.0003e-3, 'A', '0.9996 … 1.0003 mA'],
    [950, 1050, 'V', '0.95 … 1.05 kV'],
    [2, 2, 'V', '2 V'],
    [500e6, Infinity, 'ohm', 'above 500 MΩ'],
    [-Infinity, 3, 'V', 'below 3 V'],
    [-Infinity, Infinity, 'V', '—'],
    [NaN, 3, 'V', '—'],
    [1.5, 2.5, '×', '1.5 … 2.5×'],
  ];
  test.each(intervals)('%d to %d in %s is %4$s', (low, high, unit, expected) => {
    expect(plain(formatInterval(low, high, unit))).toBe(expected);
  });

  test('turned round is a mistake of the caller', () => {
    expect(() => formatInterval(2, 1, 'V')).toThrow(RangeError);
  });

  test('never throws nor prints a hyphen or a negative zero, whatever the ends', () => {
    const end = fc.double({ noNaN: true });
    fc.assert(
      fc.property(end, end, (a, b) => {
        const text = formatInterval(Math.min(a, b), Math.max(a, b), 'V');
        expect(text).not.toMatch(/-|NaN|\u22120(?![.\d])/);
      }),
      { seed: 29, numRuns: 1000 },
    );
  });
});

describe('two values beside each other', () => {
  test.each([
    [10.2, 9.6, '10.2 V', '9.6 V'],
    [10.02, 9.98, '10.02 V', '9.98 V'],
    [-1.9312, -5.8244, '−1.9 V', '−5.8 V'],
    [-12.34, 90.4, '−12 V', '90 V'],
    [9.87, 0.00002, '9.9 V', '0 V'],
    [0.516, -0.034, '520 mV', '−30 mV'],
    [250, 250, '250 V', '250 V'],
  ])('%d and %d volts are %s and %s', (one, other, first, second) => {
    expect(formatBeside(one, other, 'V').map(plain)).toEqual([first, second]);
  });

  test('never read the same where they differ, and lie within a tenth of the difference of what they are', () => {
    const volts = fc.double({ min: -1e3, max: 1e3, noNaN: true });
    fc.assert(
      fc.property(volts, volts, (one, other) => {
        fc.pre(Math.abs(one - other) > 1e-3);
        const told = formatBeside(one, other, 'V');
        expect(told[0]).not.toBe(told[1]);
        for (const [i, value] of [one, other].entries()) {
          const back = parseQuantity(told[i]!, 'V');
          expect(back.ok && Math.abs(back.value - value)).toBeLessThanOrEqual(
            0.1 * Math.abs(one - other),
          );
        }
      }),
    );
  });
});
