import type { LeakageEdit, ReadingEdit } from '../../components/tube-place/tube-place.ts';
import type { JsonValue } from '../scenario/json.ts';
import type { Electrode } from '../types.ts';
import type { InstrumentProfile } from '../wear/profile.ts';
import type { LeakageReading, Readings } from '../wear/readings.ts';
import { replaceLeakage, setLeakage, setReading } from './edits.ts';
import type { JsonObject } from './json-edit.ts';
import {
  inTime,
  typedEmission,
  typedLeak,
  typedMinutes,
  typedNumber,
  typedShorts,
  type Understood,
} from './typed-readings.ts';

/** What a typed reading does to the document, or why it cannot be taken. */
export type Outcome =
  | { readonly kind: 'change'; change(document: JsonObject): JsonObject }
  | { readonly kind: 'wrong'; readonly message: string }
  /** Part of a reading that needs more before it says anything. */
  | { readonly kind: 'incomplete'; readonly message: string };

const wrong = (message: string): Outcome => ({ kind: 'wrong', message });

interface About {
  readonly tube: string;
  readonly readings: Readings;
  readonly bench: InstrumentProfile;
  /** What was typed into the other parts of a reading that is not complete yet, by key. */
  readonly waiting: Readonly<Record<string, string>>;
}

export function editReading({ key, typed }: ReadingEdit, about: About): Outcome {
  const { tube, readings, bench } = about;
  const text = typed.trim();
  const to = (name: string, value: JsonValue | undefined): Outcome => ({
    kind: 'change',
    change: (document) => setReading(document, tube, name, value),
  });
  const taken = <T>(read: Understood<T>, use: (value: T) => Outcome): Outcome =>
    read.ok ? use(read.value) : wrong(read.message);
  if (key === 'emission') {
    const before = readings.emission ?? [];
    const last = before.at(-1);
    if (text === '') return to('emission', undefined);
    return taken(typedEmission(text, bench.emission.scale), (value) => {
      const now = { ...value, ...(last?.minutes === undefined ? {} : { minutes: last.minutes }) };
      return to(
        'emission',
        before.length > 1 ? [...(before.slice(0, -1) as unknown as JsonValue[]), now] : now,
      );
    });
  }
  if (key === 'drop') {
    if (text === '') return to('starvedHeater', undefined);
    return taken(typedNumber(text, '%', 1, -50, 100), (drop_percent) =>
      to('starvedHeater', { ...readings.starvedHeater, drop_percent }),
    );
  }
  if (key === 'shorts')
    return taken(typedShorts(text), (value) => to('shorts', value as unknown as JsonValue));
  if (key === 'heaterCathode') {
    if (text === '') return to('heaterCathode', undefined);
    return taken(typedLeak(text), (value) => to('heaterCathode', { ...value }));
  }
  if (key === 'hoursSinceLastUsed') {
    if (text === '') return to(key, undefined);
    return taken(typedNumber(text, 's', 3600, 0, 1e7), (value) => to(key, value));
  }
  return editConditions(key, text, about, to, taken);
}

/** Readings that say nothing without their conditions: parts are collected until all are there. */
function editConditions(
  key: string,
  text: string,
  { readings, waiting }: About,
  to: (name: string, value: JsonValue | undefined) => Outcome,
  taken: <T>(read: Understood<T>, use: (value: T) => Outcome) => Outcome,
): Outcome {
  const [name, part = 'value'] = key.split('.') as [string, string?];
  const grid = name === 'gridCurrent';
  const before = { ...(grid ? readings.gridCurrent : readings.transconductance) } as Record<
    string,
    number
  >;
  const fields: Readonly<Record<string, (typed: string) => Understood<Record<string, number>>>> = {
    microamps: (typed) => named('microamps', typedNumber(typed, 'A', 1e-6, -1e5, 1e5)),
    value: (typed) =>
      typed.endsWith('%')
        ? named('percent', typedNumber(typed, '%', 1, 0, 1000))
        : named('mS', typedNumber(typed, 'S', 1e-3, 0, 1000)),
    plateVolts: (typed) => named('plateVolts', typedNumber(typed, 'V', 1, 0, 2000)),
    screenVolts: (typed) => named('screenVolts', typedNumber(typed, 'V', 1, 0, 1000)),
    gridVolts: (typed) => named('gridVolts', typedNumber(typed, 'V', 1, -500, 50)),
  };
  const main = grid ? 'microamps' : 'value';
  if (text === '') {
    if (part === main) return to(name, undefined);
    const { [part]: _, ...rest } = before;
    return grid ? to(name, undefined) : to(name, rest);
  }
  return taken(fields[part]!(text), (value) => {
    let next: Record<string, number> = { ...before, ...value };
    if ('percent' in value) next = { percent: value['percent']! };
    if ('mS' in value) delete next['percent'];
    for (const [other, typed] of Object.entries(waiting)) {
      const [owner, field = 'value'] = other.split('.') as [string, string?];
      if (owner !== name || other === key) continue;
      const read = fields[field]!(typed);
      if (read.ok) next = { ...next, ...read.value };
    }
    const missing = (
      grid
        ? ['microamps', 'plateVolts', 'gridVolts']
        : 'percent' in next
          ? ['percent']
          : ['mS', 'plateVolts', 'gridVolts']
    ).filter((one) => next[one] === undefined);
    if (missing.length === 0) return to(name, next);
    return {
      kind: 'incomplete',
      message: `Also needed: ${missing.map((one) => WORDS[one] ?? one).join(', ')}.`,
    };
  });
}

const WORDS: Readonly<Record<string, string>> = {
  microamps: 'the current',
  mS: 'the transconductance',
  plateVolts: 'plate volts',
  gridVolts: 'grid volts',
};

const named = (name: string, read: Understood<number>): Understood<Record<string, number>> =>
  read.ok ? { ok: true, value: { [name]: read.value } } : read;

/** A leakage cell: a new reading, a changed one, or one that is emptied and thereby removed. */
export function editLeakage(
  { index, minutes, typed }: LeakageEdit,
  { tube, readings }: About,
): Outcome {
  const before = readings.leakage ?? [];
  const old = index === null ? undefined : before[index];
  const to = (list: readonly LeakageReading[]): Outcome => ({
    kind: 'change',
    change: (document) => setLeakage(document, tube, inTime(list)),
  });
  if (typed.trim() === '') return to(replaceLeakage(before, index, undefined));
  const value = typedLeak(typed);
  if (!value.ok) return wrong(value.message);
  const time = typedMinutes(minutes);
  if (!time.ok) return wrong(time.message);
  const path = old?.path ?? before[0]?.path;
  const reading: LeakageReading = {
    ...(time.value === undefined ? {} : { minutes: time.value }),
    ...value.value,
    ...(old?.atVolts === undefined ? {} : { atVolts: old.atVolts }),
    ...(path === undefined ? {} : { path }),
  };
  return to(replaceLeakage(before, index, reading));
}

/** All leakage readings along one path, or along one that is not known. */
export function editPath(path: string, { tube, readings }: About): Outcome {
  const list = (readings.leakage ?? []).map((reading): LeakageReading => {
    const next: { -readonly [K in keyof LeakageReading]: LeakageReading[K] } = { ...reading };
    if (path === '') delete next.path;
    else next.path = ['grid', path as Electrode];
    return next;
  });
  return { kind: 'change', change: (document) => setLeakage(document, tube, list) };
}
