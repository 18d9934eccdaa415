import type { AcceptanceMap } from '../decide/map.ts';
import { findStage } from '../stage/catalogue.ts';
import type { Change, Electrode, Family } from '../types.ts';
import type { CheckEdit } from '../../components/in-set-view/in-set-view.ts';
import type { ValueEdit } from '../../components/value-field/value-field.ts';
import type { LimitEdit } from '../../components/measure-table/measure-table.ts';
import type { LeakageEdit, ReadingEdit } from '../../components/tube-place/tube-place.ts';
import type { TypeName } from '../../components/type-search/matches.ts';
import type { JsonValue } from '../scenario/json.ts';
import { writeJson } from '../scenario/write.ts';
import { EXAMPLE_PROFILE, type InstrumentProfile } from '../wear/profile.ts';
import { bundled } from './bundled.ts';
import { firstSection, stageFor, typeInfo, typeNames } from './catalogue.ts';
import { setCheckMeter, setCheckReading } from './edit-in-set.ts';
import { removeSocket, removeTube, renameSocket, renameTube } from './edit-names.ts';
import { editLeakage, editPath, editReading, type Outcome } from './edit-readings.ts';
import {
  addSocket,
  addTube,
  changeBench,
  freeId,
  newSet,
  setLimit,
  setNoticed,
  setSection,
  setTakes,
  setTitle,
  setType,
  setValue,
  setValues,
} from './edits.ts';
import type { JsonObject } from './json-edit.ts';
import { hasReading, socketOf, tubeOf, type State } from './state.ts';
import { typedLimit, typedNumber } from './typed-readings.ts';
import type { Workbench } from './workbench.ts';

