import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Unit } from '../../src/types.ts';
import { formatQuantity } from '../../src/units/format.ts';
import { parseBounded, parseQuantity } from '../../src/units/quantity.ts';
import { PREFIX_POWER, UNITS } from '../../src/units/symbols.ts';

const value = (text: string | number, unit: Unit): number => {
  const parsed = parseQuantity(text, unit);
  if (!parsed.ok) throw new Error(JSON.stringify(parsed));
  return parsed.value;
};
const refusal = (
  text: string | number,
  unit: Unit,
): { found: string; expected: string; hint?: string } => {
  const parsed = parseQuantity(text, unit);
  if (parsed.ok) throw new Error(`${text} was read as ${parsed.value}`);
  return parsed;
};

describe('a quantity', () => {
  const read: [string, Unit, number][] = [
    ['2.2 Mohm', 'ohm', 2.2e6],
    ['470k', 'ohm', 470e3],
    ['470K', 'ohm', 470e3],
    ['4M7', 'ohm', 4.7e6],
    ['4k7', 'ohm', 4.7e3],
    ['4k7Ω', 'ohm', 4.7e3],
    ['4.7 meg', 'ohm', 4.7e6],
    ['4.7 MEG', 'ohm', 4.7e6],
    ['4.7 megohms', 'ohm', 4.7e6],
    ['3.3 kilohm', 'ohm', 3300],
    ['4,7M', 'ohm', 4.7e6],
    ['12M', 'ohm', 12e6],
    ['270R', 'ohm', 270],
    ['4R7', 'ohm', 4.7],
    ['100 Ω', 'ohm', 100],
    ['100 \u2126', 'ohm', 100],
    ['4.7 mΩ', 'ohm', 4.7e-3],
    ['2 G', 'ohm', 2e9],
    ['1,5 µA', 'A', 1.5e-6],
    ['1,5 \u03bcA', 'A', 1.5e-6],
    ['1.5uA', 'A', 1.5e-6],
    ['40 mA', 'A', 0.04],
    ['40 ma', 'A', 0.04],
    ['250 V', 'V', 250],
    ['250v', 'V', 250],
    ['250', 'V', 250],
    ['3V3', 'V', 3.3],
    ['20 mV', 'V', 0.02],
    ['\u221212.5 V', 'V', -12.5],
    ['-12.5\u00a0V', 'V', -12.5],
    ['+6.3\u202fV', 'V', 6.3],
    ['.5 V', 'V', 0.5],
    ['5. V', 'V', 5],
    ['1e-6', 'F', 1e-6],
    ['0.05 µF', 'F', 0.05e-6],
    ['0,050 µF', 'F', 0.05e-6],
    ['50n', 'F', 50e-9],
    ['2u2', 'F', 2.2e-6],
    ['.02 mfd', 'F', 0.02e-6],
    ['465 kc', 'Hz', 465e3],
    ['1.5Mc', 'Hz', 1.5e6],
    ['60 c/s', 'Hz', 60],
    ['100 mmfd', 'F', 100e-12],
    ['10 %', '%', 10],
    ['10%', '%', 10],
    ['455 kHz', 'Hz', 455e3],
    ['455 KHZ', 'Hz', 455e3],
    ['1.6 mS', 'S', 1.6e-3],
    ['1600 µmho', 'S', 1.6e-3],
    ['1600 micromhos', 'S', 1.6e-3],
    ['30 s', 's', 30],
    ['3 ms', 's', 3e-3],
    ['6 dB', 'dB', 6],
    ['3×', '×', 3],
    ['3 x', '×', 3],
    ['1050 K', 'K', 1050],
    ['12 H', 'H', 12],
    ['4.5 watts', 'W', 4.5],
    ['7', '', 7],
  ];
  test.each(read)('%j as %s is %d', (text, unit, expected) => {
    expect(value(text, unit)).toBe(expected);
  });

  test('comes out as the number nearest to the decimals, without a rounding of its own', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 999_999 }), (n) => {
        expect(value(`${n} µA`, 'A')).toBe(Number(`${n}e-6`));
        expect(value(`${n / 1000} M`, 'ohm')).toBe(n * 1000);
      }),
      { seed: 3, numRuns: 300 },
    );
  });

  test('given as a number is taken as SI, and must be finite', () => {
    expect(value(47000, 'ohm')).toBe(47000);
    expect(refusal(NaN, 'V').found).toBe('NaN');
    expect(refusal(-Infinity, 'V').expected).toContain('a voltage');
  });

  test('with a lower-case m on a resistor is refused, since it could be meant as M', () => {
    for (const text of ['4.7m', '4.7 mohm', '4m7']) {
      expect(refusal(text, 'ohm').hint).toContain('"M" (megohm)');
    }
    expect(refusal('250 MA', 'A').hint).toContain('mA');
    expect(refusal('0.05 mf', 'F').hint).toContain('µF');
    expect(refusal('5 m', 's').hint).toContain('minutes');
  });

  test('of another unit is refused with the name of that unit', () => {
    expect(refusal('250 mA', 'V')).toEqual({
      ok: false,
      found: '"250 mA"',
      expected: 'a voltage such as "250 V"',
      hint: '"mA" is a current.',
    });
    expect(refusal('4.7 nF', 'ohm').hint).toContain('a capacitance');
    expect(refusal('3 ms', 'S').hint).toContain('a time');
    expect(refusal('3 mS', 's').hint).toContain('a conductance');
    expect(refusal('5 V', '').hint).toContain('a voltage');
    expect(refusal('10k', '%').hint).toContain('no prefix');
    expect(refusal('5 bananas', 'V').hint).toContain('bananas');
  });

  test('with thousands separators is refused, not guessed', () => {
    for (const text of [
      '1,500',
      '12,345 V',
      '1,234.5',
      '1.234,5',
      '1 500',
      '1’500',
      '1\u00a0500 V',
      '1,234,567',
    ]) {
      expect(refusal(text, 'V').hint).toMatch(/separator/);
    }
    expect(value('1.500', 'V')).toBe(1.5);
    expect(value('0,125', 'V')).toBe(0.125);
    expect(value('1,2345', 'V')).toBe(1.2345);
  });

  const absurd = [
    '',
    '   ',
    'Infinity',
    '-inf',
    'NaN',
    '∞',
    '0x10',
    '0x1F',
    '1e999',
    '1e',
    'e5',
    'k',
    'M7',
    '--5',
    '5-',
    '+',
    '.',
    ',',
    '1..2',
    '5 V\n.include x',
    '5\n',
    '\t5',
    '5\u0000',
    '5\u2028',
    '1k)',
    '{5}',
    '=5',
    '5;6',
    "'5'",
    '1k .op',
    '5 V 6 V',
    '4k7k',
    '4k7M',
    '٣',
    '５',
    '5±1',
    '1/2',
    '<5',
    '>500M',
    'B+',
    '9'.repeat(41),
  ];
  test.each(absurd)('%j is refused for every unit', (text) => {
    for (const unit of Object.keys(UNITS) as Unit[]) {
      const { found, expected } = refusal(text, unit);
      expect(found).not.toMatch(/\p{Cc}/u);
      expect(found.length).toBeLessThan(60);
      expect(expected).toContain(UNITS[unit].kind);
    }
  });

  test('no text whatever makes it throw or give a number that is not finite', () => {
    const pieces = fc.constantFrom(
      ...'0123456789.,-+ eEkKmMµuRΩVAF%x\n'.split(''),
      'ohm',
      'meg',
      '1e309',
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.array(pieces, { maxLength: 8 }).map((all) => all.join('')),
        ),
        (text) => {
          for (const unit of ['V', 'ohm', 'F', '×', ''] as const) {
            const parsed = parseQuantity(text, unit);
            if (parsed.ok) expect(Number.isFinite(parsed.value)).toBe(true);
          }
        },
      ),
      { seed: 5, numRuns: 1000 },
    );
  });

  test('printed and read again is itself, for every unit', () => {
    for (const unit of Object.keys(UNITS) as Unit[]) {
      fc.assert(
        fc.property(
          fc.double({ min: 1, max: 10, noNaN: true }),
          fc.integer({ min: -13, max: 13 }),
          fc.boolean(),
          (mantissa, power, negative) => {
            const x = (negative ? -1 : 1) * mantissa * 10 ** power;
            expect(
              Math.abs(value(formatQuantity(x, unit, { digits: 9 }), unit) / x - 1),
            ).toBeLessThan(1e-8);
          },
        ),
        { seed: 17, numRuns: 200 },
      );
    }
  });

  test('prefixes have the powers of the SI brochure', () => {
    // BIPM, The International System of Units, 9th edition, table 7.
    expect(PREFIX_POWER).toEqual({ T: 12, G: 9, M: 6, k: 3, '': 0, m: -3, µ: -6, n: -9, p: -12 });
  });
});

