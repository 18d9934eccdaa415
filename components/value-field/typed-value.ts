import type { StageValue, ValueSpec } from '../../src/types.ts';
import { nextAboveE12, nextBelowE12 } from '../../src/units/e-series.ts';
import { formatQuantity } from '../../src/units/format.ts';
import { parseQuantity } from '../../src/units/quantity.ts';

/**
 * What was typed, understood or not. `value` is what goes into the file: bare numbers as numbers, others as typed; null: a
 * value that may be absent is taken away.
 */
export type Typed =
  | {
      readonly ok: true;
      readonly value: number | string | readonly number[] | null;
      readonly shown: string;
    }
  | { readonly ok: false; readonly message: string };

/** A resistance from here on stands for "none to speak of". */
const NONE_ohm = 1e12;
const NOTHING_TYPED = 'Nothing typed: what was there stays in force.';

/** A value that the stage does without unless it is given. */
export const canBeAbsent = ({ default: usual }: ValueSpec): boolean => usual === null;

export function shownValue(value: StageValue['value'], spec: ValueSpec): string {
  if (value === null) return '';
  if (typeof value === 'string') return value;
  if (typeof value !== 'number') return value.map((one) => shownNumber(one, spec)).join('; ');
  return shownNumber(value, spec);
}

function shownNumber(value: number, spec: ValueSpec): string {
  if (spec.unit === 'ohm' && value >= NONE_ohm) return 'none';
  return formatQuantity(value, spec.unit, { digits: 4 });
}

export function readTyped(typed: string, spec: ValueSpec): Typed {
  const text = typed.trim();
  if (canBeAbsent(spec) && /^(none)?$/i.test(text)) return { ok: true, value: null, shown: 'none' };
  if (spec.list === true) {
    const parts = text.split(/\s*;\s*|,\s+/).filter((part) => part !== '');
    const read = parts.map((part) => readOne(part, spec));
    const bad = read.find((one) => !one.ok);
    if (bad !== undefined) return bad;
    if (read.length === 0) return { ok: false, message: NOTHING_TYPED };
    const values = read.flatMap((one) => (one.ok && typeof one.si === 'number' ? [one.si] : []));
    return { ok: true, value: values, shown: shownValue(values, spec) };
  }
  if (spec.unit === 'ohm' && /^none$/i.test(text) && spec.high >= NONE_ohm)
    return { ok: true, value: NONE_ohm, shown: shownNumber(NONE_ohm, spec) };
  const one = readOne(text, spec);
  return one.ok
    ? { ok: true, value: one.bare ? one.si : text, shown: shownNumber(one.si, spec) }
    : one;
}

type One =
  | { readonly ok: true; readonly si: number; readonly bare: boolean }
  | { readonly ok: false; readonly message: string };

function readOne(text: string, spec: ValueSpec): One {
  const parsed = parseQuantity(text, spec.unit);
  if (!parsed.ok) {
    const hint = parsed.hint === undefined ? `Expected ${parsed.expected}.` : parsed.hint;
    return {
      ok: false,
      message: text === '' ? NOTHING_TYPED : `“${text}” is not understood. ${hint}`,
    };
  }
  if (parsed.value < spec.low || parsed.value > spec.high)
    return { ok: false, message: outside(text, parsed.value, spec) };
  return { ok: true, si: parsed.value, bare: /^[-+\u2212]?[\d.,]+(e[-+]?\d+)?$/i.test(text) };
}

function outside(text: string, value: number, spec: ValueSpec): string {
  const shown = (one: number): string => formatQuantity(one, spec.unit, { digits: 3 });
  const mega = value * 1e9;
  // milli for mega is the slip that everybody makes once
  if (/\dm/.test(text.replaceAll(' ', '')) && mega >= spec.low && mega <= spec.high)
    return `“${text}” is ${shown(value)}, a thousandth. Did you mean ${shown(mega)}?`;
  return `${shown(value)} lies outside ${shown(spec.low)} to ${shown(spec.high)}.`;
}

/** The next value of the E12 series for parts, five percent for other positive values; undefined where stepping means nothing. */
export function stepValue(
  value: StageValue['value'],
  spec: ValueSpec,
  way: 1 | -1,
): number | undefined {
  if (typeof value !== 'number' || value <= 0) return undefined;
  const parts = spec.unit === 'ohm' || spec.unit === 'F' || spec.unit === 'H';
  const next = parts
    ? way > 0
      ? nextAboveE12(value)
      : nextBelowE12(value)
    : Number((value * (way > 0 ? 1.05 : 1 / 1.05)).toPrecision(3));
  return next >= spec.low && next <= spec.high ? next : undefined;
}
