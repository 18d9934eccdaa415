import { Problem } from '../problem.ts';
import type { Measures } from '../types.ts';
import { calledBy, parseFormula } from '../verdict/formula.ts';
import type { FormulaNode } from '../verdict/formula-tree.ts';
import {
  acId,
  valueAt,
  type Answers,
  type Complex,
  type Quantity,
  type Vectors,
} from './answers.ts';
import type { OwnCircuit } from './definition.ts';
import {
  CYCLE_FUNCTIONS,
  NoNumber,
  NUMBER_FUNCTIONS,
  settledCycle,
  SIGNAL_FUNCTIONS,
  SWEEP_FUNCTIONS,
} from './functions.ts';
import { Refused } from './elements.ts';
import { OPERATORS, real } from './complex.ts';
import { currentOf, nodeOf } from './quantities.ts';
import { quoted } from './lines.ts';

/** What a formula needs of the engine. */
export interface Needs {
  readonly quantities: readonly Quantity[];
  readonly frequencies: readonly number[];
  readonly sweep: boolean;
  readonly transient: boolean;
}

export interface OwnFormula {
  readonly needs: Needs;
  /** The number. @throws NoNumber with the reason why there is none */
  of(answers: Answers, own: Measures): number;
}

/** A formula is evaluated at a point: at rest, at one value of the sweep, at one frequency, at one moment. */
interface Point {
  readonly vectors: Vectors;
  readonly index: number;
  readonly complex: boolean;
}

interface World {
  readonly answers: Answers;
  readonly own: Measures;
}

type Value = (world: World, at: Point | undefined) => Complex;

const ALLOWED =
  'v(node), v(node, node), i(element), numbers, earlier measures, + - * / ^, at, slope, where, max, min, gain, phase, mean, swing, fundamental, thd, abs, sqrt, log10, exp, dB';

/**
 * Reads a measure's formula against its circuit: mathjs parses, an allow-list decides, evaluation is here.
 *
 * @param earlier measures that it may name
 * @throws Refused naming what is not known or not allowed
 */
export function ownFormula(
  text: string,
  circuit: OwnCircuit,
  earlier: readonly string[],
): OwnFormula {
  const reader = new Reader(circuit, earlier);
  // node names may be words of the formula language ("in"): they are texts to it
  const named = text.replaceAll(
    /\b([vi])\(\s*([A-Za-z0-9_.]+)\s*(?:,\s*([A-Za-z0-9_.]+)\s*)?\)/gi,
    (_, kind: string, a: string, b: string | undefined) =>
      `${kind.toLowerCase()}("${a}"${b === undefined ? '' : `, "${b}"`})`,
  );
  let tree: FormulaNode;
  try {
    tree = parseFormula(named, 'formula');
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    throw new Refused(error.message, quoted(text), `a formula of ${ALLOWED}`);
  }
  const value = reader.value(tree, 'rest');
  return {
    needs: reader.needs(),
    of(answers, own) {
      const found = value(
        { answers, own },
        { vectors: answers['rest']!, index: 0, complex: false },
      );
      if (!Number.isFinite(found.re)) throw new NoNumber('the formula gives no finite number');
      return found.re;
    },
  };
}

type Context = 'rest' | 'sweep' | 'signal' | 'cycle' | 'constant';

class Reader {
  private readonly quantities = new Map<string, Quantity>();
  private readonly frequencies = new Set<number>();
  private sweep = false;
  private transient = false;

  constructor(
    private readonly circuit: OwnCircuit,
    private readonly earlier: readonly string[],
  ) {}

  needs(): Needs {
    return {
      quantities: [...this.quantities.values()],
      frequencies: [...this.frequencies],
      sweep: this.sweep,
      transient: this.transient,
    };
  }

