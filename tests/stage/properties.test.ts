import fc from 'fast-check';
import { afterAll, describe, expect, test } from 'vitest';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { agcIfAmplifier } from '../../src/stage/agc-if-amplifier.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import type { Outcome } from '../../src/measure/subjects.ts';
import { leak, measured, NEW, numberOf } from './bench.ts';

/** Directions that hold for a physical reason, and smoothness, over seeded random sockets. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const SEEDED = { seed: 20250, numRuns: 12 };
const between = (low: number, high: number): fc.Arbitrary<number> =>
  fc.double({ min: Math.log(low), max: Math.log(high), noNaN: true }).map(Math.exp);

/** a <= b up to the engine's tolerance. */
const notAbove = (a: number, b: number, slack: number): void =>
  expect(a).toBeLessThanOrEqual(b + slack);

describe('directions', () => {
  test('more leakage from the plate never lowers the grid voltage: its current flows into the grid circuit', async () => {
    await fc.assert(
      fc.asyncProperty(
        between(0.2e6, 5e6),
        between(20e6, 2e9),
        fc.constantFrom('rc', 'agc'),
        async (resistor, ohms, which) => {
          const conditions = [
            NEW,
            { ...NEW, leaks: [leak(['plate', 'grid'], ohms)] },
            { ...NEW, leaks: [leak(['plate', 'grid'], ohms / 2)] },
          ];
          const out =
            which === 'rc'
              ? await measured(
                  rcAmplifier,
                  '12AX7',
                  { gridResistor: resistor },
                  conditions,
                  simulator,
                  ['small'],
                )
              : await measured(
                  agcIfAmplifier,
                  '6BA6',
                  { agcLineResistance: resistor },
                  conditions,
                  simulator,
                  ['small'],
                );
          notAbove(numberOf(out[0]!, 'gridVoltage'), numberOf(out[1]!, 'gridVoltage'), 1e-5);
          notAbove(numberOf(out[1]!, 'gridVoltage'), numberOf(out[2]!, 'gridVoltage'), 1e-5);
        },
      ),
      SEEDED,
    );
  }, 60_000);

  test('less area never raises the plate current at a fixed bias: every current scales with it', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.double({ min: 0.3, max: 1, noNaN: true }),
        between(20e3, 500e3),
        async (area, plateLoad) => {
          const conditions = [NEW, { ...NEW, area }, { ...NEW, area: 0.8 * area }];
          // grounded cathode and a small grid resistor: the bias stays where it is
          const out = await measured(
            rcAmplifier,
            '12AU7',
            { cathodeResistor: 0, gridResistor: 1e3, plateLoad },
            conditions,
            simulator,
            ['small'],
          );
          notAbove(numberOf(out[1]!, 'plateCurrent'), numberOf(out[0]!, 'plateCurrent'), 1e-9);
          notAbove(numberOf(out[2]!, 'plateCurrent'), numberOf(out[1]!, 'plateCurrent'), 1e-9);
        },
      ),
      SEEDED,
    );
  }, 60_000);

  test('less area never raises the gain of a cathode-biased triode: mu stays and plate resistance rises', async () => {
    const out = await measured(
      rcAmplifier,
      '12AX7',
      {},
      [1, 0.8, 0.6, 0.4, 0.2].map((area) => ({ ...NEW, area })),
      simulator,
      ['small'],
    );
    for (let i = 1; i < out.length; i++)
      notAbove(numberOf(out[i]!, 'gain'), numberOf(out[i - 1]!, 'gain'), 1e-6);
  });

  test('a leak to the cathode never delivers more of the AGC voltage', async () => {
    const out = await measured(
      agcIfAmplifier,
      '6BA6',
      {},
      [1e12, 300e6, 100e6, 30e6, 10e6].map((ohms) => ({
        ...NEW,
        leaks: [leak(['grid', 'cathode'], ohms)],
      })),
      simulator,
      ['small'],
    );
    for (let i = 1; i < out.length; i++)
      notAbove(numberOf(out[i]!, 'agcDelivered'), numberOf(out[i - 1]!, 'agcDelivered'), 1e-4);
  });
});

describe('smoothness', () => {
  /** Numeric measures of two outcomes, as relative differences. */
  const differences = (a: Outcome, b: Outcome): Record<string, number> =>
    Object.fromEntries(
      Object.entries(a.measures).flatMap(([id, x]) => {
        const y = b.measures[id];
        if (typeof x !== 'number' || typeof y !== 'number')
          return typeof x === typeof y ? [] : [[id, Infinity]];
        return [[id, Math.abs(x - y) / Math.max(Math.abs(x), 1e-3)]];
      }),
    );

  test.for(['plateLoad', 'cathodeResistor', 'gridResistor', 'supply', 'nextGridResistor'] as const)(
    'a ten-thousandth more of %s changes no measure by a hundredth',
    { timeout: 60_000 },
    async (key) => {
      const base = {
        supply: 250,
        plateLoad: 100e3,
        cathodeResistor: 1500,
        gridResistor: 1e6,
        nextGridResistor: 470e3,
      };
      const condition = {
        ...NEW,
        area: 0.7,
        saturation_A: 0.02,
        leaks: [leak(['plate', 'grid'], 500e6)],
      };
      const [, a] = await measured(rcAmplifier, '12AX7', base, [NEW, condition], simulator);
      const [, b] = await measured(
        rcAmplifier,
        '12AX7',
        { ...base, [key]: base[key] * 1.0001 },
        [NEW, condition],
        simulator,
      );
      for (const [id, share] of Object.entries(differences(a!, b!)))
        expect(share, id).toBeLessThan(0.01);
    },
  );

  test.for(['area', 'saturation_A'] as const)(
    'a ten-thousandth more of %s changes no measure of an IF stage by a hundredth',
    { timeout: 60_000 },
    async (key) => {
      const condition = {
        ...NEW,
        area: 0.7,
        saturation_A: 0.03,
        leaks: [leak(['screen', 'grid'], 500e6)],
      };
      const [, a] = await measured(agcIfAmplifier, '6BA6', {}, [NEW, condition], simulator);
      const [, b] = await measured(
        agcIfAmplifier,
        '6BA6',
        {},
        [NEW, { ...condition, [key]: condition[key] * 1.0001 }],
        simulator,
      );
      for (const [id, share] of Object.entries(differences(a!, b!)))
        expect(share, id).toBeLessThan(0.01);
    },
  );
});
