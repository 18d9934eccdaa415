import fc from 'fast-check';
import { create, parseDependencies } from 'mathjs/number';
import { expect, test } from 'vitest';
import { formulaTree } from '../../src/verdict/formula-tree.ts';

/** Our nodes in mathjs's parser give the tree that mathjs's own nodes give. */

const math = create({ parseDependencies: parseDependencies! });

interface Any {
  readonly type: string;
  readonly value?: unknown;
  readonly name?: string;
  readonly fn?: unknown;
  readonly args?: readonly Any[];
  readonly content?: Any;
  readonly object?: Any;
  readonly index?: Any;
  readonly dimensions?: readonly Any[];
}

/** What is read of a tree, of nodes of either kind. */
function shape(node: unknown): unknown {
  if (typeof node !== 'object' || node === null) return node;
  const { type, value, name, fn, args, content, object, index, dimensions } = node as Any;
  switch (type) {
    case 'ConstantNode':
      return value;
    case 'SymbolNode':
      return { name };
    case 'ParenthesisNode':
      return { content: shape(content) };
    case 'OperatorNode':
    case 'FunctionNode':
      return { type, fn: shape(fn), args: args!.map(shape) };
    case 'AccessorNode':
      return { object: shape(object), dimensions: index!.dimensions!.map(shape) };
    default:
      return { type, dimensions: dimensions?.map(shape) };
  }
}

function outcome(parse: (text: string) => unknown, text: string): unknown {
  try {
    return shape(parse(text));
  } catch (error) {
    return { refused: (error as Error).message };
  }
}

function both(text: string): void {
  expect(outcome(formulaTree, text), text).toEqual(outcome((t) => math.parse(t), text));
}

test.each([
  'gain >= 0.7 * newTube.gain',
  'a <= -2^-3 + 4 / (b - 1) * 5 %',
  '2 a b(3) 4',
  'sqrt(abs(x), 1e-3, "text") != \'one\'',
  'newTube["gain"]',
  'a.b.c(1).d',
  '1 < x < 3',
  'a = 3',
  'f(x) = x',
  'a; b',
  '[1, 2; 3]',
  '{ a: 1 }',
  'a ? b : c',
  '1:2:3',
  "x' + y!",
  'true and not false xor null',
  'NaN + Infinity',
  'import("x")',
  '',
  '   ',
  '0x1f + 1e999',
  'a +',
  '(a',
  '"open',
  'a ?. b ?? c',
])('%s', both);

test('whatever is strung together of what formulas are made of', () => {
  const pieces =
    'gain newTube.gain 2 1.5e3 ( ) + - * / ^ >= < , abs( min( % "t" [ ] = : ; ! in mod not'.split(
      ' ',
    );
  const piece = fc.constantFrom(...pieces, ' ');
  fc.assert(
    fc.property(fc.array(piece, { maxLength: 12 }), (strung) => {
      both(strung.join(''));
    }),
    { numRuns: 1000, seed: 1 },
  );
});

test('a node says what stood there', () => {
  for (const text of ['-a', 'a + 2 * b', 'abs(x, "y")', '(newTube.gain)', 'a[1, 2]', 'a(1)[2]'])
    expect(String(formulaTree(text))).toBe(text);
  expect(String(formulaTree('[1, a]; b'))).toBe('several formulas');
});
