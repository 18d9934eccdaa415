import { describe, expect, it } from 'vitest';
import { didYouMean, nearNames } from '../../src/scenario/near.ts';
import {
  otherTerms,
  ourElectrode,
  ourKey,
  ourTerm,
  searchWords,
  TERMS,
} from '../../src/scenario/terms.ts';

describe('terms of the trade (common practice, no source)', () => {
  it.each([
    ['anode', 'plate'],
    ['Valve', 'tube'],
    ['mutual  conductance', 'transconductance'],
    ['AVC', 'agc'],
    ['g2', 'screen'],
    ['HT', 'supply'],
    ['plate', 'plate'],
  ])('%s is %s', (written, ours) => expect(ourTerm(written)).toBe(ours));

  it.each([
    ['anodeLoad', 'plateLoad'],
    ['anode_load', 'plateLoad'],
    ['avcLineResistance', 'agcLineResistance'],
    ['AVCLineResistance', 'agcLineResistance'],
    ['controlGridResistor', 'gridResistor'],
    ['mutualConductance', 'transconductance'],
    ['plateLoad', undefined],
  ])('the key %s becomes %s', (key, ours) => expect(ourKey(key)).toBe(ours));

  it.each([
    ['g1', 'grid'],
    ['k', 'cathode'],
    ['a', 'plate'],
    ['control grid', 'grid'],
    ['filament', 'heater'],
  ])('the electrode %s is the %s', (written, ours) => expect(ourElectrode(written)).toBe(ours));

  it('no word stands for two of ours, and none of ours for another', () => {
    const others = TERMS.flatMap((term) => term.others);
    expect(new Set(others).size).toBe(others.length);
    expect(TERMS.map(({ ours }) => ours).filter((ours) => others.includes(ours))).toEqual([]);
    expect(others.filter((other) => other !== other.toLowerCase())).toEqual([]);
  });

  it('a search for a British phrase finds our words', () => {
    expect(searchWords('valve with low mutual conductance')).toEqual(
      expect.arrayContaining(['tube', 'transconductance']),
    );
    expect(otherTerms('plate')).toEqual(['anode']);
  });
});

describe('near names', () => {
  it.each([
    ['plateload', 'plateLoad'],
    ['plate_laod', 'plateLoad'],
    ['gridRes', 'gridResistor'],
  ])('%s is near %s', (written, name) => {
    expect(nearNames(written, ['supply', 'gridResistor', 'plateLoad'])[0]).toBe(name);
  });

  it('what is far from everything gets no suggestion', () => {
    expect(didYouMean('colour', ['supply', 'gridResistor', 'plateLoad'])).toBeUndefined();
  });
});