  value(tree: FormulaNode, context: Context): Value {
    const args = tree.args ?? [];
    switch (tree.type) {
      case 'ConstantNode': {
        const { value } = tree;
        if (typeof value !== 'number' || !Number.isFinite(value))
          throw new Refused('this is no number', quoted(tree.toString()), ALLOWED);
        return () => real(value);
      }
      case 'ParenthesisNode':
        return this.value(tree.content!, context);
      case 'SymbolNode':
        return this.measure(tree.name!);
      case 'OperatorNode': {
        const name = tree.fn as string;
        const parts = args.map((arg) => this.value(arg, context));
        const [a, b] = parts;
        if (name === 'unaryMinus' && a !== undefined)
          return (world, at) => {
            const x = a(world, at);
            return { re: -x.re, im: -x.im };
          };
        const apply = Object.hasOwn(OPERATORS, name) ? OPERATORS[name] : undefined;
        if (apply === undefined || a === undefined || b === undefined || parts.length !== 2)
          throw new Refused('this is not allowed in a formula', quoted(tree.toString()), ALLOWED);
        return (world, at) => apply(a(world, at), b(world, at));
      }
      case 'FunctionNode':
        return this.call(calledBy(tree), args, context, tree);
      default:
        throw new Refused('this is not allowed in a formula', quoted(tree.toString()), ALLOWED);
    }
  }

  private measure(name: string): Value {
    if (!this.earlier.includes(name))
      throw new Refused(
        'this name is not known here',
        quoted(name),
        this.earlier.length === 0
          ? 'a voltage is v(node), a current i(element)'
          : `v(node), i(element), or a measure above it: ${this.earlier.join(', ')}`,
        /^(?:[kKmMuUnNpPgG]|meg)$/.test(name)
          ? 'Numbers have no letters here: 1000 or 1e3.'
          : undefined,
        'unknown-name',
      );
    return ({ own }) => {
      const value = own[name];
      if (typeof value !== 'number') throw new NoNumber(`${name} has no number`);
      return real(value);
    };
  }

  private call(
    name: string,
    args: readonly FormulaNode[],
    context: Context,
    tree: FormulaNode,
  ): Value {
    if (name === 'v' || name === 'i') return this.quantity(name, args, context, tree);
    const sweeping = Object.hasOwn(SWEEP_FUNCTIONS, name) ? SWEEP_FUNCTIONS[name] : undefined;
    if (sweeping !== undefined && args.length === sweeping.numbers + 1)
      return this.alongSweep(name, sweeping, args, context);
    const plain = Object.hasOwn(NUMBER_FUNCTIONS, name) ? NUMBER_FUNCTIONS[name] : undefined;
    if (plain !== undefined && args.length > 0) {
      const parts = args.map((arg) => this.value(arg, context));
      return (world, at) =>
        real(
          plain(
            ...parts.map((part) => {
              const { re, im } = part(world, at);
              // of a small signal, its size
              return im === 0 ? re : Math.hypot(re, im);
            }),
          ),
        );
    }
    const signal = Object.hasOwn(SIGNAL_FUNCTIONS, name) ? SIGNAL_FUNCTIONS[name] : undefined;
    if (signal !== undefined) return this.underSignal(name, signal, args, context);
    const cycle = Object.hasOwn(CYCLE_FUNCTIONS, name) ? CYCLE_FUNCTIONS[name] : undefined;
    if (cycle !== undefined) return this.overCycle(name, cycle, args, context);
    throw new Refused(
      sweeping === undefined ? 'there is no such function' : 'this function takes other arguments',
      quoted(tree.toString()),
      ALLOWED,
    );
  }

  private quantity(
    kind: 'v' | 'i',
    args: readonly FormulaNode[],
    context: Context,
    tree: FormulaNode,
  ): Value {
    const names = args.map(({ value }) => (typeof value === 'string' ? value : undefined));
    const whole = names.every((name) => name !== undefined) && names.length >= 1;
    if (!whole || names.length > (kind === 'v' ? 2 : 1))
      throw new Refused(
        'this is no node or element',
        quoted(tree.toString()),
        kind === 'v' ? 'v(node) or v(node, node)' : 'i(element), or i(X1.plate) of a tube',
      );
    if (context === 'constant')
      throw new Refused(
        'a number is needed here',
        quoted(tree.toString()),
        'a number such as 1000',
      );
    const found = names.map((name) =>
      kind === 'v' ? nodeOf(name!, this.circuit) : currentOf(name!, this.circuit),
    );
    for (const quantity of found) this.quantities.set(JSON.stringify(quantity), quantity);
    const [a, b] = found as [Quantity, Quantity | undefined];
    return (_, at) => {
      const { vectors, index, complex } = at!;
      const x = valueAt(vectors, a, index, complex);
      return b === undefined ? x : OPERATORS['subtract']!(x, valueAt(vectors, b, index, complex));
    };
  }

