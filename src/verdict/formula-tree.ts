import { createParse } from 'mathjs/number';

/**
 * What mathjs parses a formula into. Its parser is given nodes of ours: nothing here is compiled or evaluated by mathjs,
 * and its own nodes, with all that they can do, would be a fifth of the page's script.
 */

declare module 'mathjs/number' {
  /** The factory of the parser; mathjs documents factories and leaves this one out of its types. */
  function createParse(given: Readonly<Record<string, unknown>>): (text: string) => FormulaNode;
}

export interface FormulaNode {
  readonly type: string;
  /** Of a constant. */
  readonly value?: unknown;
  /** Of a symbol. */
  readonly name?: string;
  /** Name of an operator's function (`largerEq`), or what is called. */
  readonly fn?: string | FormulaNode;
  readonly args?: readonly FormulaNode[];
  /** Within parentheses. */
  readonly content?: FormulaNode;
  /** Before the point, and after it. */
  readonly object?: FormulaNode;
  readonly index?: FormulaNode;
  readonly dimensions?: readonly FormulaNode[];
  toString(): string;
}

/** mathjs tells nodes by these marks: `isNode` on the prototype, `is…Node` on the node. */
abstract class Node implements FormulaNode {
  constructor(readonly type: string) {
    Object.assign(this, { [`is${type}`]: true });
  }

  get isNode(): true {
    return true;
  }
}

class Constant extends Node {
  constructor(readonly value: unknown) {
    super('ConstantNode');
  }
  override toString(): string {
    return typeof this.value === 'string' ? JSON.stringify(this.value) : String(this.value);
  }
}

class Name extends Node {
  constructor(readonly name: string) {
    super('SymbolNode');
  }
  override toString(): string {
    return this.name;
  }
}

class Operator extends Node {
  constructor(
    readonly op: string,
    readonly fn: string,
    readonly args: readonly FormulaNode[],
  ) {
    super('OperatorNode');
  }
  override toString(): string {
    return this.args.length === 1
      ? `${this.op}${String(this.args[0])}`
      : this.args.join(` ${this.op} `);
  }
}

class Call extends Node {
  constructor(
    readonly fn: FormulaNode,
    readonly args: readonly FormulaNode[],
  ) {
    super('FunctionNode');
  }
  override toString(): string {
    return `${String(this.fn)}(${this.args.join(', ')})`;
  }
}

class Parentheses extends Node {
  constructor(readonly content: FormulaNode) {
    super('ParenthesisNode');
  }
  override toString(): string {
    return `(${String(this.content)})`;
  }
}

class Index extends Node {
  constructor(
    readonly dimensions: readonly FormulaNode[],
    readonly dotted = false,
  ) {
    super('IndexNode');
  }
  override toString(): string {
    return this.dotted
      ? `.${String(this.dimensions[0]?.value)}`
      : `[${this.dimensions.join(', ')}]`;
  }
}

class Member extends Node {
  constructor(
    readonly object: FormulaNode,
    readonly index: FormulaNode,
  ) {
    super('AccessorNode');
  }
  override toString(): string {
    return `${String(this.object)}${String(this.index)}`;
  }
}

/** A row of a list counts its items before the list is whole. */
class List extends Node {
  constructor(readonly items: readonly FormulaNode[]) {
    super('ArrayNode');
  }
  override toString(): string {
    return `[${this.items.join(', ')}]`;
  }
}

/** What no formula of ours may hold; readable, so that a message can say what stood there. */
const refused = (type: string, words: string): new () => FormulaNode =>
  class extends Node {
    constructor() {
      super(type);
    }
    override toString(): string {
      return words;
    }
  };

/** mathjs would choose by the types of the arguments; a formula is always a text. */
const typed = Object.assign(
  (_name: string, signatures: Readonly<Record<string, unknown>>) => signatures['string'],
  { addConversion: () => undefined },
);

/** @throws SyntaxError where the text is no formula */
export const formulaTree = createParse({
  typed,
  numeric: Number,
  config: { number: 'number' },
  ConstantNode: Constant,
  SymbolNode: Name,
  OperatorNode: Operator,
  FunctionNode: Call,
  ParenthesisNode: Parentheses,
  IndexNode: Index,
  AccessorNode: Member,
  ArrayNode: List,
  AssignmentNode: refused('AssignmentNode', 'an assignment'),
  BlockNode: refused('BlockNode', 'several formulas'),
  ConditionalNode: refused('ConditionalNode', 'a choice with ? and :'),
  FunctionAssignmentNode: refused('FunctionAssignmentNode', 'a function of its own'),
  ObjectNode: refused('ObjectNode', 'an object in { }'),
  RangeNode: refused('RangeNode', 'a range with :'),
  RelationalNode: refused('RelationalNode', 'two relations in a row'),
});
