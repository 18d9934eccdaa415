import { expect, test } from 'vitest';
import { heaterAmps } from '../../models/heater-leak.ts';
import { EXAMPLE_PROFILE } from '../../src/wear/profile.ts';
import { wearFrom } from '../../src/wear/wear.ts';
import type { Draw, Leak, TubeCondition } from '../../src/types.ts';
import { SMALL } from './benches.ts';

const READ = {
  emission: [{ percent: 98 }],
  heaterCathode: [{ megohms: 2, minutes: 10, atVolts: 50 }],
};
const heaterOf = ({ leaks }: TubeCondition): Leak =>
  leaks.find(({ between }) => between.includes('heater'))!;

test('a path from heater to cathode passes through its reading, however much of it is emission', () => {
  const wear = wearFrom(READ, EXAMPLE_PROFILE, SMALL);
  const at = (draw: Draw): Leak => heaterOf(wear.condition(draw));
  for (const heaterEmission of [-2, 0, 2]) {
    const leak = at({ heaterEmission });
    expect(heaterAmps(leak, 50) / (50 * leak.siemens)).toBeCloseTo(1, 9);
  }
  // more of it emission: more current at some volts
  expect(heaterAmps(at({ heaterEmission: 1 }), 5)).toBeGreaterThan(heaterAmps(at({}), 5));
  expect(heaterAmps(at({}), 5)).toBeGreaterThan(2 * 5 * at({}).siemens);
});

test('it sits in the half of the heater that hums', () => {
  const wear = wearFrom(READ, EXAMPLE_PROFILE, SMALL);
  const places = [-3, 0, 3].map((z) => heaterOf(wear.condition({ heaterPlace: z })).heater!.place);
  expect(places[0]).toBeCloseTo(0.5, 2);
  expect(places[1]).toBe(0.75);
  expect(places[2]).toBeCloseTo(1, 2);
});

test('not read, a plausibly bad one has its emission too; read, there is none to suppose', () => {
  const unread = wearFrom({ emission: [{ percent: 98 }] }, EXAMPLE_PROFILE, SMALL);
  const bad = heaterOf(unread.plausiblyBad('heaterCathode')[0]!);
  expect(bad.heater!.emission_A).toBeGreaterThan(1e-6);
  expect(unread.untold.join(' ')).toMatch(/Heater to cathode leakage was not read/);
  expect(wearFrom(READ, EXAMPLE_PROFILE, SMALL).plausiblyBad('heaterCathode')).toEqual([]);
});
