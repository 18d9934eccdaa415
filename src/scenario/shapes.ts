/**
 * Descriptions of what a place in a file may hold. Each description both reads (with the place and line of every
 * error) and prints itself as JSON Schema, so that the two cannot drift apart.
 */
import type { Unit } from '../types.ts';
import { parseQuantity } from '../units/quantity.ts';
import type { Check } from './check.ts';
import { describeNode, quote } from './json.ts';
import type { JsonNode, JsonValue } from './json.ts';
import { didYouMean, orList } from './near.ts';
import { ourKey, ourTerm } from './terms.ts';

export type JsonSchema = { readonly [key: string]: JsonValue };

export interface Shape<T> {
  /** The value, or undefined after a problem was noted. */
  read(node: JsonNode, place: string, check: Check): T | undefined;
  readonly schema: JsonSchema;
}

export type Read<S> = S extends Shape<infer T> ? T : never;
/** Line breaks and tabs apart. */
const CONTROL = /(?![\t\n\r])[\p{Cc}\u2028\u2029]/u;
const LINE_BREAK = /[\r\n\t]/;

/** Text of one line (or several), without control characters. */
export function text(options: { max: number; title?: string; manyLines?: boolean }): Shape<string> {
  return {
    schema: { type: 'string', maxLength: options.max, ...titled(options.title) },
    read(node, place, check) {
      const expected = `a text of at most ${options.max} characters`;
      if (node.kind !== 'text') return wrongKind(node, place, check, expected);
      if (node.value.length > options.max) {
        return check.wrong('too-large', node, place, 'the text is too long', {
          found: `${node.value.length} characters`,
          expected,
        });
      }
      const refused =
        CONTROL.test(node.value) || (options.manyLines !== true && LINE_BREAK.test(node.value));
      if (refused) {
        return check.wrong(
          'bad-value',
          node,
          place,
          'a line break or control character where none belongs',
          {
            found: describeNode(node),
            expected: options.manyLines === true ? 'printable text' : 'one line of printable text',
          },
        );
      }
      return node.value;
    },
  };
}

/** A name that is safe in file names, netlists and pages: letters, digits, space, "_", "." and "-". */
export function identifier(title: string): Shape<string> {
  return {
    schema: {
      type: 'string',
      pattern: '^[A-Za-z0-9_.-]([A-Za-z0-9 _.-]{0,62}[A-Za-z0-9_.-])?$',
      title,
    },
    read(node, place, check) {
      const expected =
        'a name of 1 to 64 letters, digits, spaces, "_", "." or "-", no space at either end';
      if (node.kind !== 'text') return wrongKind(node, place, check, expected);
      if (/^[A-Za-z0-9_.-](?:[A-Za-z0-9 _.-]{0,62}[A-Za-z0-9_.-])?$/.test(node.value))
        return node.value;
      return check.wrong('bad-value', node, place, 'not a usable name', {
        found: describeNode(node),
        expected,
      });
    },
  };
}

/** One of a few words; other terms of the trade for them are understood. */
export function word<const W extends string>(words: readonly W[], title?: string): Shape<W> {
  return {
    schema: { enum: words, ...titled(title) },
    read(node, place, check) {
      const expected = orList(words);
      if (node.kind !== 'text') return wrongKind(node, place, check, expected);
      const written = node.value;
      const found =
        words.find((known) => known === written) ?? words.find((known) => same(known, written));
      if (found !== undefined) return found;
      const hint = didYouMean(written, words);
      return check.wrong('unknown-name', node, place, `${quote(written)} is not known here`, {
        found: quote(written),
        expected,
        ...(hint === undefined ? {} : { hint }),
      });
    },
  };
}

function same(known: string, written: string): boolean {
  const plain = known.toLowerCase();
  return (
    plain === written.trim().toLowerCase() ||
    plain === ourTerm(written) ||
    known === ourKey(written.trim().replaceAll(' ', '-'))
  );
}

export function flag(title?: string): Shape<boolean> {
  return {
    schema: { type: 'boolean', ...titled(title) },
    read(node, place, check) {
      if (node.kind !== 'flag') return wrongKind(node, place, check, 'true or false');
      return node.value;
    },
  };
}

export interface Range {
  /** In the unit of a bare number. */
  readonly low: number;
  readonly high: number;
  readonly title?: string;
  /** What a bare 1 is in SI: 1e-6 for a key in microamperes. */
  readonly scale?: number;
}

const MAX_QUANTITY = 40;

/** A quantity: a bare number in the key's own unit, or a text with a unit ("470k", "4M7", "1,4 µA"). Read as the bare number. */
export function quantity(unit: Unit, range: Range): Shape<number> {
  return {
    schema: {
      ...titled(range.title),
      anyOf: [
        { type: 'number', minimum: range.low, maximum: range.high },
        { type: 'string', minLength: 1, maxLength: MAX_QUANTITY, pattern: '[0-9]' },
      ],
    },
    read(node, place, check) {
      const value = readQuantity(node, unit, range.scale ?? 1, place, check);
      return value === undefined ? undefined : inRange(value, node, unit, range, place, check);
    },
  };
}

export function readQuantity(
  node: JsonNode,
  unit: Unit,
  scale: number,
  place: string,
  check: Check,
): number | undefined {
  if (node.kind === 'number') return node.value;
  const expected = `a number${scale === 1 && unit !== '' ? ` (${unit})` : ''}, or a text with its unit`;
  if (node.kind !== 'text') return wrongKind(node, place, check, expected);
  if (node.value.length > MAX_QUANTITY || CONTROL.test(node.value) || LINE_BREAK.test(node.value)) {
    return check.wrong('bad-value', node, place, 'not a quantity', {
      found: describeNode(node),
      expected,
    });
  }
  // A text without a unit means what the bare number means.
  const bare = /^[\s\d.,+\u2212-]+(?:[eE][+-]?\d+)?\s*$/.test(node.value);
  const parsed = parseQuantity(node.value, bare ? '' : unit);
  if (parsed.ok)
    return bare || scale === 1 ? parsed.value : Number((parsed.value / scale).toPrecision(14));
  return check.wrong('bad-value', node, place, 'not a quantity', {
    found: parsed.found,
    // a bare number of minutes or megohms is what most write
    expected: scale === 1 ? parsed.expected : `a bare number, or ${parsed.expected}`,
    ...(parsed.hint === undefined ? {} : { hint: parsed.hint }),
  });
}

export function inRange(
  value: number,
  node: JsonNode,
  unit: Unit,
  { low, high, scale = 1 }: Range,
  place: string,
  check: Check,
): number | undefined {
  // The rounding of a unit conversion must not refuse the bound itself.
  const slack = 1e-12 * Math.max(Math.abs(low), Math.abs(high));
  if (value >= low - slack && value <= high + slack) return value;
  const suffix = scale === 1 && unit !== '' ? ` ${unit}` : '';
  return check.wrong('bad-value', node, place, value < low ? 'too small' : 'too large', {
    found: describeNode(node),
    expected: `${low} to ${high}${suffix}`,
  });
}

export function wrongKind(
  node: JsonNode,
  place: string,
  check: Check,
  expected: string,
): undefined {
  return check.wrong('bad-value', node, place, 'a value of the wrong kind', {
    found: describeNode(node),
    expected,
  });
}

export function titled(title: string | undefined): JsonSchema {
  return title === undefined ? {} : { title };
}