/** What the user did, as elements tell it, and what it does to the workbench. One entry an event. */
export const ACTIONS: Readonly<Record<string, (bench: Workbench, detail: never) => void>> = {
  'tube-pick': (bench, { id }: { id: string }) => bench.pick({ tube: id }),
  'tube-add': (bench) => {
    const { good } = bench.state;
    if (good === undefined) return;
    const type = tubeOf(bench.state)?.type ?? socketOf(bench.state)?.tube[0] ?? '12AX7';
    const id = freeId(good.document, 'tubes', 'tube ');
    if (
      bench.edit((document) => addTube(document, id, type, firstSection(type, familiesOf(bench))))
    )
      bench.pick({ tube: id });
  },
  'tube-remove': (bench) => void bench.edit((document) => removeTube(document, bench.state.tube)),
  'tube-rename': (bench, { id }: { id: string }) => {
    const before = bench.state.tube;
    const typed = { key: 'tube-name', typed: id };
    if (bench.edit((document) => renameTube(document, before, id.trim()), typed))
      bench.pick({ tube: id.trim() });
  },
  'type-pick': (bench, { name }: TypeName) => {
    const following = followingSockets(bench.state, name);
    bench.edit((document) =>
      following.reduce(
        (next, socket) => setTakes(next, socket, [name]),
        setType(document, bench.state.tube, name, firstSection(name, familiesOf(bench))),
      ),
    );
  },
  'section-pick': (bench, { section }: { section: string }) =>
    void bench.edit((document) => setSection(document, bench.state.tube, section)),
  'bench-pick': (bench, { name }: { name: string }) => {
    const profile = profileNamed(bench, name);
    if (profile !== undefined) putBench(bench, profile);
  },
  'bench-edit': () => void (location.hash = 'instrument'),
  'bench-cancel': () => toBench(),
  'bench-save': (bench, profile: InstrumentProfile) => {
    const json = profile as unknown as JsonObject;
    bench.undraft('instrument');
    if (!putBench(bench, json)) return;
    void bench.saveBench({ name: profile.name, text: JSON.stringify(json) });
    toBench();
  },
  'reading-edit': (bench, edit: ReadingEdit) =>
    take(bench, edit.key, edit.typed, (about) => editReading(edit, about)),
  'leakage-edit': (bench, edit: LeakageEdit) =>
    take(
      bench,
      edit.index === null ? 'leakage.new' : `leakage.${edit.index}`,
      edit.typed,
      (about) => editLeakage(edit, about),
    ),
  'path-pick': (bench, { path }: { path: string }) =>
    take(bench, 'path', path, (about) => editPath(path, about)),
  clock: (bench, { run }: { run: boolean }) => {
    const { [bench.state.tube]: _, ...others } = bench.state.clocks;
    bench.set({ clocks: run ? { ...others, [bench.state.tube]: Date.now() } : others });
  },
  'socket-pick': (bench, { id }: { id: string }) => bench.pick({ socket: id }),
  'socket-add': (bench, { stage }: { stage: string }) => {
    const { good } = bench.state;
    const tube = tubeOf(bench.state);
    if (good === undefined) return;
    const id = freeId(good.document, 'sockets', 'V');
    if (bench.edit((document) => addSocket(document, id, stage, tube?.type ?? '12AX7')))
      bench.pick({ socket: id });
  },
  'socket-remove': (bench) =>
    void bench.edit((document) => removeSocket(document, bench.state.socket)),
  'socket-rename': (bench, { id }: { id: string }) => {
    const before = bench.state.socket;
    const typed = { key: 'socket-name', typed: id };
    if (bench.edit((document) => renameSocket(document, before, id.trim()), typed))
      bench.pick({ socket: id.trim() });
  },
  'socket-takes': (bench, { typed }: { typed: string }) => {
    const types = typed.split(/[,;]/).flatMap((one) => (one.trim() === '' ? [] : [one.trim()]));
    const draft = { key: 'socket-takes', typed };
    if (types.length === 0) bench.undraft(draft.key);
    else bench.edit((document) => setTakes(document, bench.state.socket, types), draft);
  },
  'preset-pick': (bench, { id }: { id: string }) => {
    const values =
      id === 'default' ? undefined : presetsFor(bench).find((one) => one.id === id)?.values;
    bench.edit((document) => setValues(document, bench.state.socket, values));
  },
  'value-edit': (bench, { key, ...change }: ValueEdit) => {
    const current = socketOf(bench.state)?.values[key]?.value;
    bench.edit((document) =>
      setValue(
        document,
        bench.state.socket,
        key,
        change as Parameters<typeof setValue>[3],
        (current ?? null) as JsonValue,
      ),
    );
  },
  'limit-edit': (bench, { measure, typed }: LimitEdit) => {
    const unit = bench.state.report?.measures.find(({ id }) => id === measure)?.unit ?? '';
    const key = `limit.${measure}`;
    const read = typedLimit(typed, measure, unit);
    if (!read.ok) bench.draft(key, typed, read.message);
    else
      bench.edit((document) => setLimit(document, bench.state.socket, measure, read.value), {
        key,
        typed,
      });
  },
  'answer-question': (bench, { id, answer }: { id: string; answer: boolean }) =>
    void bench.edit((document) => setNoticed(document, bench.state.tube, id, answer)),
  'try-change': (bench, change: Change) => {
    const { key, to } = change;
    if (key !== null && to !== null)
      bench.edit((document) => setValue(document, bench.state.socket, key, { value: to }, to));
  },
  'check-edit': (bench, { point, after, typed }: CheckEdit) => {
    const key = `check.${after === undefined ? point : `${point}@${after}`}`;
    const percent = point === 'heater';
    const read =
      typed.trim() === ''
        ? ({ ok: true, value: undefined } as const)
        : typedNumber(typed, percent ? '%' : 'V', 1, percent ? 0 : -1e5, percent ? 200 : 1e5);
    if (!read.ok) bench.draft(key, typed, read.message);
    else
      bench.edit((document) => setCheckReading(document, bench.state, point, after, read.value), {
        key,
        typed,
      });
  },
  'check-meter': (bench, { key, typed }: { key: 'meter' | 'accuracy_percent'; typed: string }) => {
    const draft = { key: `check.meter.${key}`, typed };
    const read =
      typed.trim() === ''
        ? ({ ok: true, value: undefined } as const)
        : key === 'meter'
          ? typedNumber(typed, 'ohm', 1, 1e3, 1e12)
          : typedNumber(typed, '%', 1, 0.01, 20);
    if (!read.ok) bench.draft(draft.key, typed, read.message);
    else bench.edit((document) => setCheckMeter(document, bench.state, key, read.value), draft);
  },
  'lesson-ask': (bench, lesson: { lesson: string; values: Readonly<Record<string, number>> }) =>
    bench.set({ lesson: { id: lesson.lesson, values: lesson.values } }),
  'map-path': (bench, { path }: { path: readonly [Electrode, Electrode] }) =>
    bench.set({ mapPath: { tube: bench.state.tube, socket: bench.state.socket, path } }),
  'map-keep': (bench, { as }: { as: 'csv' | 'json' }) => {
    const { map } = bench.state.desk.answers;
    if (map !== undefined) void keepMap(map, as);
  },
  'cell-pick': (bench, pair: { tube: string; socket: string }) => {
    bench.pick(pair);
    toBench();
  },
  'desk-stop': (bench) => bench.desk.stop(),
  'desk-again': (bench) => bench.desk.again(),
  'stop-run': (bench) => bench.stop(),
  'retry-run': (bench) => bench.retry(),
  'set-rename': (bench, { title }: { title: string }) =>
    void bench.edit((document) => setTitle(document, title)),
  'set-new': (bench, { stage }: { stage?: string }) => {
    const { good, socket } = bench.state;
    if (good === undefined) return;
    const type =
      stage === undefined ? (socketOf(bench.state)?.tube[0] ?? '12AX7') : usualType(stage);
    const families = stage === undefined ? familiesOf(bench) : (findStage(stage)?.families ?? []);
    const begun =
      stage === undefined
        ? newSet(good.document, socket)
        : addSocket(newSet(good.document, undefined), 'V1', stage, type);
    const next = addTube(begun, 'tube 1', type, firstSection(type, families));
    void bench.flush().then(() => bench.begin(writeJson(next), 'a new set') && toBench());
  },
  'set-open': (bench, { id }: { id: string }) => void bench.openSet(id).then(() => toBench()),
  'set-copy': (bench, { id }: { id: string }) => void bench.copySet(id),
  'set-remove': (bench, { id }: { id: string }) => void bench.removeSet(id),
  'example-open': (bench, { id }: { id: string }) => {
    const example = bundled.find((one) => one.id === id);
    if (example !== undefined)
      void bench.flush().then(() => bench.begin(example.text, id) && toBench());
  },
  'file-import': (bench, { name, text }: { name: string; text: string }) =>
    void bench.flush().then(() => bench.begin(text, name) && toBench()),
  'file-export': (bench) => keepAsFile(bench),
  'sheet-print': () => print(),
  'sheet-save': ({ state }, { as }: { as: 'csv' | 'json' }) =>
    void import('./sheets.ts').then(({ answerFile }) => {
      const file = answerFile(state, as);
      if (file !== undefined) download(file.text, file.type, `${nameOf(file.what)}.${as}`);
    }),
  'label-print': ({ state }) =>
    void import('./sheets.ts').then(({ printLabel }) => printLabel(state)),
};

