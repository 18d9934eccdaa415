/** Prints quantities: engineering prefixes, a true minus, a no-break space before the unit. */
import type { Unit } from '../types.ts';
import { PREFIX_POWER, SUPERSCRIPTS, UNITS } from './symbols.ts';
import type { Prefix } from './symbols.ts';

/** Stands where there is no number. */
const NOTHING = '—';
const NO_BREAK = '\u00a0';
/** Smaller numbers without a unit are written as powers of ten. */
const AS_POWER = 1e-4;

/**
 * "2.2 MΩ", "−5.8 V", "10 %", "3×". `digits` are significant ones (default 3); zeros that end a fraction are left out.
 * NaN prints as a dash, infinity as "∞" with its unit.
 */
export function formatQuantity(
  value: number,
  unit: Unit,
  { digits = 3 }: { readonly digits?: number } = {},
): string {
  if (Number.isNaN(value)) return NOTHING;
  if (!Number.isFinite(value)) return withUnit(value < 0 ? '\u2212∞' : '∞', '', unit);
  const rounded = Number(value.toPrecision(digits));
  const prefix = prefixFor(rounded, unit);
  if (unit === '' && rounded !== 0 && Math.abs(rounded) < AS_POWER) return asPower(rounded);
  return withUnit(numeral(Number(shift(rounded, prefix).toPrecision(digits))), prefix, unit);
}

/**
 * "−6.1 … −5.4 V": both ends rounded alike, to two digits of the interval's width. Ends decades apart are printed each with
 * its own prefix. An end that is infinite gives "above …" or "below …"; NaN, or no end at all, gives a dash.
 * @throws RangeError when low > high.
 */
export function formatInterval(low: number, high: number, unit: Unit): string {
  if (Number.isNaN(low) || Number.isNaN(high)) return NOTHING;
  if (low > high) throw new RangeError(`Interval ${low} … ${high}: low end above high end.`);
  if (low === high) return formatQuantity(low, unit);
  if (low === -Infinity && high === Infinity) return NOTHING;
  if (high === Infinity) return `above${NO_BREAK}${formatQuantity(low, unit)}`;
  if (low === -Infinity) return `below${NO_BREAK}${formatQuantity(high, unit)}`;
  const ends = [Math.abs(low), Math.abs(high)] as const;
  const [small, large] = [Math.min(...ends), Math.max(...ends)];
  const farApart = low * high > 0 && large > 10 * small;
  // Where the width itself leaves the range of floating-point numbers, nothing can be rounded to it.
  if (farApart || high - low > 1e200 || high - low < 1e-200) {
    return join(
      formatQuantity(low, unit, { digits: 2 }),
      formatQuantity(high, unit, { digits: 2 }),
    );
  }
  const prefix = prefixFor(Number(large.toPrecision(3)), unit);
  const power = Math.floor(Math.log10(shift(high - low, prefix))) - 1;
  const [from, to] = [low, high].map((end) => numeral(roundTo(shift(end, prefix), power))) as [
    string,
    string,
  ];
  return from === to ? withUnit(from, prefix, unit) : withUnit(join(from, to), prefix, unit);
}

/**
 * Two values that are told beside each other, "10.2 V" and "9.6 V": rounded alike, to two digits of what they differ by, so
 * that they never read the same; of values far apart, to two digits of the larger.
 */
export function formatBeside(one: number, other: number, unit: Unit): readonly [string, string] {
  const apart = Math.min(Math.abs(one - other), Math.max(Math.abs(one), Math.abs(other)));
  if (!(apart > 1e-200 && apart < 1e200))
    return [formatQuantity(one, unit), formatQuantity(other, unit)];
  const power = Math.floor(Math.log10(apart)) - 1;
  const told = (value: number): string =>
    formatQuantity(roundTo(value, power), unit, { digits: 15 });
  return [told(one), told(other)];
}

const join = (from: string, to: string): string => `${from}${NO_BREAK}…${NO_BREAK}${to}`;

/** The largest prefix that leaves at least 1 before the point; the smallest of the unit for anything smaller. */
function prefixFor(value: number, unit: Unit): Prefix {
  const { prefixes } = UNITS[unit];
  if (value === 0 || prefixes.length === 0) return '';
  // A rounding error of the shift must not turn 1 k into 1000.
  const fits = prefixes.find((prefix) => Math.abs(shift(value, prefix)) >= 1 - 1e-12);
  return fits ?? (prefixes[prefixes.length - 1] as Prefix);
}

/** By division or multiplication with an exact power of ten, so that 0.0047 becomes 4.7 and not 4.699…. */
function shift(value: number, prefix: Prefix): number {
  const power = PREFIX_POWER[prefix];
  return power >= 0 ? value / 10 ** power : value * 10 ** -power;
}

function roundTo(value: number, power: number): number {
  const size = Math.abs(value);
  if (size === 0) return 0;
  // Digits from the leading one down to `power`; none left means that the end rounds to 0 or to one step.
  const digits = Math.floor(Math.log10(size)) - power + 1;
  if (digits >= 1) return Number(value.toPrecision(Math.min(digits, 17)));
  return Math.round(value / 10 ** power) * 10 ** power;
}

function numeral(value: number): string {
  return value === 0 ? '0' : String(value).replaceAll('-', '\u2212');
}

/** "4.7×10⁻⁶", for numbers that no prefix makes larger. */
function asPower(value: number): string {
  const [mantissa = '', power = ''] = value.toExponential().split('e-');
  const raised = power.replaceAll(/\d/g, (digit) => SUPERSCRIPTS[Number(digit)] ?? '');
  return `${mantissa.replace('-', '\u2212')}\u00d710\u207b${raised}`;
}

/** A number and its unit with an ordinary space between them. */
const NUMBER_AND_UNIT = /(\d) (?=(?:%|[GMTkmµnp]?(?:Ω|A|V|W|F|H|Hz|dB))(?![\p{L}\d]))/gu;

/** A text in which every figure stays with its unit. */
export const unbroken = (text: string): string => text.replaceAll(NUMBER_AND_UNIT, `$1${NO_BREAK}`);

function withUnit(number: string, prefix: Prefix, unit: Unit): string {
  const { symbol } = UNITS[unit];
  if (symbol === '') return number;
  return symbol === '×' ? `${number}×` : `${number}${NO_BREAK}${prefix}${symbol}`;
}
