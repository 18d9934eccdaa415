import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { detectedVolts, THERMAL_V } from '../../src/stage/agc-detector.ts';
import { agcIfAmplifier } from '../../src/stage/agc-if-amplifier.ts';
import { lineCurve, loopOf, type Held } from '../../src/stage/agc-if-amplifier-loop.ts';
import { lineTube, ontoLine_A, settledLine } from '../../src/stage/agc-line.ts';
import { meanVolts } from '../../src/stage/signals.ts';
import type { Outcome } from '../../src/measure/subjects.ts';
import { transientOutcomes } from '../../src/measure/transient.ts';
import type { TubeCondition } from '../../src/types.ts';
import { leak, measured, modelOf, NEW, numberOf, valuesOf } from './bench.ts';

/** The AGC loop: its arithmetic against brute force, the whole of it against the simulated stage inside a loop of the test's own. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const screenLeak = (ohms: number): TubeCondition => ({
  ...NEW,
  leaks: [leak(['screen', 'grid'], ohms)],
});
const ofLine = (
  given: Readonly<Record<string, number | readonly number[]>>,
  conditions: readonly TubeCondition[],
): Promise<Outcome[]> => measured(agcIfAmplifier, '6BA6', given, conditions, simulator, ['line']);
const heldOf = ({ traces }: Outcome, level: number): Held => loopOf(traces).levels[level]!;

describe('the detector', () => {
  /** V/R = mean of I exp((E cos θ − V − delay)/VT), bisected. I·R is what makes `contact` without a carrier. */
  function bruteForce(carrier: number, contact: number, delay: number): number {
    const currentTimesR = contact * Math.exp(contact / THERMAL_V);
    const mean = (volts: number): number => {
      let sum = 0;
      for (let k = 0; k < 2000; k++)
        sum += Math.exp(
          (carrier * Math.cos(((k + 0.5) * Math.PI) / 2000) - volts - delay) / THERMAL_V,
        );
      return (currentTimesR * sum) / 2000;
    };
    let [low, high] = [0, contact + carrier + 1];
    for (let i = 0; i < 200; i++) {
      const middle = (low + high) / 2;
      if (mean(middle) > middle) low = middle;
      else high = middle;
    }
    return low;
  }

  test.for([
    [0, 0.5, 0],
    [0.05, 0.5, 0],
    [1, 0.3, 0],
    [12, 0.5, 0],
    [1, 0.5, 3],
    [8, 0.7, 3],
  ] as const)(
    'makes of %s V what its cycle averages to (contact %s V, delay %s V)',
    ([carrier, contact, delay]) => {
      expect(detectedVolts(carrier, contact, delay)).toBeCloseTo(
        bruteForce(carrier, contact, delay),
        6,
      );
    },
  );

  test('rises with the carrier and falls with the delay, without a kink', () => {
    for (let carrier = 0; carrier < 10; carrier += 0.25) {
      expect(detectedVolts(carrier + 0.25, 0.5, 2)).toBeGreaterThan(detectedVolts(carrier, 0.5, 2));
      expect(detectedVolts(carrier, 0.5, 2.5)).toBeLessThan(detectedVolts(carrier, 0.5, 2));
    }
  });
});

