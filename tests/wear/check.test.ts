import { describe, expect, test } from 'vitest';
import { Problem } from '../../src/problem.ts';
import { EXAMPLE_PROFILE, type InstrumentProfile } from '../../src/wear/profile.ts';
import type { Readings } from '../../src/wear/readings.ts';
import { hardShort, wearFrom } from '../../src/wear/wear.ts';
import { OUTPUT } from './benches.ts';

function problemOf(
  readings: Readings,
  profile: InstrumentProfile = EXAMPLE_PROFILE,
): Problem | undefined {
  try {
    wearFrom(readings, profile, OUTPUT, 'tubes[0].readings');
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  return undefined;
}

describe('readings that cannot be', () => {
  test.each<[string, Readings, string, string]>([
    [
      'a drop above 100 %',
      { starvedHeater: { drop_percent: 120 } },
      'bad-value',
      'starvedHeater.drop_percent',
    ],
    [
      'no emission, and a drop',
      { emission: [{ percent: 0 }], starvedHeater: { drop_percent: 5 } },
      'contradiction',
      'starvedHeater.drop_percent',
    ],
    ['a reading without a value', { emission: [{ minutes: 2 }] }, 'missing', 'emission[0]'],
    [
      'a reading with two values',
      { leakage: [{ megohms: 3, microamps: 2 }] },
      'contradiction',
      'leakage[0]',
    ],
    [
      'times that do not increase',
      {
        leakage: [
          { megohms: 60, minutes: 2 },
          { megohms: 50, minutes: 2 },
        ],
      },
      'contradiction',
      'leakage[1].minutes',
    ],
    [
      'above the scale and a short at once',
      { leakage: [{ aboveMegohms: 250 }], shorts: [{ between: ['grid', 'cathode'], ohms: 1e6 }] },
      'contradiction',
      'shorts[0]',
    ],
    ['not a number', { emission: [{ percent: Number.NaN }] }, 'bad-value', 'emission[0].percent'],
    [
      'an infinite leakage',
      { leakage: [{ megohms: Infinity }] },
      'bad-value',
      'leakage[0].megohms',
    ],
    ['a negative emission', { emission: [{ percent: -5 }] }, 'bad-value', 'emission[0].percent'],
    ['an absurd emission', { emission: [{ percent: 5000 }] }, 'bad-value', 'emission[0].percent'],
    [
      'an electrode the tube lacks',
      { shorts: [{ between: ['grid', 'signalGrid'], ohms: 5e6 }] },
      'bad-value',
      'shorts[0].between',
    ],
    [
      'a current into the grid',
      { gridCurrent: { microamps: -3, plateVolts: 250, gridVolts: -1 } },
      'contradiction',
      'gridCurrent.microamps',
    ],
    [
      'a transconductance without conditions',
      { transconductance: { mS: 4 } },
      'missing',
      'transconductance',
    ],
    [
      'divisions on a percent scale',
      { emission: [{ divisions: 30 }] },
      'does-not-fit',
      'emission[0]',
    ],
    ['a zone nobody named', { emission: [{ zone: 'fine' }] }, 'unknown-name', 'emission[0]'],
  ])('%s is refused at its place', (_, readings, code, place) => {
    const problem = problemOf(readings);
    expect(problem?.code).toBe(code);
    expect(problem?.fields.place).toContain(place);
    expect(problem?.fields.expected).toBeTruthy();
  });

  test('microamperes without any test voltage are refused', () => {
    const profile = { ...EXAMPLE_PROFILE, leakage: { ...EXAMPLE_PROFILE.leakage, volts: 0 } };
    expect(problemOf({ leakage: [{ microamps: 2 }] }, profile)?.fields.place).toContain('leakage');
  });

  test('a profile whose terminals rise under load is refused', () => {
    const emission = { ...EXAMPLE_PROFILE.emission, openTerminal_V: 20, newTubeTerminal_V: 22 };
    expect(problemOf({}, { ...EXAMPLE_PROFILE, emission })?.code).toBe('contradiction');
  });
});

describe('hard shorts', () => {
  test('are told by the profile’s own threshold', () => {
    expect(
      hardShort({ shorts: [{ between: ['grid', 'cathode'], ohms: 200 }] }, EXAMPLE_PROFILE),
    ).toContain('grid to cathode');
    expect(hardShort({ leakage: [{ megohms: 0.05 }] }, EXAMPLE_PROFILE)).toContain('control grid');
    expect(hardShort({ leakage: [{ microamps: 2000 }] }, EXAMPLE_PROFILE)).toContain(
      'control grid',
    );
    expect(
      hardShort({ shorts: [{ between: ['grid', 'cathode'], ohms: 2e6 }] }, EXAMPLE_PROFILE),
    ).toBeUndefined();
    expect(hardShort({}, EXAMPLE_PROFILE)).toBeUndefined();
  });
});
