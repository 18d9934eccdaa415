import { formatQuantity } from '../units/format.ts';
import type { Part } from '../types.ts';
import type { Anchor, DrawingOptions, TextRun } from './drawing.ts';
import { box, type Box, type Point } from './geometry.ts';
import { numbersOf, unitOf } from './parts.ts';

/**
 * How much room text takes. Fonts differ between machines, so widths are those of a wide plain face: a digit is 0.6 of
 * the size. At scale 1 a unit is 10 px: a value is set in 12.5 px, an id in 14 px.
 */

/** Width of a digit of a value, u. */
export const DIGIT_u = 0.75;
const VALUE_ABOVE_u = 0.95;
const VALUE_BELOW_u = 0.85;
const ID_LETTER_u = 1;
const ID_SUB_u = 0.65;
const NAME_CAPITAL_u = 0.85;
const NAME_LETTER_u = 0.63;

/** Id and type, and a value beside its id: from middle line to middle line. */
export const LINE_u = 1.85;

export const runWidth = ({ text, sub }: TextRun, letter: number): number =>
  text.length * letter + (sub?.length ?? 0) * ID_SUB_u;

/** "R12" as R with a lowered 12, "from V2" likewise; without a number at its end a text stays whole. */
export function idRun(id: string): TextRun {
  const parts = /^(\D+)(\d+)$/.exec(id);
  return parts === null ? { text: id } : { text: parts[1]!, sub: parts[2]! };
}

export const idWidth = (run: TextRun): number => runWidth(run, ID_LETTER_u);
export function nameWidth(text: string): number {
  const capitals = text.match(/[A-Z+−]/g)?.length ?? 0;
  return runWidth(idRun(text), NAME_LETTER_u) + capitals * (NAME_CAPITAL_u - NAME_LETTER_u);
}
/** Width of a value's field in digits: its text and room for one more. */
export const fieldWidth_ch = (text: string): number => Math.max(4, text.length + 0.8);
export const fieldWidth = (text: string): number => fieldWidth_ch(text) * DIGIT_u;

/** Box of text about its middle line. */
export function textBox([x, y]: Point, width: number, anchor: Anchor): Box {
  const left = anchor === 'start' ? x : anchor === 'end' ? x - width : x - width / 2;
  return box(left, y - VALUE_ABOVE_u, left + width, y + VALUE_BELOW_u);
}

/** The value as it stands beside its part; empty where the part has none. */
export function valueText(part: Part, values: DrawingOptions['values']): string {
  const numbers = numbersOf(part, values);
  const unit = unitOf(part);
  if (numbers.length === 0) return '';
  const texts = numbers.map((number) => formatQuantity(number, unit, { digits: 4 }));
  const shared = texts.map((text) => /^(\S+)(\s\S+)$/u.exec(text));
  const end = shared[0]?.[2];
  // "0, −5, −12 V": the unit once, where all have the same
  return end !== undefined && shared.every((match) => match?.[2] === end || match?.[1] === '0')
    ? `${shared.map((match) => match?.[1]).join(', ')}${shared.at(-1)?.[2] ?? end}`
    : texts.join(', ');
}

/** A voltage as a meter at the chassis shows it: always in volts below a kilovolt. A dash where it is not known. */
export function voltsText(volts: number | undefined): string {
  if (volts === undefined || !Number.isFinite(volts) || Math.abs(volts) >= 999.5)
    return formatQuantity(volts ?? NaN, 'V', { digits: 3 });
  const size = Math.abs(volts);
  const digits = size >= 99.95 ? 0 : size >= 9.995 ? 1 : 2;
  const text = volts.toFixed(digits).replace('-', '\u2212');
  return `${/[1-9]/.test(text) ? text : text.replace('\u2212', '')}\u00a0V`;
}
