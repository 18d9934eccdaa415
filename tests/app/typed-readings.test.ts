import { describe, expect, test } from 'vitest';
import {
  shownLeak,
  shownShorts,
  typedEmission,
  typedLeak,
  typedLimit,
  typedMinutes,
  typedShorts,
} from '../../src/app/typed-readings.ts';

const NB = '\u00a0';

describe('a leakage as it is typed', () => {
  test.each([
    ['290', { megohms: 290 }],
    ['12M', { megohms: 12 }],
    ['1,4 µA', { microamps: 1.4 }],
    ['1.4uA', { microamps: 1.4 }],
    ['350 nA', { microamps: 0.35 }],
    ['>500M', { aboveMegohms: 500 }],
    ['above 500', { aboveMegohms: 500 }],
    ['2.2 Gohm', { megohms: 2200 }],
    ['470k', { megohms: 0.47 }],
  ])('%s', (typed, value) => expect(typedLeak(typed)).toEqual({ ok: true, value }));

  test.each(['', 'plenty', '12 V', '<3M', '0', '∞', '-4', '>2µA'])('%s is not taken', (typed) =>
    expect(typedLeak(typed)).toMatchObject({ ok: false, message: expect.stringMatching(/\w/) }),
  );

  test('what is shown reads back as the same reading', () => {
    for (const reading of [
      { megohms: 290 },
      { megohms: 1200 },
      { megohms: 0.05 },
      { aboveMegohms: 1000 },
      { microamps: 0.35 },
    ])
      expect(typedLeak(shownLeak(reading))).toEqual({ ok: true, value: reading });
  });
});

describe('emission in the terms of the instrument', () => {
  const zones = {
    kind: 'zones',
    zones: [{ name: 'so-so', from_percent: 40, to_percent: 65 }],
  } as const;
  test('percent, milliamperes, divisions, zones', () => {
    expect(typedEmission('80', { kind: 'percent' })).toEqual({ ok: true, value: { percent: 80 } });
    expect(typedEmission('12 mA', { kind: 'percent' })).toEqual({
      ok: true,
      value: { milliamps: 12 },
    });
    expect(typedEmission('12', { kind: 'milliamps' })).toEqual({
      ok: true,
      value: { milliamps: 12 },
    });
    expect(typedEmission('31 div', { kind: 'divisions', fullScale: 60 })).toEqual({
      ok: true,
      value: { divisions: 31 },
    });
    expect(typedEmission('SO-SO', zones)).toEqual({ ok: true, value: { zone: 'so-so' } });
  });
  test('beyond the scale, or a zone that the instrument has not', () => {
    expect(typedEmission('61', { kind: 'divisions', fullScale: 60 }).ok).toBe(false);
    expect(typedEmission('superb', zones)).toMatchObject({
      ok: false,
      message: expect.stringContaining('so-so'),
    });
  });
});

test('minutes: plain, with a clock, with a unit; nothing typed is no time', () => {
  expect(typedMinutes('8')).toEqual({ ok: true, value: 8 });
  expect(typedMinutes('2:30')).toEqual({ ok: true, value: 2.5 });
  expect(typedMinutes('90 s')).toEqual({ ok: true, value: 1.5 });
  expect(typedMinutes(' ')).toEqual({ ok: true, value: undefined });
  expect(typedMinutes('soon').ok).toBe(false);
});

test('shorts: none, one, several, hot; British electrode names', () => {
  expect(typedShorts('none')).toEqual({ ok: true, value: [] });
  expect(typedShorts('')).toEqual({ ok: true, value: undefined });
  expect(typedShorts('g1-k 50k hot; anode/g2 2M')).toEqual({
    ok: true,
    value: [
      { between: ['grid', 'cathode'], ohms: 50e3, hot: true },
      { between: ['plate', 'screen'], ohms: 2e6 },
    ],
  });
  expect(typedShorts('grid-grid 5').ok).toBe(false);
  expect(shownShorts([{ between: ['grid', 'cathode'], ohms: 50e3, hot: true }])).toBe(
    `grid-cathode 50${NB}kΩ hot`,
  );
});

test('limits: a number, a relation, a formula; empty for the stage’s own', () => {
  expect(typedLimit('300 mV', 'biasShift', 'V')).toEqual({ ok: true, value: 0.3 });
  expect(typedLimit('≤ 0,5 V', 'biasShift', 'V')).toEqual({ ok: true, value: 'biasShift <= 0.5' });
  expect(typedLimit('>= 0.8 * newTube.gain', 'gain', '×')).toEqual({
    ok: true,
    value: 'gain >= 0.8 * newTube.gain',
  });
  expect(typedLimit('', 'gain', '×')).toEqual({ ok: true, value: undefined });
  expect(typedLimit('a lot', 'gain', '×').ok).toBe(false);
});