describe('the loop', () => {
  let outcomes: Outcome[];
  beforeAll(async () => {
    outcomes = await ofLine({}, [
      NEW,
      screenLeak(400e6),
      screenLeak(100e6),
      { ...NEW, area: 0.6 },
      { ...NEW, gasRatio: 2e-5 },
    ]);
  });

  test('stands where a fine scan of the balance finds it', () => {
    for (const { traces } of outcomes) {
      const { line, levels } = loopOf(traces);
      for (const held of levels) {
        const surplus = (volts: number): number => {
          const gain = line.tubes.reduce((product, tube) => product * tube.gain(volts), 1);
          return (
            (volts + detectedVolts(held!.signal_V * gain, 0.5, 0)) / line.resistance_ohm +
            volts / line.leakage_ohm -
            line.tubes.reduce((sum, tube) => sum + ontoLine_A(tube, volts), 0)
          );
        };
        const signs: number[] = [];
        for (let volts = -40; volts < 2; volts += 5e-3)
          if (surplus(volts) < 0 !== surplus(volts + 5e-3) < 0) signs.push(volts);
        expect(signs).toHaveLength(1);
        expect(Math.abs(held!.line_V - signs[0]!)).toBeLessThan(6e-3);
      }
    }
  });

  test('has in its curves the gain and the grid current of the simulated stage', async () => {
    const conditions = [NEW, screenLeak(100e6), { ...NEW, area: 0.6, gasRatio: 2e-5 }];
    const agcVoltages = [-0.4, -5.3, -13];
    const given = { agcVoltages, agcLineResistance: 2e6 };
    const steps = ['line', 'small'];
    const out = await measured(agcIfAmplifier, '6BA6', given, conditions, simulator, steps);
    for (const outcome of out) {
      const tube = lineTube(lineCurve(outcome.traces));
      agcVoltages.forEach((source, i) => {
        const grid = meanVolts(outcome.traces, 'small', i, 'g');
        const gain = numberOf(outcome, ['gain', 'gainMedium', 'gainStrong'][i]!);
        expect(Math.abs(tube.gain(grid) / gain - 1)).toBeLessThan(0.01);
        expect(Math.abs(ontoLine_A(tube, grid) - (grid - source) / 2e6)).toBeLessThan(
          0.01 * Math.abs(grid - source) * 0.5e-6 + 2e-9,
        );
      });
    }
  }, 30_000);

  test('closes where iterating the simulated stage by hand comes to rest', async () => {
    // one tube on the line; source = −detected(signal · simulated gain), approached by secants
    const given = { tubesOnLine: 0, signalLevels: [1e-3, 50e-3] };
    const condition = screenLeak(300e6);
    const [, own] = await ofLine(given, [NEW, condition]);
    const held = heldOf(own!, 1);
    const at = async (source: number): Promise<{ line: number; carrier: number }> => {
      const [, out] = await measured(
        agcIfAmplifier,
        '6BA6',
        { ...given, agcVoltages: [source] },
        [NEW, condition],
        simulator,
        ['line', 'small'],
      );
      return { line: numberOf(out!, 'gridVoltage'), carrier: 50e-3 * numberOf(out!, 'gain') };
    };
    let [low, high] = [-30, 0];
    for (let i = 0; i < 14; i++) {
      const middle = (low + high) / 2;
      if (-detectedVolts((await at(middle)).carrier, 0.5, 0) > middle) low = middle;
      else high = middle;
    }
    const rest = await at((low + high) / 2);
    expect(Math.abs(held.line_V - rest.line)).toBeLessThan(0.02);
    expect(Math.abs(held.detector_V / rest.carrier - 1)).toBeLessThan(0.01);
  }, 60_000);

  test('the same microampere costs far fewer decibels with the loop closed than open (common practice, no source)', async () => {
    const given = { agcLineResistance: 3.3e6 };
    const steps = ['line', 'small'];
    const [fresh, emitting] = await measured(
      agcIfAmplifier,
      '6BA6',
      given,
      [NEW, { ...NEW, gridEmission_A: 1e-6 }],
      simulator,
      steps,
    );
    const dB = (ratio: number): number => 20 * Math.log10(ratio);
    // the detector's voltage held: both controlled stages gain what this one does
    const open = 2 * dB(numberOf(emitting!, 'gainMedium') / numberOf(fresh!, 'gainMedium'));
    const closed = numberOf(emitting!, 'audioChange');
    expect(closed).toBeGreaterThan(1);
    expect(open).toBeGreaterThan(2.5 * closed);
  });

  test('a leak toward the plate takes AGC away: more of it, a higher line and a louder signal at every strong level', async () => {
    const out = await ofLine({}, [
      NEW,
      ...[800e6, 200e6, 80e6].map((ohms) => ({ ...NEW, leaks: [leak(['plate', 'grid'], ohms)] })),
    ]);
    for (let i = 1; i < out.length; i++)
      for (const level of [1, 2]) {
        const [less, more] = [heldOf(out[i - 1]!, level), heldOf(out[i]!, level)];
        expect(more.line_V).toBeGreaterThan(less.line_V);
        expect(more.detector_V).toBeGreaterThan(less.detector_V);
        expect(numberOf(out[i]!, 'audioChange')).toBeGreaterThan(
          numberOf(out[i - 1]!, 'audioChange'),
        );
      }
  });

  test('the more controlled tubes, the flatter the carrier at the detector', async () => {
    const rise: number[] = [];
    for (const tubesOnLine of [0, 1, 2]) {
      const [fresh] = await ofLine({ tubesOnLine }, [NEW]);
      rise.push(20 * Math.log10(heldOf(fresh!, 2).detector_V / heldOf(fresh!, 1).detector_V));
    }
    expect(rise[1]).toBeLessThan(rise[0]!);
    expect(rise[2]).toBeLessThan(rise[1]!);
  });

  test('a conducting grid damps: at the positive clamp a weak signal loses more than its stage’s transconductance', async () => {
    const [, own] = await ofLine({ signalLevels: [1e-6, 20e-3] }, [
      NEW,
      { ...NEW, leaks: [leak(['plate', 'grid'], 30e6)] },
    ]);
    expect(heldOf(own!, 0).line_V).toBeGreaterThan(0.3);
    // two grids of 100 kΩ tuned circuits, each loaded by more than its own impedance
    expect(numberOf(own!, 'weakSignalLoss')).toBeGreaterThan(12);
  });

  test('a clamp diode holds a lifted line, and leaves one alone that is not', async () => {
    const lifted = { ...NEW, leaks: [leak(['plate', 'grid'], 30e6)] };
    const [fresh, own] = await ofLine({ lineClamp: -0.2 }, [NEW, lifted]);
    const [free] = await ofLine({}, [NEW]);
    // 8 µA: eight times its 1 µA are some 2 kT/q more
    expect(heldOf(own!, 0).line_V).toBeLessThan(0.1);
    expect(heldOf(fresh!, 2).line_V).toBeCloseTo(heldOf(free!, 2).line_V, 6);
  });

  test('a transient of an ordinary line is refused at once: it would take a quarter of a million cycles', async () => {
    const values = valuesOf(agcIfAmplifier);
    const circuit = agcIfAmplifier.circuit(values, [modelOf('6BA6')]);
    const run = (of: typeof values): Promise<Outcome[]> =>
      transientOutcomes(agcIfAmplifier, circuit, of, [], [], simulator, {});
    await expect(run(values)).rejects.toMatchObject({
      code: 'does-not-fit',
      fields: { found: expect.stringContaining('250,250 cycles') as string },
    });
    const small = { lineCapacitor: 2e-9, screenBypass: 2e-9 };
    expect(await run(valuesOf(agcIfAmplifier, small))).toEqual([]);
  });

  test('a line lifted beyond every curve has no place, and is never a number', () => {
    const { own } = loopOf(outcomes[0]!.traces);
    const line = { resistance_ohm: 2e6, leakage_ohm: 1e12, clamp_V: null, tubes: [own] };
    expect(settledLine(line, () => 1e5)).toBeUndefined();
    expect(settledLine(line, () => -5)).toBeCloseTo(-5, 2);
  });
});
