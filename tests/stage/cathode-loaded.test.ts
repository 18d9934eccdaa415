import { afterAll, describe, expect, test } from 'vitest';
import { characteristics } from '../../models/characteristics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { cathodeFollower } from '../../src/stage/cathode-follower.ts';
import { CHASSIS, DIRECT } from '../../src/stage/cathode-loaded-values.ts';
import { phaseInverterSplitLoad } from '../../src/stage/phase-inverter-split-load.ts';
import { fundamental, meanOf, thdPercent } from '../../src/numerics/harmonics.ts';
import { measureSubjects } from '../../src/measure/subjects.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import type { Stage, TubeCondition } from '../../src/types.ts';
import { leak, measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const at = (stage: Stage, given: Record<string, number | string>, ...tubes: TubeCondition[]) =>
  measured(stage, '12AU7', given, tubes, simulator, ['small']);

describe('closed forms', () => {
  test('follower: gain mu·R/(rp + (mu + 1)·R), output impedance rp/(mu + 1) beside the load (Radiotron Designer’s Handbook, 4th ed., ch. 7, from memory)', async () => {
    const given = {
      gridFeed: CHASSIS,
      biasResistor: 0,
      cathodeResistor: 2200,
      sourceResistance: 0,
    };
    const [out] = await at(cathodeFollower, given, NEW);
    const cathode = numberOf(out!, 'cathodeVoltage');
    const { mu, rp_ohm } = characteristics(modelOf('12AU7'), {
      plate_V: 250 - cathode,
      grid_V: numberOf(out!, 'gridBias'),
    });
    const load = 1 / (1 / 2200 + 1 / 100e3);
    expect(numberOf(out!, 'gain') / ((mu * load) / (rp_ohm + (mu + 1) * load))).toBeCloseTo(1, 2);
    expect(numberOf(out!, 'outputImpedance') * ((mu + 1) / rp_ohm + 1 / 2200)).toBeCloseTo(1, 2);
  });

  test('a 6J5 at its published point (250 V, −8 V, 9 mA, 2600 µmho, 7700 ohm: receiving-tube handbooks, from memory) has 1/(gm + 1/rp + 1/Rk) = 261 ohm within 8 %', async () => {
    const [out] = await measured(
      cathodeFollower,
      '6J5',
      { supply: 258, gridFeed: CHASSIS, biasResistor: 0, cathodeResistor: 8 / 9e-3 },
      [NEW],
      simulator,
      ['small'],
    );
    expect(Math.abs(numberOf(out!, 'outputImpedance') / 261 - 1)).toBeLessThan(0.08);
  });

  test('inverter: mu·R/(rp + (mu + 2)·R) at either output, equal loads (Radiotron Designer’s Handbook, 4th ed., ch. 12, from memory)', async () => {
    const [out] = await at(phaseInverterSplitLoad, { biasResistor: 0, gridFeed: CHASSIS }, NEW);
    const cathode = numberOf(out!, 'cathodeVoltage');
    const { mu, rp_ohm } = characteristics(modelOf('12AU7'), {
      plate_V: numberOf(out!, 'plateVoltage') - cathode,
      grid_V: numberOf(out!, 'gridBias'),
    });
    const load = 1 / (1 / 47e3 + 1 / 470e3);
    const expected = (mu * load) / (rp_ohm + (mu + 2) * load);
    // the source's resistance stands before a grid resistor of 1 Mohm
    const divider = 1e6 / 1.05e6;
    expect(numberOf(out!, 'gain') / (expected * divider)).toBeCloseTo(1, 2);
    expect(numberOf(out!, 'unbalance')).toBeLessThan(0.1);
  });

  test('the grid resistor on the tap is bootstrapped: reverse current moves the cathode by Ig·Rg·A/(1 − A·Rk/(Rb + Rk))', async () => {
    const [fresh, gassy] = await at(cathodeFollower, {}, NEW, { ...NEW, gridEmission_A: 1e-7 });
    const moved = numberOf(gassy!, 'cathodeVoltage') - numberOf(fresh!, 'cathodeVoltage');
    expect(moved).toBeGreaterThan(5 * 0.1);
    const k = numberOf(fresh!, 'cathodeVoltage');
    const { mu, rp_ohm } = characteristics(modelOf('12AU7'), {
      plate_V: 250 - k,
      grid_V: numberOf(fresh!, 'gridBias'),
    });
    const r = 47e3 + 2200;
    const gain = (mu * r) / (rp_ohm + (mu + 1) * r);
    expect(moved / ((0.1 * gain) / (1 - (gain * 47e3) / r))).toBeCloseTo(1, 1);
  });
});

describe('directions', () => {
  test('less area: less cathode voltage, a higher output impedance, hardly less gain', async () => {
    const out = await at(cathodeFollower, {}, ...[1, 0.7, 0.4].map((area) => ({ ...NEW, area })));
    for (let i = 1; i < out.length; i++) {
      expect(numberOf(out[i]!, 'cathodeVoltage')).toBeLessThan(
        numberOf(out[i - 1]!, 'cathodeVoltage'),
      );
      expect(numberOf(out[i]!, 'outputImpedance')).toBeGreaterThan(
        numberOf(out[i - 1]!, 'outputImpedance'),
      );
      expect(numberOf(out[i]!, 'gain') / numberOf(out[0]!, 'gain')).toBeGreaterThan(0.93);
    }
  });

  test('a leak from plate to grid lifts the cathode; coupled directly it cannot', async () => {
    const leaky = { ...NEW, leaks: [leak(['plate', 'grid'], 50e6)] };
    for (const stage of [cathodeFollower, phaseInverterSplitLoad]) {
      const [fresh, tapped] = await at(stage, {}, NEW, leaky);
      const lifted = numberOf(tapped!, 'cathodeVoltage') - numberOf(fresh!, 'cathodeVoltage');
      const [, direct] = await at(stage, { gridFeed: DIRECT }, NEW, leaky);
      const [before] = await at(stage, { gridFeed: DIRECT }, NEW);
      const held = numberOf(direct!, 'cathodeVoltage') - numberOf(before!, 'cathodeVoltage');
      expect(lifted).toBeGreaterThan(3);
      expect(held).toBeLessThan(0.5);
      expect(held).toBeGreaterThan(0);
    }
  });

  test('heater to cathode: a raised supply takes off what it is raised by', async () => {
    const [plain] = await at(cathodeFollower, {}, NEW);
    const [raised] = await at(cathodeFollower, { heaterRaisedBy: 60 }, NEW);
    expect(
      numberOf(plain!, 'heaterCathodeVoltage') - numberOf(raised!, 'heaterCathodeVoltage'),
    ).toBeCloseTo(60, 6);
    expect(numberOf(plain!, 'heaterCathodeRating')).toBe(90);
  });
});

describe('phase copies against the settled transient', () => {
  const leaky = { ...NEW, area: 0.6, leaks: [leak(['plate', 'grid'], 300e6)] };
  for (const [stage, given, drive, nodes] of [
    [cathodeFollower, { gridFeed: CHASSIS, cathodeResistor: 10e3, biasResistor: 0 }, 8, ['o']],
    [phaseInverterSplitLoad, { gridFeed: DIRECT }, 35, ['o', 'op']],
  ] as const)
    test(`${stage.id}: fundamental within 1 %, distortion within half a point, means within 1 %`, async () => {
      const values = valuesOf(stage, {
        ...given,
        outputCapacitor: 1e-6,
        couplingCapacitor: 0.1e-6,
      });
      const circuit = stage.circuit(values, [modelOf('12AU7')]);
      const row = { ...subjectOf(values, leaky).row, drive };

      const only: Stage = {
        ...stage,
        steps: [
          { id: 'one', view: () => ({ as: 'phases', count: 16 }), settings: () => [{ drive }] },
        ],
        measures: [],
      };
      const [quick] = await measureSubjects(
        only,
        circuit,
        values,
        [subjectOf(values, leaky)],
        simulator,
        { runId: 'quick' },
      );
      const slow = await settledCycle(stage, circuit, values, row, 'slow', simulator, {});
      if ('failed' in slow) throw new Error(slow.failed);
      for (const node of nodes) {
        const [a, b] = [quick!.traces.volts('one', 0, node), slow.nodes.get(node)!];
        expect(Math.abs(Math.abs(fundamental(a)) / Math.abs(fundamental(b)) - 1)).toBeLessThan(
          0.01,
        );
        expect(Math.abs(thdPercent(a) - thdPercent(b))).toBeLessThan(0.5);
      }
      const [k, settledK] = [quick!.traces.volts('one', 0, 'k'), slow.nodes.get('k')!];
      expect(meanOf(k) / meanOf(settledK)).toBeCloseTo(1, 2);
    }, 60_000);
});
