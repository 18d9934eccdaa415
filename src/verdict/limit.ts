import { Problem } from '../problem.ts';
import type { LimitSpec, Measures } from '../types.ts';
import { compileExpression, parseFormula, scopeOf, type Expression } from './formula.ts';

/** A limit ready to be applied: one measure on one side of a relation, a bound on the other. */
export interface Limit {
  readonly spec: LimitSpec;
  readonly sense: 'atLeast' | 'atMost';
  /**
   * Value, bound and signed margin over the bound's size (positive inside). Undefined when the bound has no number.
   * A measure without a number lies outside.
   */
  apply(own: Measures, newTube: Measures): Applied | undefined;
}

export interface Applied {
  readonly value: number | undefined;
  readonly bound: number;
  readonly margin: number;
  /** The value is only known to be at least that, and the limit asks for more: it may lie on either side. */
  readonly open: boolean;
}

/** Margin of a measure that has no number: outside by all of it. */
const NO_NUMBER_MARGIN = -1;
const RELATIONS: Readonly<Record<string, 'atLeast' | 'atMost'>> = {
  larger: 'atLeast',
  largerEq: 'atLeast',
  smaller: 'atMost',
  smallerEq: 'atMost',
};

/** Throws `Problem` when the formula is no relation with a single measure on its left. */
export function compileLimit(spec: LimitSpec, known: readonly string[], place: string): Limit {
  const node = parseFormula(spec.formula, place);
  const sense = typeof node.fn === 'string' ? RELATIONS[node.fn] : undefined;
  const [left, right] = node.args ?? [];
  if (sense === undefined || left === undefined || right === undefined || node.args!.length !== 2)
    throw notALimit(spec.formula, place, spec.measure);
  if (left.type !== 'SymbolNode' || left.name !== spec.measure)
    throw notALimit(spec.formula, place, spec.measure);
  const bound: Expression = compileExpression(right, known, place);
  return {
    spec,
    sense,
    apply(own, newTube) {
      const limit = bound(scopeOf(own, newTube));
      if (limit === undefined || !Number.isFinite(limit)) return undefined;
      const value = scopeOf(own, newTube)(spec.measure, false);
      if (value === undefined)
        return { value, bound: limit, margin: NO_NUMBER_MARGIN, open: false };
      const inside = sense === 'atLeast' ? value - limit : limit - value;
      return {
        value,
        bound: limit,
        margin: inside / Math.max(Math.abs(limit), 1e-12),
        open: typeof own[spec.measure] === 'object' && sense === 'atLeast' && inside < 0,
      };
    },
  };
}

function notALimit(formula: string, place: string, measure: string): Problem {
  return new Problem('bad-value', 'this is no limit', {
    place,
    found: formula,
    expected: `the measure, a relation, and what it is compared with: ${measure} >= …, or ${measure} <= …`,
  });
}

/**
 * The limits of a socket: the stage's, with the scenario's in their place. A bare number keeps the sense of the stage's
 * own limit on that measure.
 */
export function limitsFor(
  defaults: readonly LimitSpec[],
  own: Readonly<Record<string, number | string>>,
  known: readonly string[],
  place: string,
): Limit[] {
  const replaced = Object.entries(own).map(([measure, given]): LimitSpec => {
    const here = `${place}.${measure}`;
    if (!known.includes(measure))
      throw new Problem('unknown-name', 'no such measure in this stage', {
        place: here,
        found: measure,
        expected: `one of ${known.join(', ')}`,
      });
    const source = 'this scenario';
    const reason = 'set in the scenario';
    if (typeof given === 'string') return { measure, formula: given, reason, source };
    const stock = defaults.find((limit) => limit.measure === measure);
    if (stock === undefined)
      throw new Problem('bad-value', 'a bare number needs a side', {
        place: here,
        found: String(given),
        expected: `a relation: "${measure} >= ${given}" or "${measure} <= ${given}"`,
      });
    const relation = compileLimit(stock, known, here).sense === 'atLeast' ? '>=' : '<=';
    return { measure, formula: `${measure} ${relation} ${given}`, reason, source };
  });
  const kept = defaults.filter((limit) => !Object.hasOwn(own, limit.measure));
  return [...kept, ...replaced].map((spec) =>
    compileLimit(spec, known, `${place}.${spec.measure}`),
  );
}
