/** Reads quantities as people write them: "2.2 Mohm", "4k7", "1,5 µA". SI comes out, or what was wrong with the text. */
import type { Unit } from '../types.ts';
import { otherUnit, readSuffix } from './suffix.ts';
import { PREFIX_SPELLINGS, SUPERSCRIPTS, UNITS } from './symbols.ts';

export interface NotAQuantity {
  readonly ok: false;
  /** What stood there, quoted. */
  readonly found: string;
  readonly expected: string;
  readonly hint?: string;
}

export type Parsed = { readonly ok: true; readonly value: number } | NotAQuantity;

export type ParsedBounded =
  | {
      readonly ok: true;
      readonly value: number;
      /** `above`: the quantity is larger than `value` (">500M"). */
      readonly bound: 'above' | 'below' | 'exact';
    }
  | NotAQuantity;

const LONGEST = 40;
/** No-break, thin and narrow no-break spaces, which copied text has between number and unit. */
const SPACES = /[\u00a0\u2007\u2009\u202f]/g;
const CONTROL = /\p{Cc}|[\u2028\u2029]/u;
const PLAIN = /^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?) *(.*)$/;
const PREFIX_LETTERS = new Set(
  Object.values(PREFIX_SPELLINGS)
    .flat()
    .filter((text) => text.length === 1),
);
/** IEC 60062: the letter stands where the decimal mark would. */
const LETTER_CODE = /^([+-]?\d+)(\p{L})(\d+) *(.*)$/u;

/** "×10⁻⁵", as `formatQuantity` writes small numbers without a unit. */
const POWER = /\s?×\s?10([⁻⁰¹²³⁴-⁹]+)/;
const unraised = (raised: string): string =>
  raised.replaceAll(/./g, (sign) => (sign === '⁻' ? '-' : String(SUPERSCRIPTS.indexOf(sign))));

/**
 * Reads a quantity of a unit. A number is taken as SI (percent and decibel as themselves). Refused, with a hint where one helps:
 * another unit, a lower-case "m" on a resistor, thousands separators, what is not finite, more than one line, anything else.
 */
export function parseQuantity(text: string | number, unit: Unit): Parsed {
  if (typeof text === 'number') {
    return Number.isFinite(text)
      ? { ok: true, value: text }
      : refuse(text, unit, 'A finite number is needed.');
  }
  if (text.length > LONGEST)
    return refuse(text, unit, `A quantity has at most ${LONGEST} characters.`);
  if (CONTROL.test(text))
    return refuse(text, unit, 'It holds a line break or a control character.');
  const written = text
    .replace(SPACES, ' ')
    .replaceAll('\u2212', '-')
    .replace(POWER, (_, raised: string) => `e${unraised(raised)}`)
    .trim();
  if (written === '') return refuse(text, unit);
  const separator = separatorDoubt(written);
  if (separator !== undefined) return refuse(text, unit, separator);
  const read = split(written, unit);
  if (read === undefined) return refuse(text, unit);
  const suffix = readSuffix(read.suffix, unit);
  if (suffix === undefined) return refuse(text, unit, unitHint(read.suffix, unit));
  if ('doubt' in suffix) return refuse(text, unit, suffix.doubt);
  const value = Number(shifted(read.digits, suffix.power));
  // Adding 0 turns −0 into 0.
  return Number.isFinite(value)
    ? { ok: true, value: value + 0 }
    : refuse(text, unit, 'It is too large for a number.');
}

/** As `parseQuantity`, with ">", "≥", "above" or "over", and "<", "≤", "below" or "under" in front allowed. */
export function parseBounded(text: string | number, unit: Unit): ParsedBounded {
  const sign =
    typeof text === 'string'
      ? /^\s*(>=?|≥|above\b|over\b|<=?|≤|below\b|under\b)/i.exec(text)
      : null;
  if (typeof text === 'number' || sign === null) {
    const parsed = parseQuantity(text, unit);
    return parsed.ok ? { ...parsed, bound: 'exact' } : parsed;
  }
  const parsed = parseQuantity(text.slice(sign[0].length), unit);
  if (!parsed.ok) return { ...parsed, found: quote(text) };
  return { ...parsed, bound: /^[>≥ao]/i.test(sign[1] as string) ? 'above' : 'below' };
}

/** Digits with a decimal point, and what follows them. */
function split(written: string, unit: Unit): { digits: string; suffix: string } | undefined {
  const coded = LETTER_CODE.exec(written);
  if (coded !== null) {
    const [, whole, letter, decimals, rest] = coded as unknown as [
      string,
      string,
      string,
      string,
      string,
    ];
    const own = letter.toLowerCase() === (unit === 'ohm' ? 'r' : UNITS[unit].symbol.toLowerCase());
    if (!own && !PREFIX_LETTERS.has(letter)) return plainOf(written);
    // "4k7Ω" names the unit after the digits; "3V3" and "4R7" name it between them and nowhere else.
    if (own && rest !== '') return undefined;
    return {
      digits: `${whole}.${decimals}`,
      suffix: own ? '' : `${letter}${rest.replaceAll(' ', '')}`,
    };
  }
  return plainOf(written);
}

function plainOf(written: string): { digits: string; suffix: string } | undefined {
  const plain = PLAIN.exec(written);
  if (plain === null) return undefined;
  return {
    digits: (plain[1] as string).replace(',', '.'),
    suffix: (plain[2] as string).replaceAll(' ', ''),
  };
}

/** Moves the decimal point in the text, so that "4.7 M" is exactly the number 4.7e6. */
function shifted(digits: string, power: number): string {
  const [mantissa = '', exponent = '0'] = digits.toLowerCase().split('e');
  return `${mantissa}e${Number(exponent) + power}`;
}

function separatorDoubt(written: string): string | undefined {
  const grouped = /\d[ '’_]\d/.test(written) || /\d[.,]\d+[.,]\d/.test(written);
  if (grouped) return 'Write it without thousands separators.';
  // "0,125" can only be a decimal; "1,500" can be read both ways.
  const thousands = /^[+-]?([1-9]\d{0,2}),\d{3}(?!\d)/.exec(written);
  if (thousands === null) return undefined;
  return 'The comma could be a decimal mark or a thousands separator: write a decimal point, or no separator.';
}

function unitHint(suffix: string, unit: Unit): string | undefined {
  if (/^[x]/i.test(suffix) && unit !== '×') return 'Write a decimal number.';
  const other = otherUnit(suffix, unit);
  return other === undefined
    ? `"${suffix}" is not known as a unit here.`
    : `"${suffix}" is ${UNITS[other].kind}.`;
}

function refuse(text: string | number, unit: Unit, hint?: string): NotAQuantity {
  const { kind, example } = UNITS[unit];
  const found =
    typeof text === 'number' ? String(text) : text.trim() === '' ? 'nothing' : quote(text);
  return {
    ok: false,
    found,
    expected: `${kind} such as "${example}"`,
    ...(hint === undefined ? {} : { hint }),
  };
}

function quote(text: string): string {
  const short = text.length > LONGEST ? `${text.slice(0, LONGEST)}…` : text;
  // JSON's escapes keep line breaks and control characters out of the message.
  return JSON.stringify(short);
}
