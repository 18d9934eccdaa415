import type { JsonValue } from '../scenario/json.ts';
import type { LeakageReading } from '../wear/readings.ts';
import {
  isObject,
  keyIn,
  listAt,
  memberOf,
  objectAt,
  withItem,
  withMember,
  type JsonObject,
} from './json-edit.ts';

/**
 * What the page can do to a scenario document: pure functions from document to document. Keys that are not known stay.
 */
type Change = (object: JsonObject) => JsonObject;

function inList(
  document: JsonObject,
  key: 'tubes' | 'sockets',
  id: string,
  change: Change,
): JsonObject {
  const list = listAt(memberOf(document, key));
  return withMember(
    document,
    key,
    list.map((item) => (isObject(item) && item['id'] === id ? change(item) : item)),
  );
}

export const changeTube = (document: JsonObject, id: string, change: Change): JsonObject =>
  inList(document, 'tubes', id, change);

export const changeSocket = (document: JsonObject, id: string, change: Change): JsonObject =>
  inList(document, 'sockets', id, change);

export const setTitle = (document: JsonObject, title: string): JsonObject =>
  withMember(document, 'title', title);

export const setBench = (document: JsonObject, profile: JsonObject): JsonObject =>
  withMember(document, 'bench', profile);

/**
 * Another instrument for the whole set. Emission that was read in terms the new one has not (divisions, its own zones)
 * means nothing on it and is taken out; `dropped` names the tubes.
 */
export function changeBench(
  document: JsonObject,
  profile: JsonObject,
): { readonly document: JsonObject; readonly dropped: readonly string[] } {
  const scale = objectAt(objectAt(profile['emission'])['scale']);
  const zones = new Set(listAt(scale['zones']).map((zone) => objectAt(zone)['name']));
  const fits = (reading: JsonObject): boolean =>
    (reading['divisions'] === undefined || scale['kind'] === 'divisions') &&
    (reading['zone'] === undefined || zones.has(reading['zone']));
  let next = setBench(document, profile);
  const dropped: string[] = [];
  for (const tube of listAt(memberOf(document, 'tubes'))) {
    const id = objectAt(tube)['id'];
    if (typeof id !== 'string') continue;
    const readings = listAt(readingOf(document, id, 'emission'));
    const kept = readings.filter((reading) => fits(objectAt(reading)));
    if (kept.length === readings.length) continue;
    dropped.push(id);
    next = setReading(next, id, 'emission', kept.length === 0 ? undefined : kept);
  }
  return { document: next, dropped };
}

/** A new type has other sections; a section of the old one would only be refused. */
export const setType = (
  document: JsonObject,
  tube: string,
  type: string,
  section: string | undefined,
): JsonObject =>
  changeTube(document, tube, (one) =>
    withMember(withMember(one, 'type', type), 'section', section),
  );

/** The types that a socket takes. */
export const setTakes = (
  document: JsonObject,
  socket: string,
  types: readonly string[],
): JsonObject =>
  changeSocket(document, socket, (one) =>
    withMember(one, 'tube', types.length === 1 ? types[0] : [...types]),
  );

export const setSection = (document: JsonObject, tube: string, section: string): JsonObject =>
  changeTube(document, tube, (one) => withMember(one, 'section', section));

/** One reading by its key, or its removal. */
export const setReading = (
  document: JsonObject,
  tube: string,
  key: string,
  value: JsonValue | undefined,
): JsonObject =>
  changeTube(document, tube, (one) =>
    withMember(one, 'readings', withMember(objectAt(memberOf(one, 'readings')), key, value)),
  );

export function readingOf(document: JsonObject, tube: string, key: string): JsonValue | undefined {
  const found = listAt(memberOf(document, 'tubes')).find(
    (item) => isObject(item) && item['id'] === tube,
  );
  return memberOf(objectAt(memberOf(objectAt(found), 'readings')), key);
}

/** Replaces the leakage readings; a single one without a list stays readable either way. */
export const setLeakage = (
  document: JsonObject,
  tube: string,
  readings: readonly LeakageReading[],
): JsonObject =>
  setReading(
    document,
    tube,
    'leakage',
    readings.length === 0 ? undefined : (readings as unknown as JsonValue),
  );

export function setNoticed(
  document: JsonObject,
  tube: string,
  what: string,
  yes: boolean,
): JsonObject {
  const others = listAt(readingOf(document, tube, 'noticed')).filter((item) => item !== what);
  const noticed = yes ? [...others, what] : others;
  return setReading(document, tube, 'noticed', noticed.length === 0 ? undefined : noticed);
}

