import { afterAll, describe, expect, test } from 'vitest';
import { transientOutcomes } from '../../src/measure/transient.ts';
import { measureSubjects, type Outcome } from '../../src/measure/subjects.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { frequencyConverter } from '../../src/stage/frequency-converter.ts';
import { localOscillator } from '../../src/stage/local-oscillator.ts';
import { CAPACITORS } from '../../src/stage/local-oscillator-values.ts';
import type { Circuit, Stage, StageValues, TubeCondition } from '../../src/types.ts';
import { testWithNative } from '../native-ngspice.ts';
import { leak, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';
import { runFromAKick, type Running } from './oscillator-bench.ts';

/** Harmonic balance over held swings against the whole circuit, from a kick through every cycle to a steady swing. */
const simulator = nodeSimulator();
afterAll(() => simulator.close());

/** Coils of one winding do not couple perfectly. */
const COUPLING = 0.98;
const tapped =
  (share: number) =>
  (henries: number, farads: number, ohms: number): string[] => [
    `La t k ${(1 - share) ** 2 * henries}`,
    `Lb k 0 ${share ** 2 * henries}`,
    `Kab La Lb ${COUPLING}`,
    `Ct t 0 ${farads}`,
    `Rt t 0 ${ohms}`,
  ];
const split =
  (share: number) =>
  (henries: number, farads: number, ohms: number): string[] => [
    `Lt t u ${henries}`,
    `Rt t u ${ohms}`,
    `Cg t 0 ${farads / (1 - share)}`,
    `Cp u 0 ${farads / share}`,
    // what hangs between capacitors has no direct voltage of its own
    'Rd t 0 1e7',
  ];

interface Both {
  readonly quick: Outcome;
  readonly full: Running;
}

async function both(
  stage: Stage,
  type: string,
  values: StageValues,
  condition: TubeCondition,
  lines: Parameters<typeof runFromAKick>[5],
  watch: readonly string[],
): Promise<Both> {
  const circuit: Circuit = stage.circuit(values, [modelOf(type)]);
  const subject = subjectOf(values, condition);
  const [quick] = await measureSubjects(stage, circuit, values, [subject], simulator, {
    runId: 'quick',
  });
  const frequency_Hz = values['oscillatorFrequency']!.value as number;
  const row = { ...subject.row, drive: 0 };
  const full = runFromAKick(circuit, row, frequency_Hz, CYCLES, 't', lines, watch);
  return { quick: quick!, full };
}
const CYCLES = 150;

const near = (found: number, expected: number, share: number): void =>
  expect(Math.abs(found / expected - 1), `${found} against ${expected}`).toBeLessThan(share);

const half = { ...NEW, area: 0.5, saturation_A: 0.03 };
const dead = { ...NEW, area: 0.2, saturation_A: 0.02 };

describe('pentagrid with a tapped coil', () => {
  const TAP = 0.1;
  // supplies and line that settle within the run; the tuned circuit is that of a broadcast receiver, at another frequency
  const SETTLED = {
    screenSupply: 90,
    screenDropper: 100,
    screenBypass: 10e-9,
    lineCapacitor: 1e-9,
    agcLineResistance: 20e3,
    // and one in which a kick dies away within the run
    tankImpedance: 25e3,
    tankQ: 30,
    feedbackShare: TAP,
  };
  const converter = (
    given: Readonly<Record<string, number>>,
    condition: TubeCondition,
  ): Promise<Both> =>
    both(
      frequencyConverter,
      '6BE6',
      valuesOf(frequencyConverter, { ...SETTLED, ...given }),
      condition,
      tapped(TAP),
      ['t', 'g1', 's'],
    );

  testWithNative('a new tube: swing and bias within 5 %', async () => {
    const { quick, full } = await converter({ oscillatorFrequency: 3e6 }, NEW);
    near(numberOf(quick, 'oscillatorVoltage'), full.swing_V, 0.05);
    near(numberOf(quick, 'oscillatorGridVoltage'), full.mean('g1'), 0.05);
    // the tube's and the coil's strays
    near(full.frequency_Hz, 3e6, 0.06);
  });

  testWithNative('half the emission: the same', async () => {
    const { quick, full } = await converter({ oscillatorFrequency: 3e6 }, half);
    near(numberOf(quick, 'oscillatorVoltage'), full.swing_V, 0.05);
    near(numberOf(quick, 'oscillatorGridVoltage'), full.mean('g1'), 0.05);
  });

  for (const screenBypass of [10e-9, 300e-12, 100e-12])
    testWithNative(
      `in the broadcast band, where the grid capacitor gives way, with ${screenBypass} F at the screens: the same`,
      async () => {
        const { quick, full } = await converter({ oscillatorFrequency: 1.5e6, screenBypass }, NEW);
        near(numberOf(quick, 'oscillatorVoltage'), full.swing_V, 0.05);
        near(numberOf(quick, 'oscillatorGridVoltage'), full.mean('g1'), 0.05);
      },
    );

  testWithNative('a tube that is said not to oscillate does not: a kick dies away', async () => {
    const { quick, full } = await converter({ oscillatorFrequency: 3e6 }, dead);
    expect(quick.measures['oscillatorVoltage']).toMatchObject({
      noValue: expect.stringContaining('does not oscillate'),
    });
    expect(full.swing_V).toBeLessThan(0.01);
  });
});

describe('triode', () => {
  const VALUES = { oscillatorFrequency: 5e6, tankQ: 20 };
  testWithNative('with a tapped coil: swing and bias within 5 %', async () => {
    const values = valuesOf(localOscillator, VALUES);
    const { quick, full } = await both(localOscillator, '6C4', values, NEW, tapped(0.25), [
      't',
      'g',
      'p',
    ]);
    near(numberOf(quick, 'oscillatorVoltage'), full.swing_V, 0.05);
    near(numberOf(quick, 'oscillatorGridVoltage'), full.mean('g'), 0.05);
    near(numberOf(quick, 'plateVoltage'), full.mean('p'), 0.02);
  });

  testWithNative('with two capacitors, half the emission and a leaky grid: the same', async () => {
    const values = {
      ...valuesOf(localOscillator, VALUES),
      feedback: { value: CAPACITORS, tolerance_percent: 0, measured: false },
    };
    const leaky = { ...half, leaks: [leak(['plate', 'grid'], 2e6)] };
    const { quick, full } = await both(localOscillator, '6C4', values, leaky, split(0.25), [
      't',
      'g',
      'p',
    ]);
    // between grid and chassis stands what the plate's side leaves
    near(0.75 * numberOf(quick, 'oscillatorVoltage'), full.swing_V, 0.05);
    near(numberOf(quick, 'oscillatorGridVoltage'), full.mean('g'), 0.05);
  });
});

test('settled transients are refused: an oscillator is not driven', async () => {
  const values = valuesOf(localOscillator);
  const circuit = localOscillator.circuit(values, [modelOf('6C4')]);
  await expect(
    transientOutcomes(localOscillator, circuit, values, [], [], simulator, {}),
  ).rejects.toMatchObject({ code: 'does-not-fit' });
});
