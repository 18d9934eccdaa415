/** Numbers as SPICE writes them: an exponent or a scale letter, a unit behind it. */

const SCALES: Readonly<Record<string, number>> = {
  t: 12,
  g: 9,
  meg: 6,
  k: 3,
  '': 0,
  m: -3,
  u: -6,
  n: -9,
  p: -12,
  f: -15,
};

const UNIT_NAMES: readonly string[] = ['', 'v', 'a', 'ohm', 'ohms', 'f', 'h', 'hz', 's', 'w'];

const NUMBER = /^([+-]?(?:\d{1,20}(?:\.\d{0,20})?|\.\d{1,20}))(?:e([+-]?\d{1,3}))?([a-z]*)$/i;

export type SpiceNumber =
  | { readonly value: number }
  | { readonly expected: string; readonly hint?: string };

/**
 * Reads a number. `unit` says what it is of: a resistance of "1M" and a capacitance of "1F" are refused, for SPICE reads
 * them as a thousandth of an ohm and as a femtofarad, which nobody means.
 */
export function spiceNumber(text: string, unit: 'ohm' | 'F' | 'other' = 'other'): SpiceNumber {
  const expected = 'a number such as 470k, 1meg, 10u or 2.5e-3';
  if (/^[+-]?\d+[kKrRmM]\d+/.test(text))
    return { expected, hint: 'SPICE wants the decimal point: 4.7k, not 4k7.' };
  const parts = NUMBER.exec(text);
  if (parts === null) return { expected };
  const [, digits = '', exponent = '0', suffix = ''] = parts;
  const written = suffix.toLowerCase();
  const scale = Object.keys(SCALES)
    .sort((a, b) => b.length - a.length)
    .find((name) => written.startsWith(name) && UNIT_NAMES.includes(written.slice(name.length)));
  if (scale === undefined) return { expected };
  if (unit === 'ohm' && scale === 'm')
    return { expected, hint: 'To SPICE, M is a thousandth: write 1meg for a megohm.' };
  if (unit === 'F' && scale === 'f')
    return { expected, hint: 'To SPICE, F is 1e-15: write 1u, 10n or 100p for a capacitance.' };
  // shifting the decimal exponent keeps 4.7meg exactly 4.7e6
  const value = Number(`${digits}e${Number(exponent) + (SCALES[scale] ?? 0)}`);
  return Number.isFinite(value) ? { value: value + 0 } : { expected };
}
