import type { JsonValue } from '../scenario/json.ts';
import { changeSocket, changeTube } from './edits.ts';
import { isObject, listAt, memberOf, objectAt, withMember, type JsonObject } from './json-edit.ts';

/** Tubes and sockets are named in several places of a document: what goes or is renamed does so in all of them. */

/** The tube goes, also out of the places that it was fitted in, and with what was read of it in the set. */
export const removeTube = (document: JsonObject, id: string): JsonObject =>
  checkedUnder(refitted(without(document, 'tubes', id), id, undefined), 'tube', id, undefined);

/** A new name, also where the tube is fitted and where it was read in the set. */
export const renameTube = (document: JsonObject, id: string, name: string): JsonObject =>
  checkedUnder(
    refitted(
      changeTube(document, id, (one) => withMember(one, 'id', name)),
      id,
      name,
    ),
    'tube',
    id,
    name,
  );

const without = (document: JsonObject, key: 'tubes' | 'sockets', id: string): JsonObject =>
  withMember(
    document,
    key,
    listAt(memberOf(document, key)).filter((item) => objectAt(item)['id'] !== id),
  );

/** What was read in the set with a tube or in a socket, under its new name or not at all. */
function checkedUnder(
  document: JsonObject,
  of: 'tube' | 'socket',
  id: string,
  name: string | undefined,
): JsonObject {
  const checks = memberOf(document, 'inSet');
  if (checks === undefined) return document;
  const left = listAt(checks).flatMap((check): JsonValue[] => {
    if (!isObject(check) || check[of] !== id) return [check];
    return name === undefined ? [] : [{ ...check, [of]: name }];
  });
  return withMember(document, 'inSet', left.length === 0 ? undefined : left);
}

/** The socket goes, also from its line and from the tubes that were meant for it. */
export const removeSocket = (document: JsonObject, id: string): JsonObject =>
  mentioned(without(document, 'sockets', id), id, undefined);

export const renameSocket = (document: JsonObject, id: string, name: string): JsonObject =>
  mentioned(
    changeSocket(document, id, (one) => withMember(one, 'id', name)),
    id,
    name,
  );

/** Every mention of a socket beside itself, under its new name or taken out. A line of one socket is none. */
function mentioned(document: JsonObject, id: string, name: string | undefined): JsonObject {
  const told = (list: JsonValue | undefined): JsonValue[] =>
    listAt(list).flatMap((one) => (one !== id ? [one] : name === undefined ? [] : [name]));
  const under = (key: 'lines' | 'tubes', least: number, drop: boolean): JsonValue[] =>
    listAt(memberOf(document, key)).flatMap((item): JsonValue[] => {
      if (!isObject(item) || !listAt(item['sockets']).includes(id)) return [item];
      const sockets = told(item['sockets']);
      if (sockets.length >= least) return [{ ...item, sockets }];
      return drop ? [] : [withMember(item, 'sockets', undefined)];
    });
  const lines = under('lines', 2, true);
  const next = withMember(document, 'tubes', under('tubes', 1, false));
  return checkedUnder(
    memberOf(document, 'lines') === undefined
      ? next
      : withMember(next, 'lines', lines.length === 0 ? undefined : lines),
    'socket',
    id,
    name,
  );
}

/** Every place that a tube is fitted in, under its new name or empty. */
function refitted(document: JsonObject, id: string, name: string | undefined): JsonObject {
  const holds = (place: JsonValue): boolean => (isObject(place) ? place['tube'] : place) === id;
  const sockets = listAt(memberOf(document, 'sockets'));
  if (!sockets.some((socket) => listAt(memberOf(objectAt(socket), 'fitted')).some(holds)))
    return document;
  const place = (one: JsonValue): JsonValue[] =>
    !holds(one) ? [one] : name === undefined ? [] : [isObject(one) ? { ...one, tube: name } : name];
  return withMember(
    document,
    'sockets',
    sockets.map((socket) => {
      const fitted = isObject(socket) ? memberOf(socket, 'fitted') : undefined;
      if (!isObject(socket) || fitted === undefined) return socket;
      const left = listAt(fitted).flatMap(place);
      return withMember(socket, 'fitted', left.length === 0 ? undefined : left);
    }),
  );
}
