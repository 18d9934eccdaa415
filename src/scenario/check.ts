/** Collects what is wrong and what is doubtful in one file, so that all of it can be told at once. */
import { Problem } from '../problem.ts';
import type { ProblemCode, ProblemFields } from '../problem.ts';
import { Lines } from './json.ts';
import type { JsonNode } from './json.ts';

/** Something that is kept but not used, or used with a doubt. */
export interface Warning {
  readonly place: string;
  readonly line: number;
  readonly text: string;
}

/** The first problem of a file, with all the others. Every one names file, line, place, found and expected. */
export class FileProblem extends Problem {
  readonly problems: readonly Problem[];

  constructor(problems: readonly [Problem, ...Problem[]]) {
    const [first, ...others] = problems;
    const hint = [
      first.fields.hint,
      others.length === 0
        ? undefined
        : `${others.length} more: ${others
            .slice(0, 5)
            .map(({ fields }) => `line ${fields.line ?? '?'}, ${fields.place ?? '?'}`)
            .join('; ')}${others.length > 5 ? '; …' : ''}.`,
    ]
      .filter((part) => part !== undefined)
      .join(' ');
    super(first.code, first.message, hint === '' ? first.fields : { ...first.fields, hint });
    this.problems = problems;
  }

  /** Every problem as a paragraph. */
  allText(): string {
    return this.problems.map((problem) => problem.toText()).join('\n');
  }
}

export type Told = Pick<ProblemFields, 'found' | 'expected' | 'hint'>;

/** Where in the text: an offset and, where the path of keys would say nothing to the user, a name (a CSV column). */
export type Spot = Pick<JsonNode, 'offset' | 'where'>;

/** More would bury the first; the rest shows when these are mended. */
const MOST_PROBLEMS = 50;

export class Check {
  private readonly problems: Problem[] = [];
  readonly warnings: Warning[] = [];

  private readonly lines: Lines;

  constructor(
    text: string,
    readonly file: string,
  ) {
    this.lines = new Lines(text);
  }

  /** Notes a problem and gives undefined, so that a reader can `return check.wrong(…)`. */
  wrong(code: ProblemCode, at: Spot, place: string, message: string, told: Told = {}): undefined {
    if (this.problems.length < MOST_PROBLEMS) {
      const fields = { file: this.file, line: this.lineOf(at), place: at.where ?? place, ...told };
      this.problems.push(new Problem(code, message, fields));
    }
    return undefined;
  }

  warn(at: Spot, place: string, text: string): void {
    this.warnings.push({ place: at.where ?? place, line: this.lineOf(at), text });
  }

  get failed(): boolean {
    return this.problems.length > 0;
  }

  /** @throws FileProblem if anything was noted. */
  throwIfFailed(): void {
    const [first, ...others] = this.problems;
    if (first !== undefined) throw new FileProblem([first, ...others]);
  }

  private lineOf(at: Spot): number {
    return this.lines.at(at.offset).line;
  }
}