function putBench(bench: Workbench, profile: JsonObject): boolean {
  let dropped: readonly string[] = [];
  const taken = bench.edit(
    (document) => {
      const changed = changeBench(document, profile);
      dropped = changed.dropped;
      return changed.document;
    },
    { key: 'instrument', typed: '' },
  );
  if (taken && dropped.length > 0)
    bench.set({
      notice: `The emission of ${dropped.join(', ')} was read in terms that this instrument does not have and was taken out. Undo brings it back.`,
    });
  return taken;
}

/** Views are routes, so that the browser's own back works. */
function toBench(): void {
  location.hash = 'bench';
}

function take(
  bench: Workbench,
  key: string,
  typed: string,
  outcomeFor: (about: Parameters<typeof editReading>[1]) => Outcome,
): void {
  const { good, tube, drafts } = bench.state;
  const found = tubeOf(bench.state);
  if (good === undefined || found === undefined) return;
  const waiting = Object.fromEntries(
    Object.entries(drafts).map(([one, draft]) => [one, draft.typed]),
  );
  const outcome = outcomeFor({
    tube,
    readings: found.readings,
    bench: good.scenario.bench,
    waiting,
  });
  if (outcome.kind !== 'change') {
    bench.draft(key, typed, outcome.message);
    return;
  }
  const [owner] = key.split('.');
  if (bench.edit((document) => outcome.change(document), { key, typed }))
    for (const other of Object.keys(drafts))
      if (other.startsWith(`${owner}.`) && owner !== 'leakage') bench.undraft(other);
}

