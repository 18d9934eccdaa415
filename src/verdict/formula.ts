import { Problem } from '../problem.ts';
import type { Measures } from '../types.ts';
import { formulaTree, type FormulaNode } from './formula-tree.ts';

/**
 * Limits and measures as formulas: parsed by mathjs, evaluated here over an allow-list of node kinds, so that a scenario
 * from somewhere else can compute and compare and nothing more.
 */

const FUNCTIONS: Readonly<Record<string, (...x: number[]) => number>> = {
  abs: Math.abs,
  min: Math.min,
  max: Math.max,
  sqrt: Math.sqrt,
  log10: Math.log10,
  exp: Math.exp,
};

const OPERATORS: Readonly<Record<string, (a: number, b: number) => number>> = {
  add: (a, b) => a + b,
  subtract: (a, b) => a - b,
  multiply: (a, b) => a * b,
  divide: (a, b) => a / b,
  pow: (a, b) => a ** b,
};

const LONGEST = 500;

/** Names a formula may use, and what they are. A name without a number gives undefined. */
export type Scope = (name: string, ofNewTube: boolean) => number | undefined;

/** Evaluates to undefined when a name in it has no number. */
export type Expression = (scope: Scope) => number | undefined;

/** Parses `text`; `known` are the measure names it may use. Throws `Problem` (bad-value) naming what is not allowed. */
export function parseFormula(text: string, place: string): FormulaNode {
  if (text.length > LONGEST)
    throw new Problem('bad-value', 'the formula is too long', {
      place,
      found: `${text.length} characters`,
      expected: `at most ${LONGEST}`,
    });
  try {
    return formulaTree(text);
  } catch (cause) {
    throw new Problem(
      'bad-value',
      'the formula cannot be read',
      { place, found: text, expected: 'a relation such as gain >= 0.7 * newTube.gain' },
      { cause },
    );
  }
}

/** Turns a parsed formula without a relation into a function over measures. */
export function compileExpression(
  node: FormulaNode,
  known: readonly string[],
  place: string,
): Expression {
  const refuse = (found: string, expected: string): never => {
    throw new Problem('bad-value', 'the formula uses something that is not allowed', {
      place,
      found,
      expected,
    });
  };
  const sub = (child: FormulaNode): Expression => compileExpression(child, known, place);
  const named = (name: string, ofNewTube: boolean): Expression => {
    if (!known.includes(name)) refuse(name, `one of ${known.join(', ')}`);
    return (scope) => scope(name, ofNewTube);
  };
  switch (node.type) {
    case 'ConstantNode': {
      const { value } = node;
      if (typeof value !== 'number' || !Number.isFinite(value))
        return refuse(String(value), 'a number');
      return () => value;
    }
    case 'ParenthesisNode':
      return sub(node.content!);
    case 'SymbolNode':
      return named(node.name!, false);
    case 'AccessorNode': {
      const key = node.index!.dimensions?.[0]?.value;
      if (node.object!.name !== 'newTube' || typeof key !== 'string')
        return refuse(node.toString(), 'newTube.<measure>');
      return named(key, true);
    }
    case 'OperatorNode': {
      const fn = node.fn as string;
      const args = node.args!.map(sub);
      if (fn === 'unaryMinus' && args.length === 1)
        return (scope) => {
          const x = args[0]!(scope);
          return x === undefined ? undefined : -x;
        };
      const apply = OPERATORS[fn];
      if (apply === undefined || args.length !== 2) return refuse(node.toString(), '+ − * / ^');
      return (scope) => {
        const [a, b] = [args[0]!(scope), args[1]!(scope)];
        return a === undefined || b === undefined ? undefined : apply(a, b);
      };
    }
    case 'FunctionNode': {
      const name = calledBy(node);
      const apply = Object.hasOwn(FUNCTIONS, name) ? FUNCTIONS[name] : undefined;
      if (apply === undefined) return refuse(`${name}(…)`, Object.keys(FUNCTIONS).join(', '));
      const args = node.args!.map(sub);
      return (scope) => {
        const numbers = args.map((arg) => arg(scope));
        return numbers.some((x) => x === undefined) ? undefined : apply(...(numbers as number[]));
      };
    }
    default:
      return refuse(
        node.toString(),
        'numbers, measures, newTube.<measure>, + − * / ^ and functions',
      );
  }
}

/** Name of the function that a call node calls; of anything that is not called by a plain name, nothing. */
export const calledBy = ({ fn }: FormulaNode): string =>
  typeof fn === 'string' ? fn : (fn?.name ?? '');

/** Scope over a tube's measures and the new tube's under the same draw. "At least" values count as their bound. */
export function scopeOf(own: Measures, newTube: Measures): Scope {
  return (name, ofNewTube) => {
    const value = (ofNewTube ? newTube : own)[name];
    if (typeof value === 'number') return Number.isFinite(value) ? value : undefined;
    return value?.atLeast;
  };
}
