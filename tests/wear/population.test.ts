import { describe, expect, test } from 'vitest';
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { quantile } from '../../src/numerics/quantiles.ts';
import { readBench } from '../../src/wear/bench.ts';
import {
  NEW_TUBE_LIMITS,
  NEW_TUBE_UNKNOWNS,
  newTubeOf,
  newTubeSpread,
} from '../../src/wear/population.ts';
import { wearFrom } from '../../src/wear/wear.ts';
import { BENCHES, OUTPUT, SMALL } from './benches.ts';

describe('new tubes are a population', () => {
  // Limits: New Sensor data sheets of current production, undated; bogeys from receiving tube manuals, from memory.
  test('a new 6V6 may draw 0.73 to 1.31 of bogey, and the spread holds that', () => {
    const limits = NEW_TUBE_LIMITS.find(({ type }) => type === '6V6GT');
    expect((limits?.least_mA ?? 0) / (limits?.bogey_mA ?? 1)).toBeCloseTo(0.733, 3);
    expect((limits?.most_mA ?? 0) / (limits?.bogey_mA ?? 1)).toBeCloseTo(1.311, 3);
    const { plateCurrent_sd } = newTubeSpread('beam');
    const sds = [33 / 45, 59 / 45].map((ratio) => Math.abs(Math.log(ratio)) / plateCurrent_sd);
    for (const sd of sds) {
      expect(sd).toBeGreaterThan(1.6);
      expect(sd).toBeLessThan(3);
    }
  });

  test('small tubes spread as 7 to 13 mA about 9', () => {
    const { plateCurrent_sd } = newTubeSpread('triode');
    expect(Math.log(13 / 7) / (2 * plateCurrent_sd)).toBeGreaterThan(1.6);
    expect(Math.log(13 / 7) / (2 * plateCurrent_sd)).toBeLessThan(2.4);
  });

  test.each([
    { tube: SMALL, character: 'triode' as const },
    { tube: OUTPUT, character: 'beam' as const },
  ])(
    'new $character tubes read on a bench do not come out leaky or weak',
    ({ tube, character }) => {
      const profile = BENCHES['percent, X and q known'];
      if (profile === undefined) throw new Error('no bench');
      const errors = [
        'emissionReading',
        'dropReading',
        'testCurrent',
        'compression',
        'workFunction',
      ];
      const wears = latinHypercube([...NEW_TUBE_UNKNOWNS, ...errors], 200, 'new').map((draw) =>
        wearFrom(readBench(newTubeOf(tube, character, draw), profile, tube, draw), profile, tube),
      );
      const central = wears.map((wear) => wear.condition({}));
      expect(
        quantile(
          central.map(({ area }) => area),
          0.02,
        ),
      ).toBeGreaterThan(0.7);
      const leaky = central.filter(({ leaks }) =>
        leaks.some(({ between, siemens }) => between.includes('grid') && siemens > 1e-8),
      );
      expect(leaky.length).toBeLessThanOrEqual(4);
      // No more than a weak tail may look saturated within its typical current.
      expect(
        central.filter(({ saturation_A }) => saturation_A < 2 * tube.typicalCathode_A).length,
      ).toBeLessThanOrEqual(4);
    },
  );
});
