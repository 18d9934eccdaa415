import { expect, test } from 'vitest';
import { followingSockets } from '../../src/app/actions.ts';
import {
  addSocket,
  addTube,
  changeBench,
  freeId,
  newSet,
  setBench,
  setLimit,
  setNoticed,
  setReading,
  setTakes,
  setType,
  setValue,
} from '../../src/app/edits.ts';
import { removeSocket, removeTube, renameSocket, renameTube } from '../../src/app/edit-names.ts';
import { changed, noHistory, redone, undone } from '../../src/app/history.ts';
import type { JsonObject } from '../../src/app/json-edit.ts';
import type { State } from '../../src/app/state.ts';

const DOCUMENT: JsonObject = {
  format: 'stagefit-scenario',
  version: 1,
  title: 'a set',
  'my note': 'kept',
  sockets: [
    {
      id: 'V1',
      stage: 'rc-amplifier',
      tube: '12AX7',
      values: { anodeLoad: '100k', gridResistor: { value: '1M', 'my note': 1 } },
    },
  ],
  tubes: [{ id: 'tin 1', type: '12AX7', section: '1', readings: { emission: { percent: 80 } } }],
};

test('an edit changes what it names; the rest is the same object, unknown keys and all', () => {
  const next = setReading(DOCUMENT, 'tin 1', 'starvedHeater', { drop_percent: 6 });
  expect(next['my note']).toBe('kept');
  expect(next['sockets']).toBe(DOCUMENT['sockets']);
  expect(next['tubes']).toEqual([
    {
      id: 'tin 1',
      type: '12AX7',
      section: '1',
      readings: { emission: { percent: 80 }, starvedHeater: { drop_percent: 6 } },
    },
  ]);
  expect((DOCUMENT['tubes'] as JsonObject[])[0]!['readings']).toEqual({
    emission: { percent: 80 },
  });
});

test('a tube that is fitted is renamed in its place too, and leaves it when it goes', () => {
  const places = ['tin 1', { tube: 'tin 1', section: 2 }, 'tin 2'];
  const socket = (DOCUMENT['sockets'] as JsonObject[])[0]!;
  const fitted: JsonObject = { ...DOCUMENT, sockets: [{ ...socket, fitted: places }] };
  const placesOf = (document: JsonObject): unknown =>
    (document['sockets'] as JsonObject[])[0]!['fitted'];
  expect(placesOf(renameTube(fitted, 'tin 1', 'box 7'))).toEqual([
    'box 7',
    { tube: 'box 7', section: 2 },
    'tin 2',
  ]);
  expect(placesOf(removeTube(fitted, 'tin 1'))).toEqual(['tin 2']);
  expect(renameTube(DOCUMENT, 'tin 1', 'box 7')['sockets']).toBe(DOCUMENT['sockets']);
});

test('what names a tube or a socket follows its new name, and goes with it', () => {
  const [socket] = DOCUMENT['sockets'] as JsonObject[];
  const [tube] = DOCUMENT['tubes'] as JsonObject[];
  const named: JsonObject = {
    ...DOCUMENT,
    sockets: [socket!, { ...socket, id: 'V2' }, { ...socket, id: 'V3' }],
    tubes: [{ ...tube, sockets: ['V1', 'V2'] }],
    lines: [{ id: 'AGC', sockets: ['V1', 'V2'] }],
    inSet: [
      { tube: 'tin 1', socket: 'V1' },
      { tube: 'tin 1', socket: 'V2' },
    ],
  };
  const seen = ({ tubes, lines, inSet }: JsonObject): unknown => ({ tubes, lines, inSet });
  expect(seen(renameSocket(named, 'V1', 'first'))).toMatchObject({
    tubes: [{ sockets: ['first', 'V2'] }],
    lines: [{ sockets: ['first', 'V2'] }],
    inSet: [{ socket: 'first' }, { socket: 'V2' }],
  });
  const gone = removeSocket(named, 'V1');
  expect((gone['sockets'] as JsonObject[]).map(({ id }) => id)).toEqual(['V2', 'V3']);
  expect(gone).not.toHaveProperty('lines');
  expect(seen(gone)).toMatchObject({ tubes: [{ sockets: ['V2'] }], inSet: [{ socket: 'V2' }] });
  const none = removeSocket(gone, 'V2');
  expect((none['tubes'] as JsonObject[])[0]).not.toHaveProperty('sockets');
  expect(none).not.toHaveProperty('inSet');
  expect(renameTube(named, 'tin 1', 'box 7')['inSet']).toMatchObject([
    { tube: 'box 7' },
    { tube: 'box 7' },
  ]);
  expect(removeTube(named, 'tin 1')).not.toHaveProperty('inSet');
});