/** What a value edit changes; the rest of the value stays as it is in the document. */
export interface ValueChange {
  /** null: the value goes, and the stage does without. */
  readonly value?: JsonValue;
  readonly tolerance_percent?: number;
  readonly measured?: boolean;
  /** What the part is marked; null: as measured. */
  readonly marked?: JsonValue;
}

/** `current` is the value in force, written where the document had only the stage's default. */
export const setValue = (
  document: JsonObject,
  socket: string,
  key: string,
  change: ValueChange,
  current: JsonValue,
): JsonObject =>
  changeSocket(document, socket, (one) => {
    const values = objectAt(memberOf(one, 'values'));
    if (change.value === null) return withMember(one, 'values', withMember(values, key, undefined));
    const before = memberOf(values, key);
    const wrapped: JsonObject = isObject(before) ? before : { value: before ?? current };
    let next: JsonObject = wrapped;
    if (change.value !== undefined) next = withMember(next, 'value', change.value);
    if (change.tolerance_percent !== undefined)
      next = withMember(next, 'tolerance_percent', change.tolerance_percent);
    if (change.measured !== undefined) {
      next = withMember(next, 'measured', change.measured ? true : undefined);
      // a measured part has its own small tolerance, an unmeasured one the stage's
      next = withMember(next, 'tolerance_percent', undefined);
      if (!change.measured) next = withMember(next, 'marked', undefined);
    }
    if (change.marked !== undefined) {
      next = withMember(next, 'marked', change.marked ?? undefined);
      next = withMember(next, 'measured', true);
    }
    const only = Object.keys(next).length === 1 ? next[keyIn(next, 'value')]! : next;
    return withMember(one, 'values', withMember(values, key, only));
  });

/** All values of a socket at once: a preset. */
export const setValues = (
  document: JsonObject,
  socket: string,
  values: JsonObject | undefined,
): JsonObject => changeSocket(document, socket, (one) => withMember(one, 'values', values));

export const setLimit = (
  document: JsonObject,
  socket: string,
  measure: string,
  limit: number | string | undefined,
): JsonObject =>
  changeSocket(document, socket, (one) => {
    const limits = withMember(objectAt(memberOf(one, 'limits')), measure, limit);
    return withMember(one, 'limits', Object.keys(limits).length === 0 ? undefined : limits);
  });

const taken = (
  document: JsonObject,
  key: 'tubes' | 'sockets',
): ReadonlySet<JsonValue | undefined> =>
  new Set(listAt(memberOf(document, key)).map((item) => objectAt(item)['id']));

/** The first of "tube 1", "tube 2", … that is not taken. */
export function freeId(document: JsonObject, key: 'tubes' | 'sockets', stem: string): string {
  const ids = taken(document, key);
  for (let i = 1; ; i += 1) {
    const id = `${stem}${i}`;
    if (!ids.has(id)) return id;
  }
}

export const addTube = (
  document: JsonObject,
  id: string,
  type: string,
  section: string | undefined,
): JsonObject =>
  withMember(document, 'tubes', [
    ...listAt(memberOf(document, 'tubes')),
    { id, type, ...(section === undefined ? {} : { section }), readings: {} },
  ]);

/** A set to begin with: the instrument and the socket that are on the desk, or no socket yet, and no tube. */
export function newSet(document: JsonObject, socket: string | undefined): JsonObject {
  const here = listAt(memberOf(document, 'sockets')).filter(
    (item) => objectAt(item)['id'] === socket,
  );
  const kept = here.map((item) => withMember(objectAt(item), 'fitted', undefined));
  const bench = memberOf(document, 'bench');
  return {
    format: document['format']!,
    version: document['version']!,
    title: 'A new set',
    ...(bench === undefined ? {} : { bench }),
    sockets: kept,
    tubes: [],
  };
}

export const addSocket = (
  document: JsonObject,
  id: string,
  stage: string,
  tube: string,
  values?: JsonObject,
): JsonObject =>
  withMember(document, 'sockets', [
    ...listAt(memberOf(document, 'sockets')),
    { id, stage, tube, ...(values === undefined ? {} : { values }) },
  ]);

export const replaceLeakage = (
  list: readonly LeakageReading[],
  index: number | null,
  reading: LeakageReading | undefined,
): readonly LeakageReading[] =>
  withItem(
    list as unknown as readonly JsonValue[],
    index ?? list.length,
    reading as unknown as JsonValue,
  ) as unknown as readonly LeakageReading[];
