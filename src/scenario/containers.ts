/** Shapes made of shapes: lists, objects, records, and conditions on them. */
import type { Check } from './check.ts';
import { quote } from './json.ts';
import type { JsonMember, JsonNode } from './json.ts';
import { didYouMean, nearNames, orList } from './near.ts';
import { titled, wrongKind } from './shapes.ts';
import type { JsonSchema, Read, Shape } from './shapes.ts';
import { ourKey } from './terms.ts';

type Shapes = Readonly<Record<string, Shape<unknown>>>;
export type ObjectOf<R extends Shapes, O extends Shapes> = {
  readonly [K in keyof R]: Read<R[K]>;
} & {
  readonly [K in keyof O]?: Read<O[K]>;
};

export function list<T>(
  of: Shape<T>,
  options: { max: number; min?: number; title?: string },
): Shape<readonly T[]> {
  const min = options.min ?? 0;
  return {
    schema: {
      type: 'array',
      items: of.schema,
      minItems: min,
      maxItems: options.max,
      ...titled(options.title),
    },
    read(node, place, check) {
      const expected = `a list [ … ] of ${min} to ${options.max}`;
      if (node.kind !== 'list') return wrongKind(node, place, check, expected);
      if (node.items.length < min || node.items.length > options.max) {
        const code = node.items.length < min ? 'missing' : 'too-large';
        return check.wrong(
          code,
          node,
          place,
          `${node.items.length < min ? 'too few' : 'too many'} in the list`,
          {
            found: `${node.items.length}`,
            expected,
          },
        );
      }
      const read = node.items.map((item, index) => of.read(item, `${place}[${index}]`, check));
      return read.every((item) => item !== undefined) ? (read as T[]) : undefined;
    },
  };
}

/** A value or a list; always read as a list. */
export function oneOrMany<T>(
  of: Shape<T>,
  options: { max: number; title?: string },
): Shape<readonly T[]> {
  const many = list(of, { ...options, min: 1 });
  return {
    schema: { anyOf: [of.schema, many.schema], ...titled(options.title) },
    read(node, place, check) {
      if (node.kind === 'list') return many.read(node, place, check);
      const one = of.read(node, place, check);
      return one === undefined ? undefined : [one];
    },
  };
}

/** Members by canonical key; British and other terms are mapped, unknown keys are warned about. */
export function membersOf(
  node: JsonNode & { kind: 'object' },
  known: readonly string[],
  place: string,
  check: Check,
  onUnknown: 'warn' | 'leave' = 'warn',
): ReadonlyMap<string, JsonMember> {
  const members = new Map<string, JsonMember>();
  for (const member of node.members) {
    const key = known.includes(member.key) ? member.key : ourKey(member.key);
    if (key === undefined || !known.includes(key)) {
      if (onUnknown === 'warn') warnUnknown(member, known, place, check);
      continue;
    }
    const earlier = members.get(key);
    if (earlier === undefined) members.set(key, member);
    else {
      check.wrong(
        'contradiction',
        member,
        join(place, member.key),
        'the same thing is given twice',
        {
          found: `${quote(earlier.key)} and ${quote(member.key)}`,
          expected: `only ${quote(key)}`,
        },
      );
    }
  }
  return members;
}

/** Unknown keys that are looked at for the one that is missing: a person's file has fewer. */
const MOST_LOOKED_AT = 50;

export function warnUnknown(
  member: JsonMember,
  known: readonly string[],
  place: string,
  check: Check,
): void {
  const near = didYouMean(member.key, known);
  check.warn(
    member,
    join(place, member.key),
    `The key ${quote(member.key)} is not known here: kept in the file, not used.${near === undefined ? '' : ` ${near}`}`,
  );
}

export function join(place: string, key: string): string {
  const step = /^[A-Za-z_][A-Za-z0-9_-]*$/.test(key) ? key : quote(key);
  return place === '' ? step : `${place}.${step}`;
}

export interface ObjectShape<T> extends Shape<T> {
  /** Whatever could be read, the problems noted: for those who go on to find more problems. */
  readParts(node: JsonNode, place: string, check: Check): Partial<T>;
}

