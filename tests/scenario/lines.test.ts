import { describe, expect, test } from 'vitest';
import { readerContext } from '../../src/cases.ts';
import { FileProblem } from '../../src/scenario/check.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { Scenario } from '../../src/scenario/scenario.ts';

/** Lines that sockets share: what is read, and what is refused. The set is invented. */
const socket = (id: string, values: object = {}, stage = 'agc-if-amplifier'): object => ({
  id,
  stage,
  tube: [stage === 'agc-if-amplifier' ? '6BA6' : '12AX7'],
  values,
});

const read = (sockets: readonly object[], lines: unknown): Scenario =>
  readScenario(
    JSON.stringify({
      format: 'stagefit-scenario',
      version: 1,
      title: 'invented',
      bench: {
        name: 'invented',
        emission: { scale: { kind: 'percent' }, accuracy_percent: 5 },
        leakage: {
          volts: '100 V',
          grid: 'negative',
          withPlateCurrent: false,
          top_ohm: '1 Gohm',
          short_ohm: '200k',
          accuracy_percent: 10,
        },
      },
      sockets,
      lines,
    }),
    readerContext('lines.json'),
  );

function refused(sockets: readonly object[], lines: unknown): string {
  try {
    read(sockets, lines);
  } catch (error) {
    if (error instanceof FileProblem) return error.allText();
    throw error;
  }
  throw new Error('it was read');
}

const TWO = [socket('V1'), socket('V2'), socket('V3', {}, 'rc-amplifier')];

describe('lines of a scenario', () => {
  test('are read in the order of the signal', () => {
    expect(read(TWO, [{ id: 'AGC', sockets: ['V2', 'V1'] }]).lines).toEqual([
      { id: 'AGC', sockets: ['V2', 'V1'] },
    ]);
    expect(read(TWO, []).lines).toEqual([]);
  });

  test('share what belongs to the line, and only that', () => {
    const { sockets, warnings } = read(
      [socket('V1', { agcLineResistance: '3M3', cathodeResistor: 100 }), socket('V2')],
      [{ id: 'AGC', sockets: ['V1', 'V2'] }],
    );
    expect(sockets[1]!.values['agcLineResistance']!.value).toBe(3.3e6);
    expect(sockets[1]!.values['cathodeResistor']!.value).toBe(68);
    expect(warnings).toEqual([]);
  });

  test('say so where two sockets give different values for the one line', () => {
    const { sockets, warnings } = read(
      [socket('V1', { agcLineResistance: '3M3' }), socket('V2', { agcLineResistance: '1M' })],
      [{ id: 'AGC', sockets: ['V1', 'V2'] }],
    );
    expect(sockets.map(({ values }) => values['agcLineResistance']!.value)).toEqual([3.3e6, 1e6]);
    expect(warnings.map(({ text }) => text)).toEqual([
      expect.stringContaining('"V1" and "V2" on line "AGC" give different agcLineResistance'),
    ]);
  });

  test.for([
    ['an unknown socket', [{ id: 'AGC', sockets: ['V1', 'V22'] }], /no socket "V22"[\s\S]*"V2"/],
    [
      'a socket without an AGC line',
      [{ id: 'AGC', sockets: ['V1', 'V3'] }],
      /no AGC line[\s\S]*"V3", stage rc-amplifier[\s\S]*agc-if-amplifier/,
    ],
    [
      'a socket on two lines',
      [
        { id: 'AGC', sockets: ['V1', 'V2'] },
        { id: 'other', sockets: ['V2', 'V1'] },
      ],
      /one line[\s\S]*on line "AGC" already/,
    ],
    ['a socket twice on one', [{ id: 'AGC', sockets: ['V1', 'V1'] }], /on line "AGC" already/],
    [
      'two lines of one name',
      [
        { id: 'AGC', sockets: ['V1', 'V2'] },
        { id: 'AGC', sockets: ['V2', 'V1'] },
      ],
      /two lines of one name/,
    ],
    ['a line with one socket', [{ id: 'AGC', sockets: ['V1'] }], /lines\[0\]\.sockets/],
  ] as const)('with %s are refused, and the place is named', ([, lines, said]) => {
    expect(refused(TWO, lines)).toMatch(said);
    expect(refused(TWO, lines)).toMatch(/line \d+/);
  });
});

describe('bias lines of a scenario', () => {
  const supply = { fixedBias: '-12 V', biasSupplyResistance: '47k' };
  const output = (id: string, values: object = {}, stage = 'output-single-ended'): object => ({
    id,
    stage,
    tube: ['6V6GT'],
    values,
  });
  const line = { id: 'bias', carries: 'bias', sockets: ['V6', 'V7'] };

  test('share the supply: its volts, its resistance, its bypass', () => {
    const { sockets, lines, warnings } = read(
      [output('V6', { ...supply, biasBypass: '47 µF' }), output('V7', {}, 'output-push-pull')],
      [line],
    );
    expect(lines[0]!.carries).toBe('bias');
    for (const [key, value] of Object.entries({
      fixedBias: -12,
      biasSupplyResistance: 47e3,
      biasBypass: 47e-6,
    }))
      expect(sockets[1]!.values[key]!.value, key).toBeCloseTo(value, 9);
    expect(warnings).toEqual([]);
  });

  test.for([
    [
      'a socket without a bias supply',
      [output('V6', supply), socket('V7')],
      /no bias line[\s\S]*"V7", stage agc-if-amplifier[\s\S]*output-single-ended or output-push-pull/,
    ],
    [
      'a socket with cathode bias',
      [output('V6', supply), output('V7', { cathodeResistor: 270 })],
      /bias of its own[\s\S]*"V7" with its cathodeResistor[\s\S]*take its cathodeResistor out/,
    ],
    [
      'a bias that each tube has for itself',
      [output('V6', supply), output('V7', { ...supply, idleCurrent: 0.03 }, 'output-push-pull')],
      /adjuster for each tube[\s\S]*idleCurrent/,
    ],
    [
      'a supply that nobody states',
      [output('V6'), output('V7')],
      /none of its sockets says the fixedBias[\s\S]*none of its sockets says the biasSupplyResistance/,
    ],
    [
      'a supply that is not said to give way',
      [output('V6', { fixedBias: -12 }), output('V7')],
      /biasSupplyResistance of this bias line[\s\S]*in the values of one of them/,
    ],
  ] as const)('with %s are refused, and the place is named', ([, sockets, said]) => {
    expect(refused(sockets, [line])).toMatch(said);
    expect(refused(sockets, [line])).toMatch(/lines\[0\]/);
  });

  test('carry AGC or bias, and nothing else', () => {
    expect(refused([output('V6', supply), output('V7')], [{ ...line, carries: 'heater' }])).toMatch(
      /"heater" is not known here[\s\S]*AGC or bias/,
    );
  });
});
