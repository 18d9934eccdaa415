import { expect, test } from 'vitest';
import type { InSetLine } from '../../src/decide/in-set/in-set.ts';
import { remarks } from '../../src/report/in-set-words.ts';

const line = (title: string, value: number | null, unloaded = value): InSetLine => {
  const shown = value === null ? null : { value, low: value - 1, high: value + 1 };
  return { point: title, title, pins: [], newTube: shown, thisTube: shown, unloaded, read: null };
};

test('nothing is said of figures that need no words', () => {
  expect(remarks([line('plate', 100), line('cathode', 2)])).toEqual([]);
});

test('what was not computed is told with why, and where the meter itself takes volts away', () => {
  const [loading, lost, ...more] = remarks([
    line('grid', -2, -4),
    line('plate', null),
    line('screen', null),
  ]);
  expect(loading).toMatch(/^The meter loads the grid: −4\sV without it, −2\sV with it/);
  expect(lost).toMatch(/^Not computed \(plate, screen\): the simulation found no state of rest/);
  expect(more).toEqual([]);
});
