import { Problem } from '../src/problem.ts';

export type Json = Readonly<Record<string, unknown>>;

/** A part of the document with its place. */
export interface Found {
  readonly place: Place;
  readonly value: Json;
}

/** Where in the file we are; every check names it. */
export class Place {
  constructor(
    private readonly file: string,
    private readonly path: string,
  ) {}

  fail(
    code: Problem['code'],
    message: string,
    key: string,
    found: unknown,
    expected: string,
  ): never {
    throw new Problem(code, message, {
      file: this.file,
      place: this.at(key),
      found:
        found === undefined ? 'nothing' : typeof found === 'string' ? found : JSON.stringify(found),
      expected,
    });
  }

  private at(key: string): string {
    if (this.path === '') return key;
    return key === '' ? this.path : `${this.path}.${key}`;
  }

  object(value: unknown, key = ''): Json {
    if (typeof value !== 'object' || value === null || Array.isArray(value))
      this.fail(
        value === undefined ? 'missing' : 'bad-value',
        'an object is expected',
        key,
        value,
        'an object { … }',
      );
    return value as Json;
  }

  item(value: unknown, key: string): Found {
    return { value: this.object(value, key), place: new Place(this.file, this.at(key)) };
  }

  inside(key: string, parent: Json): Found {
    return this.item(parent[key], key);
  }

  isText(value: unknown, key: string): void {
    if (typeof value !== 'string' || value === '')
      this.fail(
        value === undefined ? 'missing' : 'bad-value',
        'a text is expected',
        key,
        value,
        'a text',
      );
  }

  text(parent: Json, key: string): void {
    this.isText(parent[key], key);
  }

  number(parent: Json, key: string, low: number, high: number): void {
    const value = parent[key];
    if (typeof value !== 'number' || !(value >= low && value <= high))
      this.fail(
        value === undefined ? 'missing' : 'bad-value',
        'a number is expected',
        key,
        value,
        `${low} to ${high}`,
      );
  }

  oneOf<T extends string>(parent: Json, key: string, known: readonly T[]): T {
    const value = parent[key];
    const found = known.find((name) => name === value);
    if (found === undefined)
      return this.fail(
        value === undefined ? 'missing' : 'bad-value',
        'not one of the known words',
        key,
        value,
        known.join(', '),
      );
    return found;
  }

  list(parent: Json, key: string, atLeast: number): readonly unknown[] {
    const value = parent[key];
    if (!Array.isArray(value) || value.length < atLeast)
      this.fail(
        value === undefined ? 'missing' : 'bad-value',
        'a list is expected',
        key,
        value,
        `a list of at least ${atLeast}`,
      );
    return value as readonly unknown[];
  }
}
