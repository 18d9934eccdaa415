import { afterAll, describe, expect, test } from 'vitest';
import { characteristics } from '../../models/characteristics.ts';
import { measureSubjects, type Outcome } from '../../src/measure/subjects.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { fundamental, meanOf, thdPercent } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { phaseInverterLongTail } from '../../src/stage/phase-inverter-long-tail.ts';
import type { SimResult, Simulator } from '../../src/types.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { drivenThrough, leak, modelOf, numberOf } from './bench.ts';
import { freshOf, measuredPairs, pairSubject, valuesWith, type Pair } from './pair-bench.ts';

/** The long-tailed pair: the two sections of a twin triode. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const TYPE = '12AX7';
const FRESH = freshOf(TYPE);
const NEW_PAIR: Pair = [FRESH, FRESH];

const measured = (
  given: Readonly<Record<string, number>>,
  pairs: readonly Pair[],
  by: Simulator = simulator,
  steps: readonly string[] | undefined = ['small'],
): Promise<Outcome[]> => measuredPairs(phaseInverterLongTail, TYPE, given, pairs, by, steps);

test('gains are those of two triodes on one cathode (Radiotron Designer’s Handbook, 4th ed., ch. 12, from memory): the first gets what the second returns through the tail', async () => {
  // capacitors and the grids' return leave no part of the signal: a stiff source, nothing that loads the plates
  const given = { sourceResistance: 1, nextGridResistor: 50e6, couplingLeakage: 1e13 };
  const [out] = await measured(given, [NEW_PAIR]);
  const [loads, tail] = [[82e3, 100e3] as const, 10_470];
  const at = (plate: string, grid: string) =>
    characteristics(modelOf(TYPE), {
      plate_V: numberOf(out!, plate) - numberOf(out!, 'cathodeVoltage'),
      grid_V: numberOf(out!, grid),
    });
  const [one, two] = [at('plateVoltage', 'gridBias'), at('plateVoltage2', 'gridBias2')];
  // i1 = (mu·v − (mu + 1)·vk)/(rp + R1), i2 = −(mu + 1)·vk/(rp + R2), vk = (i1 + i2)·Rt
  const [y1, y2] = [1 / (one.rp_ohm + loads[0]), 1 / (two.rp_ohm + loads[1])];
  const vk = (one.mu * y1) / (1 / tail + (one.mu + 1) * y1 + (two.mu + 1) * y2);
  const gain = (one.mu - (one.mu + 1) * vk) * y1 * loads[0];
  const gain2 = (two.mu + 1) * vk * y2 * loads[1];
  expect(Math.abs(numberOf(out!, 'gain') / gain - 1)).toBeLessThan(0.01);
  expect(Math.abs(numberOf(out!, 'gain2') / gain2 - 1)).toBeLessThan(0.01);
  // the rule of thumb: each about half of what the tube gives alone
  const alone = (one.mu * loads[0]) / (one.rp_ohm + loads[0]);
  expect(Math.abs(numberOf(out!, 'gain') / (alone / 2) - 1)).toBeLessThan(0.15);
});

test('at direct current the tail holds the sum of the two currents; all of a leak’s shift shows as a difference', async () => {
  const leaky: Pair = [{ ...FRESH, leaks: [leak(['plate', 'grid'], 100e6)] }, FRESH];
  const [fresh, found] = await measured({}, [NEW_PAIR, leaky]);
  const sum = (o: Outcome): number => numberOf(o, 'plateCurrent') + numberOf(o, 'plateCurrent2');
  expect(numberOf(fresh!, 'cathodeVoltage') / (sum(fresh!) * 10_470)).toBeCloseTo(1, 2);
  expect(numberOf(found!, 'gridVoltage')).toBeGreaterThan(numberOf(fresh!, 'gridVoltage') + 0.5);
  expect(numberOf(found!, 'plateVoltage')).toBeLessThan(numberOf(fresh!, 'plateVoltage') - 20);
  expect(numberOf(found!, 'plateVoltage2')).toBeGreaterThan(numberOf(fresh!, 'plateVoltage2') + 10);
  expect(Math.abs(sum(found!) / sum(fresh!) - 1)).toBeLessThan(0.15);
});

test('one weak section: both outputs lose a little, the balance hardly moves', async () => {
  const areas = [1, 0.8, 0.6, 0.45];
  for (const place of [0, 1]) {
    const out = await measured(
      {},
      areas.map((area): Pair => {
        const weak = { ...FRESH, area };
        return place === 0 ? [weak, FRESH] : [FRESH, weak];
      }),
    );
    for (let i = 1; i < out.length; i++)
      for (const id of ['gain', 'gain2'])
        expect(numberOf(out[i]!, id)).toBeLessThan(numberOf(out[i - 1]!, id));
    expect(numberOf(out[3]!, 'gain')).toBeGreaterThan(0.8 * numberOf(out[0]!, 'gain'));
    expect(numberOf(out[3]!, 'unbalance')).toBeLessThan(numberOf(out[0]!, 'unbalance') + 4);
  }
});

const native: Simulator = {
  engine: 'native ngspice',
  workers: 1,
  run: (request): Promise<SimResult> => Promise.resolve(runNative(request)),
  close: () => undefined,
};

testWithNative('the system’s own ngspice finds the same', async () => {
  const pairs: Pair[] = [
    NEW_PAIR,
    [{ ...FRESH, area: 0.6, leaks: [leak(['plate', 'grid'], 300e6)] }, FRESH],
  ];
  const [ours, theirs] = [
    await measured({ tailReturn: -100, tailResistor: 47e3 }, pairs, simulator, undefined),
    await measured({ tailReturn: -100, tailResistor: 47e3 }, pairs, native, undefined),
  ];
  ours.forEach(({ measures, failed }, i) => {
    expect(failed).toBeUndefined();
    for (const [id, value] of Object.entries(measures)) {
      const other = theirs[i]!.measures[id];
      if (typeof value !== 'number') expect(typeof other, id).toBe(typeof value);
      else
        expect(
          Math.abs((other as number) - value),
          `${id}: ${value} against ${JSON.stringify(other)}`,
        ).toBeLessThan(1e-3 * Math.max(Math.abs(value), 1e-2));
    }
  });
});

describe('phase copies against the settled transient of the same parts', () => {
  test('a worn, leaky section beside a new one, driven until both outputs bend', async () => {
    const drive = 2;
    const stage = drivenThrough(phaseInverterLongTail, 'large', [1, drive]);
    // at 1 kHz the usual capacitors are near enough to shorts, and these settle within some cycles
    const values = valuesWith(stage, {
      couplingCapacitor: 4e-9,
      otherGridCapacitor: 4e-9,
      gridResistor: 470e3,
      outputCapacitor: 20e-9,
      signalFrequency: 5000,
      // the interelectrode capacitances are in the transient alone
      sourceResistance: 1000,
    });
    const circuit = stage.circuit(values, [modelOf(TYPE), modelOf(TYPE)]);
    const pair: Pair = [{ ...FRESH, area: 0.6, leaks: [leak(['plate', 'grid'], 300e6)] }, FRESH];
    const subject = pairSubject(values, pair);
    const [outcome] = await measureSubjects(stage, circuit, values, [subject], simulator, {
      runId: 'copies',
    });
    expect(outcome!.failed).toBeUndefined();
    const row = { ...subject.row, drive };
    const settled = await settledCycle(stage, circuit, values, row, 'settled', simulator, {});
    if ('failed' in settled) throw new Error(settled.failed);
    const quick = (node: string): Float64Array => outcome!.traces.volts('large', 1, node);
    const slow = (node: string): Float64Array => settled.nodes.get(node)!;
    for (const node of ['o1', 'o2']) {
      expect(
        Math.abs(Math.abs(fundamental(quick(node)) / fundamental(slow(node))) - 1),
        node,
      ).toBeLessThan(0.02);
      expect(Math.abs(thdPercent(quick(node)) - thdPercent(slow(node))), node).toBeLessThan(1);
    }
    for (const node of ['g', 'g2', 'k', 'p1', 'p2']) {
      const [x, y] = [meanOf(quick(node)), meanOf(slow(node))];
      expect(Math.abs(x / y - 1), `mean of ${node}: ${x} against ${y}`).toBeLessThan(0.01);
    }
  }, 60_000);
});
