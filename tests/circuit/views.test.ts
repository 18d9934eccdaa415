import { afterAll, describe, expect, test } from 'vitest';
import { derivativeRow } from '../../src/circuit/copies.ts';
import { printRun } from '../../src/circuit/print.ts';
import { readRows, type RowVolts } from '../../src/circuit/read.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { cycleHarmonics } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import type { Circuit, Part, View } from '../../src/types.ts';

/** The cycle and levels views on circuits without a tube, whose answers are in any textbook on alternating currents. */
const simulator = nodeSimulator();
afterAll(() => simulator.close());

const circuitOf = (parts: readonly Part[], watch: readonly string[]): Circuit => ({
  title: 'test',
  parts,
  tubes: [],
  knobs: {},
  watch,
});
const at = { at: [0, 0] as const };
const ROW = { knobs: {}, tubes: [], drive: 1 };

async function run(circuit: Circuit, view: View): Promise<RowVolts> {
  const result = await simulator.run(printRun(circuit, 'view', view, [ROW]).request);
  if (!result.ok) throw new Error(result.text);
  return readRows(circuit, view, 1, result)[0]!;
}

describe('the cycle view', () => {
  const view = { as: 'cycle', points: 96, frequency_Hz: 60 } as const;
  const omega = 2 * Math.PI * 60;

  test('its differences are those of a slow sine, to the second order of the step', () => {
    const error = (points: number): number => {
      const x = (m: number): number => Math.sin((2 * Math.PI * m) / points);
      const found = derivativeRow({ ...view, points }, 5, points).reduce(
        (sum, { m, weight }) => sum + weight * x(m),
        0,
      );
      return Math.abs(found - Math.cos((2 * Math.PI * 5) / points));
    };
    expect(error(96)).toBeLessThan(2e-3);
    expect(error(48) / error(96)).toBeGreaterThan(3);
  });

  test('a resistor and a capacitor pass 1/sqrt(1 + (omega RC)^2)', async () => {
    const circuit = circuitOf(
      [
        { kind: 'signal', id: 'S', nodes: ['a', '0'], amplitude: 100, ...at },
        { kind: 'resistor', id: 'R', nodes: ['a', 'b'], value: 10e3, ...at },
        { kind: 'capacitor', id: 'C', nodes: ['b', '0'], value: 0.5e-6, ...at },
      ],
      ['b'],
    );
    const { amplitudes, mean } = cycleHarmonics((await run(circuit, view)).of('b'));
    expect(amplitudes[0]! / (100 / Math.hypot(1, omega * 10e3 * 0.5e-6))).toBeCloseTo(1, 2);
    expect(Math.abs(mean)).toBeLessThan(1e-3);
  });

  test('an inductor and a resistor pass 1/sqrt(1 + (omega L/R)^2), and the other half of a winding is turned round', async () => {
    const circuit = circuitOf(
      [
        { kind: 'signal', id: 'S', nodes: ['a', '0'], factor: -1, amplitude: 100, ...at },
        { kind: 'inductor', id: 'L', nodes: ['a', 'b'], value: 10, ...at },
        { kind: 'resistor', id: 'R', nodes: ['b', '0'], value: 3e3, ...at },
      ],
      ['a', 'b'],
    );
    const volts = await run(circuit, view);
    expect(volts.of('a')[0]).toBeCloseTo(-100, 6);
    expect(
      cycleHarmonics(volts.of('b')).amplitudes[0]! / (100 / Math.hypot(1, (omega * 10) / 3e3)),
    ).toBeCloseTo(1, 2);
  });
});

describe('the levels view', () => {
  const shares = [0.1, 0.3, 0.6] as const;
  const view = { as: 'levels', shares } as const;
  /** A coupling capacitor of 2 ms against a period of a tenth: it blocks the mean and little else. */
  const circuit = circuitOf(
    [
      {
        kind: 'signal',
        id: 'S',
        nodes: ['a', '0'],
        factor: -1,
        amplitude: 20,
        levels: [1, 0.5, 0],
        ...at,
      },
      { kind: 'capacitor', id: 'C', nodes: ['a', 'b'], value: 20e-9, ...at },
      { kind: 'resistor', id: 'R', nodes: ['b', '0'], value: 100e3, ...at },
    ],
    ['b'],
  );

  test('a coupling capacitor takes the mean of the pulses off, each level by its share', async () => {
    const mean = -20 * (0.1 * 1 + 0.3 * 0.5);
    const found = (await run(circuit, view)).of('b');
    [-20, -10, 0].forEach((level, j) => expect(found[j]!).toBeCloseTo(level - mean, 3));
  });

  test('and so it is in the settled transient of the same pulses', async () => {
    const stage = {
      ...rcAmplifier,
      transient: () => ({ frequency_Hz: 10e3, settling_s: 10e-3 }),
    };
    const settled = await settledCycle(stage, circuit, {}, ROW, 'pulses', simulator, {}, view);
    if ('failed' in settled) throw new Error(settled.failed);
    const quick = (await run(circuit, view)).of('b');
    settled.nodes
      .get('b')!
      .forEach((volts, j) => expect(Math.abs(volts - quick[j]!)).toBeLessThan(0.2));
  });
});
