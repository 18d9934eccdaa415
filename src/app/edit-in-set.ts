import type { JsonValue } from '../scenario/json.ts';
import { isObject, listAt, memberOf, withItem, withMember, type JsonObject } from './json-edit.ts';

/** Readings taken in the set, put into the scenario document. */

interface Place {
  readonly tube: string;
  readonly socket: string;
}

function changeCheck(
  document: JsonObject,
  { tube, socket }: Place,
  change: (check: JsonObject) => JsonObject,
): JsonObject {
  const checks = listAt(memberOf(document, 'inSet'));
  const found = checks.findIndex(
    (one) => isObject(one) && one['tube'] === tube && one['socket'] === socket,
  );
  const index = found < 0 ? checks.length : found;
  const old = checks[index];
  const changed = change(isObject(old) ? old : { tube, socket });
  // an entry that says nothing any more goes
  const empty = Object.keys(changed).every((key) => key === 'tube' || key === 'socket');
  const next = withItem(checks, index, empty ? undefined : changed);
  return withMember(document, 'inSet', next.length === 0 ? undefined : next);
}

/** Sets a reading, or takes it out where `volts` is undefined. */
export function setCheckReading(
  document: JsonObject,
  place: Place,
  point: string,
  after: string | undefined,
  volts: JsonValue | undefined,
): JsonObject {
  return changeCheck(document, place, (check) => {
    const readings = listAt(check['readings']);
    const found = readings.findIndex(
      (one) =>
        isObject(one) &&
        typeof one['point'] === 'string' &&
        one['point'].toLowerCase() === point.toLowerCase() &&
        one['after'] === after,
    );
    const reading: JsonObject | undefined =
      volts === undefined ? undefined : { point, volts, ...(after === undefined ? {} : { after }) };
    if (found < 0 && reading === undefined) return check;
    const next = withItem(readings, found < 0 ? readings.length : found, reading);
    return withMember(check, 'readings', next.length === 0 ? undefined : next);
  });
}

/** Input resistance of the meter, or its accuracy; undefined takes the usual one. */
export const setCheckMeter = (
  document: JsonObject,
  place: Place,
  key: 'meter' | 'accuracy_percent',
  value: JsonValue | undefined,
): JsonObject => changeCheck(document, place, (check) => withMember(check, key, value));