describe('a bounded quantity', () => {
  test('knows above, below and exact', () => {
    expect(parseBounded('>500M', 'ohm')).toEqual({ ok: true, value: 500e6, bound: 'above' });
    expect(parseBounded(' > 500 MΩ', 'ohm')).toEqual({ ok: true, value: 500e6, bound: 'above' });
    expect(parseBounded('≥500M', 'ohm')).toMatchObject({ bound: 'above' });
    expect(parseBounded('above 500M', 'ohm')).toMatchObject({ bound: 'above', value: 500e6 });
    expect(parseBounded('over 500M', 'ohm')).toMatchObject({ bound: 'above' });
    expect(parseBounded('<1 µA', 'A')).toEqual({ ok: true, value: 1e-6, bound: 'below' });
    expect(parseBounded('below 1 µA', 'A')).toMatchObject({ bound: 'below' });
    expect(parseBounded('60M', 'ohm')).toEqual({ ok: true, value: 60e6, bound: 'exact' });
    expect(parseBounded(60e6, 'ohm')).toEqual({ ok: true, value: 60e6, bound: 'exact' });
  });

  test('is refused as a whole where the quantity is', () => {
    expect(parseBounded('>4.7m', 'ohm')).toMatchObject({ ok: false, found: '">4.7m"' });
    expect(parseBounded('>', 'ohm')).toMatchObject({ ok: false });
    expect(parseBounded('>>5M', 'ohm')).toMatchObject({ ok: false });
    expect(parseBounded('>\n5M', 'ohm')).toMatchObject({ ok: false });
    expect(parseBounded(Infinity, 'ohm')).toMatchObject({ ok: false });
  });
});