/** An object with keys that must and keys that may be there. */
export function object<R extends Shapes, O extends Shapes>(
  required: R,
  optional: O,
  options: { title?: string } = {},
): ObjectShape<ObjectOf<R, O>> {
  const shapes: Shapes = { ...required, ...optional };
  const known = Object.keys(shapes);

  function readAll(
    node: JsonNode,
    place: string,
    check: Check,
  ): { parts: Record<string, unknown>; whole: boolean } {
    const parts: Record<string, unknown> = {};
    if (node.kind !== 'object') {
      wrongKind(node, place, check, `an object with ${orList(known.slice(0, 8).map(quote))}`);
      return { parts, whole: false };
    }
    const members = membersOf(node, known, place, check);
    let whole = true;
    for (const [key, shape] of Object.entries(shapes)) {
      const member = members.get(key);
      if (member !== undefined) {
        const value = shape.read(member.value, join(place, member.key), check);
        if (value === undefined) whole = false;
        else parts[key] = value;
      } else if (key in required) {
        whole = false;
        const given = node.members.slice(0, 8).map((entry) => quote(entry.key));
        const strange = node.members
          .map((entry) => entry.key)
          .filter((one) => !known.includes(one));
        const [meant] = nearNames(key, strange.slice(0, MOST_LOOKED_AT));
        check.wrong('missing', node, join(place, key), `${quote(key)} is missing`, {
          found: given.length === 0 ? 'an empty object' : `only ${given.join(', ')}`,
          expected: `the key ${quote(key)}`,
          ...(meant === undefined ? {} : { hint: `Is it what ${quote(meant)} should be?` }),
        });
      }
    }
    return { parts, whole };
  }

  return {
    schema: {
      type: 'object',
      ...titled(options.title),
      properties: Object.fromEntries(known.map((key) => [key, shapes[key]?.schema ?? {}])),
      ...(Object.keys(required).length === 0 ? {} : { required: Object.keys(required) }),
    },
    read(node, place, check) {
      const { parts, whole } = readAll(node, place, check);
      return whole ? (parts as ObjectOf<R, O>) : undefined;
    },
    readParts: (node, place, check) => readAll(node, place, check).parts as Partial<ObjectOf<R, O>>,
  };
}

/** Left for a later step that knows more. */
export const later: Shape<JsonNode> = { schema: {}, read: (node) => node };

/** A shape with a further condition; `holds` notes what is wrong and gives false. */
export function refined<T>(
  shape: Shape<T>,
  extra: JsonSchema,
  holds: (value: T, node: JsonNode, place: string, check: Check) => boolean,
): Shape<T> {
  return {
    schema: { ...shape.schema, ...extra },
    read(node, place, check) {
      const value = shape.read(node, place, check);
      return value !== undefined && holds(value, node, place, check) ? value : undefined;
    },
  };
}

/** An object with what is taken where a key is left out, which the file's reader is told. */
export function defaulted<T extends object, D extends object>(
  shape: Shape<T & Partial<D>>,
  defaults: D,
  say: (place: string, value: unknown) => string,
): Shape<T & D> {
  return {
    schema: shape.schema,
    read(node, place, check) {
      const value = shape.read(node, place, check);
      if (value === undefined) return undefined;
      for (const [key, one] of Object.entries(defaults))
        if (!(key in value)) check.warn(node, join(place, key), say(join(place, key), one));
      return { ...defaults, ...value };
    },
  };
}

/** An object that has exactly one of some keys. */
export function exactlyOne<T extends object>(shape: Shape<T>, keys: readonly string[]): Shape<T> {
  return refined(
    shape,
    { oneOf: keys.map((key) => ({ required: [key] })) },
    (value, node, place, check) => {
      const given = keys.filter((key) => key in value);
      if (given.length === 1) return true;
      check.wrong(
        given.length === 0 ? 'missing' : 'contradiction',
        node,
        place,
        'exactly one of these keys is needed',
        {
          found: given.length === 0 ? 'none of them' : given.map(quote).join(' and '),
          expected: orList(keys.map(quote)),
        },
      );
      return false;
    },
  );
}

/** An object whose keys are names of the user's. */
export function record<T>(
  of: Shape<T>,
  options: { max: number; title?: string },
): Shape<Readonly<Record<string, T>>> {
  return {
    schema: {
      type: 'object',
      additionalProperties: of.schema,
      maxProperties: options.max,
      ...titled(options.title),
    },
    read(node, place, check) {
      const expected = `an object of at most ${options.max} names with their values`;
      if (node.kind !== 'object') return wrongKind(node, place, check, expected);
      if (node.members.length > options.max) {
        return check.wrong('too-large', node, place, 'too many', {
          found: `${node.members.length}`,
          expected,
        });
      }
      const read = node.members.map(
        ({ key, value }) => [key, of.read(value, join(place, key), check)] as const,
      );
      if (read.some(([, value]) => value === undefined)) return undefined;
      return Object.fromEntries(read) as Record<string, T>;
    },
  };
}
