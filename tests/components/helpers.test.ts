import { describe, expect, test } from 'vitest';
import { EMPTY_FORM, formOf, profileFrom } from '../../components/instrument-setup/profile-form.ts';
import { onScale } from '../../components/measure-table/scale.ts';
import { matches } from '../../components/type-search/matches.ts';
import { readTyped, shownValue, stepValue } from '../../components/value-field/typed-value.ts';
import type { Judged, ValueSpec } from '../../src/types.ts';
import { EXAMPLE_PROFILE } from '../../src/wear/profile.ts';

const RESISTOR: ValueSpec = {
  title: 'plate load',
  unit: 'ohm',
  default: 1e5,
  low: 1e3,
  high: 5e6,
  tolerance_percent: 10,
};

describe('a value as typed', () => {
  test('a bare number is kept as a number, a text as it was typed, and read back in words', () => {
    expect(readTyped('47000', RESISTOR)).toEqual({ ok: true, value: 47000, shown: '47\u00a0kΩ' });
    expect(readTyped('4M7', RESISTOR)).toEqual({ ok: true, value: '4M7', shown: '4.7\u00a0MΩ' });
  });
  test('milli for mega is told; so is what lies outside', () => {
    expect(readTyped('2.2 mΩ', RESISTOR)).toMatchObject({
      ok: false,
      message: expect.stringContaining('Did you mean 2.2\u00a0MΩ?'),
    });
    expect(readTyped('9M', RESISTOR)).toMatchObject({
      ok: false,
      message: expect.stringContaining('outside'),
    });
    expect(readTyped('5 V', RESISTOR).ok).toBe(false);
    expect(readTyped('', RESISTOR).ok).toBe(false);
  });
  test('several values with ; between, decimal commas included', () => {
    const agc: ValueSpec = {
      title: 'AGC',
      unit: 'V',
      default: [0],
      low: -60,
      high: 0,
      tolerance_percent: 0,
      list: true,
    };
    expect(readTyped('0; −4,5 V; -10', agc)).toEqual({
      ok: true,
      value: [0, -4.5, -10],
      shown: '0\u00a0V; −4.5\u00a0V; −10\u00a0V',
    });
    expect(readTyped('0; x', agc).ok).toBe(false);
  });
  test('arrows step through the preferred values of IEC 60063 and stop at the range', () => {
    expect(stepValue(100e3, RESISTOR, 1)).toBe(120e3);
    expect(stepValue(100e3, RESISTOR, -1)).toBe(82e3);
    expect(stepValue(4.7e6, RESISTOR, 1)).toBeUndefined();
  });
  test('a leakage of nothing to speak of reads "none", and back', () => {
    const leak: ValueSpec = { ...RESISTOR, high: 1e13 };
    expect(shownValue(1e12, leak)).toBe('none');
    expect(readTyped('none', leak)).toMatchObject({ ok: true, value: 1e12 });
  });
});

test('a value that may be absent reads empty as none, and back; one that must be there does not', () => {
  const clamp: ValueSpec = { ...RESISTOR, unit: 'V', default: null, low: -1, high: 20 };
  for (const typed of ['', ' ', 'none'])
    expect(readTyped(typed, clamp)).toMatchObject({ ok: true, value: null });
  expect(readTyped('12', clamp)).toMatchObject({ ok: true, value: 12 });
  expect(shownValue(null, clamp)).toBe('');
  expect(readTyped('none', RESISTOR).ok).toBe(false);
});

