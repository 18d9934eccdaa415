/**
 * What went wrong, in the user's terms. Bad input and failed fits are told with these fields;
 * programmer's mistakes stay ordinary exceptions.
 */
export interface ProblemFields {
  /** File or stream, as the user named it. */
  file?: string;
  /** One-based line in that file, where known. */
  line?: number;
  /** Path of keys inside the document, e.g. `sockets[0].values.plateLoad`. */
  place?: string;
  found?: string;
  expected?: string;
  /** What to do about it, one sentence. */
  hint?: string;
}

export type ProblemCode =
  | 'usage'
  | 'unreadable-file'
  | 'not-json'
  | 'wrong-format'
  | 'wrong-version'
  | 'bad-value'
  | 'missing'
  | 'unknown-tube'
  | 'unknown-stage'
  | 'unknown-name'
  | 'does-not-fit'
  | 'contradiction'
  | 'too-large'
  | 'too-few-points'
  | 'simulation';

export class Problem extends Error {
  constructor(
    readonly code: ProblemCode,
    message: string,
    readonly fields: ProblemFields = {},
    options?: ErrorOptions,
  ) {
    super(message, options);
    this.name = 'Problem';
  }

  /** One readable paragraph: where, what, found, expected, hint. */
  toText(): string {
    const { file, line, place, found, expected, hint } = this.fields;
    const where = [file, line === undefined ? undefined : `line ${line}`, place]
      .filter((part) => part !== undefined)
      .join(', ');
    return [
      where === '' ? this.message : `${where}: ${this.message}`,
      found === undefined ? undefined : `  found:    ${found}`,
      expected === undefined ? undefined : `  expected: ${expected}`,
      hint === undefined ? undefined : `  ${hint}`,
    ]
      .filter((part) => part !== undefined)
      .join('\n');
  }
}
