import { describe, expect, test } from 'vitest';
import type { FileProblem } from '../../src/scenario/check.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { Context, Socket } from '../../src/scenario/scenario.ts';
import { CONTEXT, GOOD, textOf } from './fixtures.ts';

/** Tubes in the places of a socket; the stage with two places is invented. */
const TWO: Context = {
  ...CONTEXT,
  stages: [...CONTEXT.stages, { id: 'pair', tubes: 2, values: {}, measures: [] }],
};

function read(fitted: unknown, stage = 'pair'): Socket['fitted'] {
  const document = {
    ...GOOD,
    sockets: [{ id: 'V1', stage, tube: 'XT1', fitted }, GOOD.sockets[1]],
  };
  return readScenario(textOf(document), TWO).sockets[0]!.fitted;
}

function problem(fitted: unknown, stage?: string): FileProblem {
  try {
    read(fitted, stage);
  } catch (error) {
    return error as FileProblem;
  }
  throw new Error('it was accepted');
}

describe('tubes that are fitted', () => {
  test('are read in the order of the places, by id or with a section', () => {
    expect(read(['T1', { tube: 'T1', section: 1 }])).toEqual([
      { tube: 'T1', section: '2' },
      { tube: 'T1', section: '1' },
    ]);
    expect(read(['T2'])).toEqual([{ tube: 'T2', section: 'pentode' }]);
    expect(read(undefined)).toBeUndefined();
  });

  test.for([
    ['an unknown tube', ['T1', 'T9'], 'unknown-name', 'sockets[0].fitted[1]'],
    ['more tubes than places', ['T1', 'T2', 'T1'], 'contradiction', 'sockets[0].fitted'],
    [
      'the same section twice',
      ['T1', { tube: 'T1', section: '2' }],
      'contradiction',
      'sockets[0].fitted[1]',
    ],
    [
      'an unknown section',
      [{ tube: 'T1', section: '5' }],
      'unknown-name',
      'sockets[0].fitted[0].section',
    ],
    ['no list', 'T1', 'bad-value', 'sockets[0].fitted'],
    ['a number', [7], 'bad-value', 'sockets[0].fitted[0]'],
  ] as const)('%s is refused with its place', ([, fitted, code, place]) => {
    const { code: found, fields } = problem(fitted);
    expect(fields.place).toBe(place);
    expect(fields.line).toBeGreaterThan(1);
    expect(found).toBe(code);
  });

  test('two tubes for a stage of one are refused, and it says one', () => {
    const { fields } = problem(['T1', 'T2'], 'rc-amplifier');
    expect(fields.found).toBe('2 tubes');
    expect(fields.expected).toBe('one tube');
  });
});