describe('the common scale of the measures: new tube 0, limit 1', () => {
  const judged = (
    value: number,
    newTube: number,
    bound: number,
    sense: 'atLeast' | 'atMost',
    low: number | null = null,
    high: number | null = null,
  ): Judged => ({
    id: 'm',
    title: 'm',
    unit: 'V',
    value,
    newTube,
    low,
    high,
    margin: null,
    status: 'usable',
    reason: '',
    limit: { text: '', sense, bound, reason: '', source: '' },
  });
  test('worse is to the right for both senses', () => {
    expect(onScale(judged(40, 50, 40, 'atLeast'))).toMatchObject({ newTube: 0, value: 1 });
    expect(onScale(judged(30, 50, 40, 'atLeast'))!.value).toBe(2);
    expect(onScale(judged(0.6, 0, 0.3, 'atMost'))).toMatchObject({ newTube: 0, value: 2 });
  });
  test('an interval is in the order of drawing', () => {
    const { low, high } = onScale(judged(44, 50, 40, 'atLeast', 42, 48))!;
    expect([low, high]).toEqual([expect.closeTo(0.2), expect.closeTo(0.8)]);
  });
  test('a new tube beyond the limit is drawn beyond it, not divided by nothing', () => {
    const at = onScale(judged(30, 40, 40, 'atLeast'))!;
    expect(at.newTube).toBe(1);
    expect(at.value).toBeGreaterThan(1);
  });
});

test('a type is found by any of its names, and by words', () => {
  const types = [
    { name: '12AX7', title: 'Twin triode, high mu', device: '12AX7' },
    { name: 'ECC83', title: 'Twin triode, high mu', device: '12AX7' },
    { name: '6BA6', title: 'Remote-cutoff pentode', device: '6BA6' },
  ];
  expect(matches(types, 'ecc-83')[0]!.name).toBe('ECC83');
  expect(matches(types, '12ax').map(({ name }) => name)).toEqual(['12AX7']);
  expect(matches(types, 'remote pentode').map(({ name }) => name)).toEqual(['6BA6']);
  expect(matches(types, 'zz9')).toEqual([]);
});

describe('the set-up of an instrument', () => {
  test('a profile that is not changed comes out as it went in', () => {
    expect(profileFrom(formOf(EXAMPLE_PROFILE), EXAMPLE_PROFILE)).toEqual({
      ok: true,
      profile: EXAMPLE_PROFILE,
    });
  });
  test('zones in the user’s own words', () => {
    const made = profileFrom(
      { ...formOf(EXAMPLE_PROFILE), scale: 'zones', zones: 'tired 0-45; so so 45–70' },
      EXAMPLE_PROFILE,
    );
    expect(made).toMatchObject({
      ok: true,
      profile: {
        emission: {
          scale: {
            kind: 'zones',
            zones: [
              { name: 'tired', from_percent: 0, to_percent: 45 },
              { name: 'so so', from_percent: 45, to_percent: 70 },
            ],
          },
        },
      },
    });
  });
  test('another instrument takes nothing over, and how sure it reads may be left out', () => {
    const form = {
      ...EMPTY_FORM,
      name: 'mine',
      scale: 'divisions' as const,
      fullScale: '60',
      newTube: '45',
      starved: false,
      leakVolts: '90',
      top: '500M',
      short: '100k',
    };
    expect(profileFrom(form, undefined)).toEqual({
      ok: true,
      profile: {
        name: 'mine',
        emission: {
          scale: { kind: 'divisions', fullScale: 60, newTube: 45 },
          accuracy_percent: 10,
        },
        leakage: {
          volts: 90,
          grid: 'negative',
          withPlateCurrent: false,
          top_ohm: 500e6,
          short_ohm: 100e3,
          accuracy_percent: 20,
        },
      },
    });
    expect(profileFrom({ ...form, newTube: '' }, undefined)).toMatchObject({
      ok: false,
      field: 'newTube',
    });
  });
  test('what is not understood names its field', () => {
    expect(
      profileFrom({ ...formOf(EXAMPLE_PROFILE), leakVolts: '100 wolts' }, EXAMPLE_PROFILE),
    ).toMatchObject({ ok: false, field: 'leakVolts' });
    expect(profileFrom({ ...formOf(EXAMPLE_PROFILE), name: ' ' }, EXAMPLE_PROFILE)).toMatchObject({
      ok: false,
      field: 'name',
    });
  });
});
