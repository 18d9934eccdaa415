/**
 * Strict JSON (RFC 8259) with the position of every value, so that an error can name its line.
 * Text in, tree out. Beyond the standard: a byte order mark is tolerated; a key written twice in one object, a number
 * beyond the range of a double, and nesting or size that no scenario has are refused.
 */
import { Problem } from '../problem.ts';
import type { ProblemCode } from '../problem.ts';

export type JsonValue =
  | null
  | boolean
  | number
  | string
  | readonly JsonValue[]
  | { readonly [key: string]: JsonValue };

export interface JsonMember {
  readonly key: string;
  /** Offset of the key's opening quote. */
  readonly offset: number;
  readonly where?: string;
  readonly value: JsonNode;
}

export type JsonNode = { readonly offset: number; readonly where?: string } & (
  | { readonly kind: 'object'; readonly members: readonly JsonMember[] }
  | { readonly kind: 'list'; readonly items: readonly JsonNode[] }
  | { readonly kind: 'text'; readonly value: string }
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'flag'; readonly value: boolean }
  | { readonly kind: 'null' }
);

/** Characters in one file. A box of a thousand tubes takes less than one million. */
export const MAX_CHARACTERS = 8 * 1024 * 1024;
const MAX_DEPTH = 32;
const MAX_VALUES = 500_000;

/** Keys that reach an object's prototype in careless code. Refused wherever they stand. */
const FORBIDDEN_KEYS = new Set(['__proto__', 'constructor', 'prototype']);

const NUMBER = /-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?/y;
// RFC 8259, section 7: control characters have to be escaped.
// oxlint-disable-next-line no-control-regex
const PLAIN_TEXT = /[^"\\\u0000-\u001f]*/y;
const SPACE = /[ \t\r\n]*/y;
const WORD = /[A-Za-z0-9_.+-]*/y;
const ESCAPES: Readonly<Record<string, string>> = {
  '"': '"',
  '\\': '\\',
  '/': '/',
  b: '\b',
  f: '\f',
  n: '\n',
  r: '\r',
  t: '\t',
};

/** Finds lines by offset; built once a file, so that thousands of questions stay cheap. */
export class Lines {
  private readonly starts: number[] = [0];

  constructor(text: string) {
    for (let at = text.indexOf('\n'); at !== -1; at = text.indexOf('\n', at + 1))
      this.starts.push(at + 1);
  }

  /** One-based line and column of an offset. */
  at(offset: number): { line: number; column: number } {
    let low = 0;
    let high = this.starts.length;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if ((this.starts[middle] ?? 0) <= offset) low = middle;
      else high = middle;
    }
    return { line: low + 1, column: offset - (this.starts[low] ?? 0) + 1 };
  }
}

/**
 * @throws Problem `too-large` before anything is parsed; `not-json` with line, column, found and expected;
 *   `bad-value` for a forbidden key.
 */
export function parseJson(text: string, file: string): JsonNode {
  if (text.length > MAX_CHARACTERS) {
    throw new Problem('too-large', 'the file is too large', {
      file,
      found: `${Math.ceil(text.length / 1024 / 1024)} MB`,
      expected: `at most ${MAX_CHARACTERS / 1024 / 1024} MB`,
      hint: 'Is this the right file? Put the tubes into several files, or use the batch command for long lists.',
    });
  }
  return new Parser(text, file).document();
}

class Parser {
  private at: number;
  private depth = 0;
  private count = 0;

  constructor(
    private readonly text: string,
    private readonly file: string,
  ) {
    this.at = text.startsWith('\uFEFF') ? 1 : 0;
  }

  document(): JsonNode {
    this.space();
    if (this.at >= this.text.length) this.fail('the file is empty', 'a JSON object: { … }');
    const node = this.value('a JSON value');
    this.space();
    if (this.at < this.text.length) this.fail('text after the end', 'the end of the file');
    return node;
  }