test('a new set begins with the instrument and the socket on the desk, and no tube', () => {
  const bench = { name: 'mine' };
  const [socket] = DOCUMENT['sockets'] as JsonObject[];
  const full = { ...DOCUMENT, bench, sockets: [{ ...socket, fitted: ['tin 1'] }, { id: 'V2' }] };
  expect(newSet(full, 'V1')).toEqual({
    format: 'stagefit-scenario',
    version: 1,
    title: 'A new set',
    bench,
    sockets: [socket],
    tubes: [],
  });
});

test('a new set may have another socket, and the types that a socket takes change', () => {
  const begun = addSocket(newSet(DOCUMENT, undefined), 'V1', 'rectifier', '5Y3GT');
  expect(begun['sockets']).toEqual([{ id: 'V1', stage: 'rectifier', tube: '5Y3GT' }]);
  const tubeOf = (document: JsonObject): unknown =>
    (document['sockets'] as JsonObject[])[0]!['tube'];
  expect(tubeOf(setTakes(begun, 'V1', ['5V4G']))).toBe('5V4G');
  expect(tubeOf(setTakes(begun, 'V1', ['5V4G', '5Y3GT']))).toEqual(['5V4G', '5Y3GT']);
});

test('another type for the only tube, not read, is another type for the sockets that were set up for it', () => {
  const socket = (id: string, stage: string, takes: string) => ({ id, stage, tube: [takes] });
  const state = (readings: object, tubes = 1) =>
    ({
      tube: 'a',
      good: {
        scenario: {
          tubes: [
            { id: 'a', type: '6BA6', readings },
            { id: 'b', type: '6BA6', readings },
          ].slice(0, tubes),
          sockets: [
            socket('V1', 'agc-if-amplifier', '6BA6'),
            socket('V2', 'output-single-ended', '6V6GT'),
            socket('V3', 'output-single-ended', '6BA6'),
          ],
        },
      },
    }) as unknown as State;
  expect(followingSockets(state({}), '6SK7')).toEqual(['V1', 'V3']);
  expect(followingSockets(state({}), '6C4')).toEqual(['V3']);
  expect(followingSockets(state({ emission: [{ percent: 80 }] }), '6SK7')).toEqual([]);
  expect(followingSockets(state({}, 2), '6SK7')).toEqual([]);
});

test('a value under another word of the trade is changed there, not written a second time', () => {
  const next = setValue(DOCUMENT, 'V1', 'plateLoad', { value: '47k' }, 100e3);
  expect((next['sockets'] as JsonObject[])[0]!['values']).toEqual({
    anodeLoad: '47k',
    gridResistor: { value: '1M', 'my note': 1 },
  });
});

test('tolerance and measured wrap the value; a new value leaves them; taking measured away restores the bare one', () => {
  const measured = setValue(DOCUMENT, 'V1', 'plateLoad', { measured: true }, 100e3);
  const moved = setValue(measured, 'V1', 'plateLoad', { value: '98k' }, 100e3);
  const bare = setValue(moved, 'V1', 'plateLoad', { measured: false }, 100e3);
  const load = (document: JsonObject): unknown =>
    ((document['sockets'] as JsonObject[])[0]!['values'] as JsonObject)['anodeLoad'];
  expect(load(measured)).toEqual({ value: '100k', measured: true });
  expect(load(moved)).toEqual({ value: '98k', measured: true });
  expect(load(bare)).toBe('98k');
  const marked = setValue(moved, 'V1', 'plateLoad', { marked: '47k' }, 100e3);
  expect(load(marked)).toEqual({ value: '98k', measured: true, marked: '47k' });
  expect(load(setValue(marked, 'V1', 'plateLoad', { marked: null }, 100e3))).toEqual(load(moved));
  expect(load(setValue(marked, 'V1', 'plateLoad', { measured: false }, 100e3))).toBe('98k');
  expect(
    (
      (
        setValue(DOCUMENT, 'V1', 'gridResistor', { value: 2e6 }, 1e6)['sockets'] as JsonObject[]
      )[0]!['values'] as JsonObject
    )['gridResistor'],
  ).toEqual({ value: 2e6, 'my note': 1 });
});