/**
 * Sockets that were set up for the type of a tube that nobody has read, as in a new set: another type for the tube is
 * another type for them, where their stage takes it.
 */
export function followingSockets(state: State, type: string): readonly string[] {
  const tube = tubeOf(state);
  const { tubes = [], sockets = [] } = state.good?.scenario ?? {};
  if (tube === undefined || tubes.length > 1 || hasReading(state)) return [];
  return sockets
    .filter(({ tube: takes }) => takes.length === 1 && takes[0] === tube.type)
    .filter((socket) => goesInto(type, stageFor(socket)?.families ?? []))
    .map(({ id }) => id);
}

function familiesOf(bench: Workbench) {
  return stageFor(socketOf(bench.state))?.families ?? [];
}

function profileNamed(bench: Workbench, name: string): JsonObject | undefined {
  if (name === EXAMPLE_PROFILE.name) return EXAMPLE_PROFILE as unknown as JsonObject;
  const kept = bench.state.benches.find((one) => one.name === name);
  return kept === undefined ? undefined : (JSON.parse(kept.text) as JsonObject);
}

/** A type to begin with in a stage: that of the first example with such a socket, else the first type that fits. */
function usualType(stage: string): string {
  type Sockets = readonly { readonly stage: string; readonly tube: string | readonly string[] }[];
  const socket = bundled
    .flatMap(({ text }) => (JSON.parse(text) as { sockets: Sockets }).sockets)
    .find((one) => one.stage === stage);
  if (socket !== undefined) return typeof socket.tube === 'string' ? socket.tube : socket.tube[0]!;
  const families = findStage(stage)?.families ?? [];
  return typeNames().find(({ name }) => goesInto(name, families))?.name ?? '12AX7';
}

const goesInto = (type: string, families: readonly Family[]): boolean =>
  typeInfo(type).sections.some(({ family }) => families.includes(family));

/** Ready values for the socket's stage: those of the examples' sockets with the same stage. */
export function presetsFor(
  bench: Workbench,
): readonly { readonly id: string; readonly title: string; readonly values: JsonObject }[] {
  const stage = socketOf(bench.state)?.stage;
  return bundled.flatMap(({ id, text }) => {
    const sockets = (
      JSON.parse(text) as {
        sockets: readonly { id: string; title?: string; stage: string; values?: JsonObject }[];
      }
    ).sockets;
    return sockets
      .filter((socket) => socket.stage === stage)
      .map((socket) => ({
        id: `${id}/${socket.id}`,
        title: `${socket.title ?? socket.id}, ${id.replaceAll('-', ' ')}`,
        values: socket.values ?? {},
      }));
  });
}

/** The scenario as the file the command line reads; for a set that no longer reads, its text as it was. */
export function keepAsFile({ state }: Workbench): void {
  const { good, broken } = state;
  const text = good?.text ?? broken?.text;
  if (text === undefined) return;
  download(
    text,
    'application/json',
    `${nameOf(good?.scenario.title ?? broken?.title ?? 'set')}.json`,
  );
}

/** The same documents as the command line's. */
async function keepMap(map: AcceptanceMap, as: 'csv' | 'json'): Promise<void> {
  const name = `${nameOf(`map ${map.socket.id}`)}.${as}`;
  if (as === 'json') return download(`${JSON.stringify(map, null, 2)}\n`, 'application/json', name);
  const [{ csvText }, { mapTable }] = await Promise.all([
    import('../report/csv.ts'),
    import('../report/tables.ts'),
  ]);
  download(csvText(mapTable(map)), 'text/csv', name);
}

const nameOf = (title: string): string =>
  title
    .replaceAll(/[^\p{L}\p{N}]+/gu, '-')
    .replaceAll(/^-|-$/g, '')
    .slice(0, 60) || 'set';

function download(text: string, type: string, name: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