  private value(expected: string): JsonNode {
    const offset = this.at;
    this.count += 1;
    if (this.count > MAX_VALUES) {
      this.fail('too many values', `at most ${MAX_VALUES} values`, 'too-large');
    }
    const first = this.text.charAt(offset);
    if (first === '{') return this.nested(() => this.object(offset));
    if (first === '[') return this.nested(() => this.list(offset));
    if (first === '"') return { offset, kind: 'text', value: this.string() };
    if (first === '-' || (first >= '0' && first <= '9')) return this.number(offset);
    if (this.take('true')) return { offset, kind: 'flag', value: true };
    if (this.take('false')) return { offset, kind: 'flag', value: false };
    if (this.take('null')) return { offset, kind: 'null' };
    return this.fail('a value is missing', expected, 'not-json', this.doubt());
  }

  private nested(read: () => JsonNode): JsonNode {
    this.depth += 1;
    if (this.depth > MAX_DEPTH) {
      this.fail('nested too deeply', `at most ${MAX_DEPTH} levels`, 'too-large');
    }
    const node = read();
    this.depth -= 1;
    return node;
  }

  private object(offset: number): JsonNode {
    const members: JsonMember[] = [];
    const seen = new Set<string>();
    this.at += 1;
    this.space();
    if (this.take('}')) return { offset, kind: 'object', members };
    for (;;) {
      const keyOffset = this.at;
      if (this.text.charAt(this.at) !== '"') {
        this.fail(
          'the object is not finished',
          members.length === 0 ? 'a key in double quotes, or }' : 'a key in double quotes',
          'not-json',
          members.length === 0 ? this.doubt() : this.afterComma(members.at(-1)!.value),
        );
      }
      const key = this.string();
      if (seen.has(key))
        this.failAt(
          keyOffset,
          `the key ${quote(key)} is written twice in one object`,
          'each key once',
        );
      if (FORBIDDEN_KEYS.has(key))
        this.failAt(keyOffset, `the key ${quote(key)} is not allowed`, 'another name', 'bad-value');
      seen.add(key);
      this.space();
      if (!this.take(':')) this.fail(`the key ${quote(key)} has no value`, ':');
      this.space();
      members.push({ key, offset: keyOffset, value: this.value(`the value of ${quote(key)}`) });
      this.space();
      if (this.take('}')) return { offset, kind: 'object', members };
      if (!this.take(','))
        this.fail('the object is not finished', ', or }', 'not-json', this.doubt());
      this.space();
    }
  }

  private list(offset: number): JsonNode {
    const items: JsonNode[] = [];
    this.at += 1;
    this.space();
    if (this.take(']')) return { offset, kind: 'list', items };
    for (;;) {
      if (items.length > 0 && this.text.charAt(this.at) === ']')
        this.fail('a value is missing', 'a value', 'not-json', this.afterComma(items.at(-1)!));
      items.push(this.value(items.length === 0 ? 'a value, or ]' : 'a value'));
      this.space();
      if (this.take(']')) return { offset, kind: 'list', items };
      if (!this.take(','))
        this.fail('the list is not finished', ', or ]', 'not-json', this.doubt());
      this.space();
    }
  }

  private string(): string {
    this.at += 1;
    let value = '';
    for (;;) {
      value += this.match(PLAIN_TEXT);
      const end = this.text.charAt(this.at);
      if (end === '"') {
        this.at += 1;
        return value;
      }
      if (end !== '\\') {
        this.fail(
          end === ''
            ? 'the text is not finished'
            : 'a line break or control character inside a text',
          end === '' ? 'a closing "' : 'a closing ", or \\n for a line break',
        );
      }
      value += this.escape();
    }
  }

  private escape(): string {
    const letter = this.text.charAt(this.at + 1);
    const plain = ESCAPES[letter];
    if (plain !== undefined) {
      this.at += 2;
      return plain;
    }
    const digits = this.text.slice(this.at + 2, this.at + 6);
    if (letter !== 'u' || !/^[0-9a-fA-F]{4}$/.test(digits)) {
      this.fail(
        'not an escape of JSON',
        '\\" \\\\ \\/ \\b \\f \\n \\r \\t or \\u and four hexadecimal digits',
      );
    }
    this.at += 6;
    return String.fromCharCode(Number.parseInt(digits, 16));
  }