test('a value that may be absent is set and taken away again, whatever was said of it', () => {
  const set = setValue(DOCUMENT, 'V1', 'lineClamp', { value: '12 V' }, null);
  const measured = setValue(set, 'V1', 'lineClamp', { measured: true }, null);
  expect((set['sockets'] as JsonObject[])[0]!['values']).toMatchObject({ lineClamp: '12 V' });
  for (const one of [set, measured])
    expect(setValue(one, 'V1', 'lineClamp', { value: null }, 12)).toEqual(DOCUMENT);
});

test('a limit that is taken away leaves no empty object behind', () => {
  const limited = setLimit(DOCUMENT, 'V1', 'gain', 40);
  expect((limited['sockets'] as JsonObject[])[0]!['limits']).toEqual({ gain: 40 });
  expect(setLimit(limited, 'V1', 'gain', undefined)).toEqual(DOCUMENT);
});

test('what was noticed, said yes and no again', () => {
  const yes = setNoticed(DOCUMENT, 'tin 1', 'blueGlow', true);
  expect(setNoticed(yes, 'tin 1', 'blueGlow', true)).toEqual(yes);
  expect(setNoticed(yes, 'tin 1', 'blueGlow', false)).toEqual(DOCUMENT);
});

test('a new type drops the section of the old one; a new tube gets a free name', () => {
  expect(
    (setType(DOCUMENT, 'tin 1', '6BA6', undefined)['tubes'] as JsonObject[])[0],
  ).not.toHaveProperty('section');
  const id = freeId(addTube(DOCUMENT, 'tube 1', '6BA6', undefined), 'tubes', 'tube ');
  expect(id).toBe('tube 2');
});

test('a bench is put where it was, or added', () => {
  expect(Object.keys(setBench({ ...DOCUMENT, bench: { name: 'a' } }, { name: 'b' }))).toEqual([
    ...Object.keys(DOCUMENT),
    'bench',
  ]);
});

test('another instrument: what was read in terms that it has not is taken out, and which tubes is told', () => {
  const divisions: JsonObject = {
    ...DOCUMENT,
    tubes: [
      {
        id: 'a',
        type: '12AX7',
        readings: { emission: { divisions: 31 }, starvedHeater: { drop_percent: 5 } },
      },
      { id: 'b', type: '12AX7', readings: { emission: [{ divisions: 31 }, { milliamps: 2 }] } },
      { id: 'c', type: '12AX7', readings: { emission: { zone: 'fine' } } },
    ],
  };
  const zones = { name: 'z', emission: { scale: { kind: 'zones', zones: [{ name: 'fine' }] } } };
  const { document, dropped } = changeBench(divisions, zones);
  expect(dropped).toEqual(['a', 'b']);
  expect((document['tubes'] as JsonObject[]).map((tube) => tube['readings'])).toEqual([
    { starvedHeater: { drop_percent: 5 } },
    { emission: [{ milliamps: 2 }] },
    { emission: { zone: 'fine' } },
  ]);
  expect(changeBench(DOCUMENT, zones).dropped).toEqual([]);
});

test('undo and redo go both ways, and a change after undo forgets what was undone', () => {
  let history = changed(changed(noHistory, 'a'), 'b');
  const back = undone<string>(history, 'c')!;
  expect(back.value).toBe('b');
  const further = undone(back.history, back.value)!;
  expect(further.value).toBe('a');
  expect(undone(further.history, 'a')).toBeUndefined();
  expect(redone(further.history, 'a')!.value).toBe('b');
  history = changed(further.history, 'a') as typeof history;
  expect(redone(history, 'd')).toBeUndefined();
});