  /** An inner expression at rest within another analysis would be read as the other's: refused. */
  private inner(name: string, context: Context): void {
    if (context !== 'rest')
      throw new Refused(
        `${name}() cannot stand inside another analysis`,
        quoted(name),
        'a formula of v() and i() there',
      );
  }

  private constant(tree: FormulaNode): number {
    return this.value(tree, 'constant')({ answers: {}, own: {} }, undefined).re;
  }

  private alongSweep(
    name: string,
    apply: (typeof SWEEP_FUNCTIONS)[string],
    args: readonly FormulaNode[],
    context: Context,
  ): Value {
    this.inner(name, context);
    const { sweep } = this.circuit;
    if (sweep === undefined)
      throw new Refused(
        `${name}() looks along a sweep, and there is none`,
        quoted(name),
        'a line such as: .dc V1 0 10 0.5',
      );
    this.sweep = true;
    const value = this.value(args[0]!, 'sweep');
    const numbers = args.slice(1).map((arg) => this.constant(arg));
    const swept = Array.from({ length: sweep.points }, (_, i) => sweep.start + i * sweep.step);
    const order = [...swept.keys()].sort((a, b) => swept[a]! - swept[b]!);
    const x = order.map((i) => swept[i]!);
    if ((name === 'at' || name === 'slope') && !(numbers[0]! >= x[0]! && numbers[0]! <= x.at(-1)!))
      throw new Refused(
        'this lies outside the sweep',
        String(numbers[0]),
        `${x[0]} to ${x.at(-1)}`,
      );
    return (world) => {
      const vectors = world.answers['sweep']!;
      const y = order.map((index) => value(world, { vectors, index, complex: false }).re);
      if (!y.every(Number.isFinite))
        throw new NoNumber('the formula gives no finite number on the sweep');
      return real(apply.of({ x, y }, ...numbers));
    };
  }

  private underSignal(
    name: string,
    apply: (x: Complex) => number,
    args: readonly FormulaNode[],
    context: Context,
  ): Value {
    this.inner(name, context);
    const [of, at] = args;
    if (of === undefined || at === undefined || args.length !== 2)
      throw new Refused(
        `${name}() takes an expression and a frequency`,
        `${args.length} arguments`,
        `${name}(v(out), 1000)`,
      );
    if (!this.circuit.elements.some((element) => 'ac' in element && element.ac !== undefined))
      throw new Refused(
        `${name}() needs a small signal, and no source has one`,
        quoted(name),
        'a source such as: V1 in 0 0 AC 1',
        undefined,
        'missing',
      );
    const frequency = this.constant(at);
    if (!(frequency >= 1e-3 && frequency <= 1e9))
      throw new Refused('the frequency is out of range', `${frequency}`, '0.001 to 1e9 Hz');
    this.frequencies.add(frequency);
    const value = this.value(of, 'signal');
    return (world) =>
      real(
        apply(value(world, { vectors: world.answers[acId(frequency)]!, index: 0, complex: true })),
      );
  }

  private overCycle(
    name: string,
    apply: (typeof CYCLE_FUNCTIONS)[string],
    args: readonly FormulaNode[],
    context: Context,
  ): Value {
    this.inner(name, context);
    if (this.circuit.transient === undefined)
      throw new Refused(
        `${name}() looks at a transient, and there is none`,
        quoted(name),
        'a line such as: .tran 10u 20m, and a source with SIN',
      );
    if (args.length !== 1)
      throw new Refused(
        `${name}() takes one expression`,
        `${args.length} arguments`,
        `${name}(v(out))`,
      );
    this.transient = true;
    const value = this.value(args[0]!, 'cycle');
    const frequency = this.circuit.elements
      .map((element) => ('sine' in element ? element.sine?.[2] : undefined))
      .find((each) => each !== undefined)!;
    return (world) => {
      const vectors = world.answers['transient']!;
      const time_s = vectors['time']!;
      const values = Float64Array.from(
        time_s,
        (_, index) => value(world, { vectors, index, complex: false }).re,
      );
      return real(apply(settledCycle(time_s, values, frequency)));
    };
  }
}