  private number(offset: number): JsonNode {
    const written = this.match(NUMBER);
    const next = this.text.charAt(this.at);
    if (written === '' || /[A-Za-z0-9_.+-]/.test(next)) {
      this.failAt(
        offset,
        'not a number of JSON',
        'digits such as 470000 or 4.7e5, or a text with a unit such as "470k"',
      );
    }
    const value = Number(written);
    if (!Number.isFinite(value))
      this.failAt(offset, 'the number is too large', 'a number below 1.8e308');
    return { offset, kind: 'number', value };
  }

  private match(pattern: RegExp): string {
    pattern.lastIndex = this.at;
    const found = pattern.exec(this.text)?.[0] ?? '';
    this.at += found.length;
    return found;
  }

  private space(): void {
    this.match(SPACE);
  }

  private take(word: string): boolean {
    if (!this.text.startsWith(word, this.at)) return false;
    this.at += word.length;
    return true;
  }

  /** What a person may have meant by what stands here, where JSON has no such thing. */
  private doubt(): string | undefined {
    const next = this.text.charAt(this.at);
    if (next === '/' || next === '#') return 'JSON has no comments: take them out.';
    if ("\u201c\u201d\u201e\u00ab\u00bb\u2018\u2019'".includes(next) && next !== '')
      return 'Texts and keys stand in straight double quotes: ".';
    return undefined;
  }

  /** The same after a comma, where an object or a list should go on. */
  private afterComma(before: JsonNode): string | undefined {
    const next = this.text.charAt(this.at);
    if (next === '}' || next === ']') return `Take out the comma before ${next}.`;
    if (before.kind === 'number' && /[0-9]/.test(next))
      return 'A decimal comma? Write a point, or the number in quotes: "38,5".';
    if (next === '{')
      return 'Is a } missing before the comma? Everything after it was read as part of the object before.';
    return this.doubt();
  }

  private fail(
    message: string,
    expected: string,
    code: ProblemCode = 'not-json',
    hint?: string,
  ): never {
    return this.failAt(this.at, message, expected, code, hint);
  }

  private failAt(
    offset: number,
    message: string,
    expected: string,
    code: ProblemCode = 'not-json',
    hint?: string,
  ): never {
    const { line, column } = new Lines(this.text).at(offset);
    throw new Problem(code, message, {
      file: this.file,
      line,
      place: `column ${column}`,
      found: this.excerpt(offset),
      expected,
      ...(hint === undefined ? {} : { hint }),
    });
  }

  private excerpt(offset: number): string {
    if (offset >= this.text.length) return 'the end of the file';
    WORD.lastIndex = offset;
    const word = WORD.exec(this.text)?.[0] ?? '';
    return shown(word === '' ? this.text.slice(offset, offset + 24) : word);
  }
}

/** A text in quotes, on one line, cut to what fits a message. */
export function quote(text: string): string {
  return JSON.stringify(text.length > 60 ? `${text.slice(0, 60)}…` : text);
}

function shown(text: string): string {
  return (
    (text.length > 40 ? `${text.slice(0, 40)}…` : text).replaceAll(/\p{Cc}/gu, ' ').trim() ||
    'white space'
  );
}

/** The plain value, for keeping and for export. */
export function plainOf(node: JsonNode): JsonValue {
  switch (node.kind) {
    case 'object':
      return Object.fromEntries(node.members.map(({ key, value }) => [key, plainOf(value)]));
    case 'list':
      return node.items.map(plainOf);
    case 'null':
      return null;
    default:
      return node.value;
  }
}

/** What stands there, for "found:" in a message. */
export function describeNode(node: JsonNode): string {
  switch (node.kind) {
    case 'object':
      return 'an object { … }';
    case 'list':
      return `a list of ${node.items.length}`;
    case 'text':
      return quote(node.value);
    case 'null':
      return 'null';
    default:
      return String(node.value);
  }
}
