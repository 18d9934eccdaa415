import type { JsonValue } from '../scenario/json.ts';
import { ourKey } from '../scenario/terms.ts';

/** Changes to a plain JSON document, each giving a new one; what is not on the way is shared. */
export type JsonObject = { readonly [key: string]: JsonValue };

export const isObject = (value: JsonValue | undefined): value is JsonObject =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

export const objectAt = (value: JsonValue | undefined): JsonObject =>
  isObject(value) ? value : {};

export const listAt = (value: JsonValue | undefined): readonly JsonValue[] =>
  Array.isArray(value)
    ? (value as readonly JsonValue[])
    : value === undefined || value === null
      ? []
      : [value];

/** The key under which an object has what we call `key`: itself, or another word of the trade for it. */
export function keyIn(object: JsonObject, key: string): string {
  if (key in object) return key;
  return Object.keys(object).find((other) => ourKey(other) === key) ?? key;
}

export const memberOf = (object: JsonObject, key: string): JsonValue | undefined =>
  object[keyIn(object, key)];

/** Sets a member, or removes it where the value is undefined. The place of the key among the others stays. */
export function withMember(
  object: JsonObject,
  key: string,
  value: JsonValue | undefined,
): JsonObject {
  const own = keyIn(object, key);
  if (value !== undefined) return { ...object, [own]: value };
  const { [own]: _, ...rest } = object;
  return rest;
}

export function withItem(
  list: readonly JsonValue[],
  index: number,
  value: JsonValue | undefined,
): readonly JsonValue[] {
  if (value === undefined) return list.filter((_, i) => i !== index);
  return index >= list.length
    ? [...list, value]
    : list.map((item, i) => (i === index ? value : item));
}
