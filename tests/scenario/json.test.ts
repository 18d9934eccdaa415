import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Problem } from '../../src/problem.ts';
import { Lines, parseJson, plainOf } from '../../src/scenario/json.ts';
import type { JsonValue } from '../../src/scenario/json.ts';
import { writeJson } from '../../src/scenario/write.ts';

function fieldsOf(text: string): Problem['fields'] & { code: string; message: string } {
  try {
    parseJson(text, 'a.json');
  } catch (error) {
    expect(error).toBeInstanceOf(Problem);
    const { fields, code, message } = error as Problem;
    return { ...fields, code, message };
  }
  throw new Error('parsed');
}

describe('strict JSON', () => {
  it("agrees with the platform's parser on anything that it prints", () => {
    fc.assert(
      fc.property(fc.jsonValue(), fc.constantFrom(undefined, 2, '\t'), (value, indent) => {
        const text = JSON.stringify(value, null, indent);
        if (/"(?:__proto__|constructor|prototype)":/.test(text)) return;
        expect(plainOf(parseJson(text, 'a'))).toEqual(JSON.parse(text));
      }),
      { seed: 1, numRuns: 500 },
    );
  });

  it("refuses whatever the platform's parser refuses, and nothing else", () => {
    const bits = fc.constantFrom(
      '{',
      '}',
      '[',
      ']',
      ':',
      ',',
      '"a"',
      '"b"',
      '1',
      '-0.5e3',
      '01',
      '1.',
      'true',
      'nul',
      'null',
      '"',
      ' ',
      '\n',
      '\\',
      '+1',
      "'",
      '//',
      'NaN',
    );
    fc.assert(
      fc.property(fc.array(bits, { maxLength: 9 }), (pieces) => {
        const text = pieces.join('');
        let theirs: unknown;
        let good = true;
        try {
          theirs = JSON.parse(text);
        } catch {
          good = false;
        }
        try {
          expect(plainOf(parseJson(text, 'a'))).toEqual(theirs);
          expect(good).toBe(true);
        } catch (error) {
          if (!(error instanceof Problem)) throw error;
          // The one thing that is stricter here.
          expect(!good || error.message.includes('twice')).toBe(true);
        }
      }),
      { seed: 2, numRuns: 5000 },
    );
  });

  it('reads back what is written', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        const text = writeJson(value as JsonValue);
        expect(JSON.stringify(JSON.parse(text))).toBe(JSON.stringify(value));
        expect(text.endsWith('\n')).toBe(true);
      }),
      { seed: 3, numRuns: 300 },
    );
  });

  it('tells where a truncated file ends and what should have come', () => {
    expect(fieldsOf('{\n  "a": [1,\n  2')).toMatchObject({
      code: 'not-json',
      line: 3,
      place: 'column 4',
      found: 'the end of the file',
      expected: ', or ]',
    });
    expect(fieldsOf('{"a": "bc')).toMatchObject({
      line: 1,
      place: 'column 10',
      expected: 'a closing "',
    });
    expect(fieldsOf('{"a"')).toMatchObject({ expected: ':' });
    expect(fieldsOf(' ')).toMatchObject({ message: 'the file is empty' });
  });

  it('refuses a key written twice, by name and line', () => {
    expect(fieldsOf('{"a": 1,\n "\\u0061": 2}')).toMatchObject({
      line: 2,
      message: 'the key "a" is written twice in one object',
    });
  });

  it.each(['__proto__', 'constructor', 'prototype', '\\u005f_proto__'])(
    'refuses the key %s',
    (key) => {
      expect(fieldsOf(`{"a": {"${key}": {"polluted": true}}}`).message).toMatch(/not allowed/);
      expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
    },
  );

  it.each([
    ['NaN', '[NaN]'],
    ['Infinity', '[-Infinity]'],
    ['a number beyond the range of a double', '[1e999]'],
    ['a line break in a text', '["a\nb"]'],
    ['a decimal comma', '{"a": 4,7}'],
    ['a number with a unit outside a text', '{"a": 470k}'],
    ['a comment', '[1] // one'],
  ])('refuses %s', (_what, text) => {
    expect(fieldsOf(text)).toMatchObject({ code: 'not-json', line: 1 });
  });

  it.each([
    ['a decimal comma', '{"a": 4,7}', /point.*quotes/],
    ['a comma too many', '{"a": [1, 2, ]}', /comma before \]/],
    ['a comment', '{"a": 1, // one\n "b": 2}', /no comments/],
    ['curly quotes', '{"a": “one”}', /straight double quotes/],
    ['a brace that is missing', '[{"a": {"b": 1}, {"a": 2}]', /Is a } missing/],
  ])('says what to do about %s', (_what, text, hint) => {
    expect(fieldsOf(text)).toMatchObject({ code: 'not-json', hint: expect.stringMatching(hint) });
  });

  it('tolerates a byte order mark', () => {
    expect(plainOf(parseJson('\uFEFF{"a": 1}', 'a'))).toEqual({ a: 1 });
  });

  it('refuses nesting bombs and value bombs with their place', () => {
    for (const bomb of ['['.repeat(1e6), '{"a":'.repeat(1e6)]) {
      expect(fieldsOf(bomb)).toMatchObject({
        code: 'too-large',
        message: 'nested too deeply',
        line: 1,
      });
    }
    expect(fieldsOf(`[${'1,'.repeat(3e6)}1]`)).toMatchObject({
      code: 'too-large',
      message: 'too many values',
    });
  });

  it('finds the line and column of any offset', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: fc.constantFrom('a', '\n', '\r') }),
        fc.nat(40),
        (text, offset) => {
          const before = text.slice(0, offset).split('\n');
          const inside = Math.min(offset, text.length);
          expect(new Lines(text).at(inside)).toEqual({
            line: before.length,
            column: (before.at(-1)?.length ?? 0) + 1,
          });
        },
      ),
      { seed: 4 },
    );
  });
});
