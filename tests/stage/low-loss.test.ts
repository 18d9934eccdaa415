import { afterAll, describe, expect, test } from 'vitest';
import { characteristics } from '../../models/characteristics.ts';
import { measureSubjects, type Subject } from '../../src/measure/subjects.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { fundamental } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { outputPushPull } from '../../src/stage/output-push-pull.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import { videoOutput } from '../../src/stage/video-output.ts';
import type { Stage } from '../../src/types.ts';
import { measured, modelOf, NEW, numberOf, subjectOf } from './bench.ts';
import { freshOf, pairSubject, valuesWith } from './pair-bench.ts';

/** What weak bypasses, couplings and a primary's inductance cost at the lowest frequency. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

/** Couplings that are shorts at any frequency, and a source that no grid loads. */
const COUPLED = { couplingCapacitor: 1e-4, outputCapacitor: 1e-3, sourceResistance: 0 };

describe('closed forms', () => {
  test('the shelf of a cathode’s bypass: 1 + D at the bottom with D = (mu + 1)·Rk/(RL + rp), corner at 1/(2 pi Rk C) (Radiotron Designer’s Handbook, 4th ed., ch. 12, from memory)', async () => {
    const [Rk, f] = [1500, 50];
    for (const cathodeBypass of [25e-6, 2e-6, 0.5e-6, 1e-8]) {
      const [out] = await measured(
        rcAmplifier,
        '12AX7',
        { ...COUPLED, cathodeResistor: Rk, cathodeBypass, lowestFrequency: f },
        [NEW],
        simulator,
        ['small'],
      );
      const k = -numberOf(out!, 'gridBias');
      const { mu, rp_ohm } = characteristics(modelOf('12AX7'), {
        plate_V: numberOf(out!, 'plateVoltage') - k,
        grid_V: -k,
      });
      const D = ((mu + 1) * Rk) / (1 / (1 / 100e3 + 1 / 470e3) + rp_ohm);
      const x = f * 2 * Math.PI * Rk * cathodeBypass;
      expect(
        numberOf(out!, 'lowLoss') - 20 * Math.log10(Math.hypot(1 + D, x) / Math.hypot(1, x)),
        `${cathodeBypass} F`,
      ).toBeCloseTo(0, 1);
    }
  });

  test('a coupling loses 3 dB where its reactance is the resistance around it: 1/(2 pi R C) (any textbook)', async () => {
    const ohms = 100e3 + 47e3;
    const [out] = await measured(
      rcAmplifier,
      '12AX7',
      {
        ...COUPLED,
        cathodeBypass: 1e-2,
        sourceResistance: 47e3,
        // far below the reactance of the grid's capacitance
        gridResistor: 100e3,
        couplingCapacitor: 1 / (2 * Math.PI * 50 * ohms),
      },
      [NEW],
      simulator,
      ['small'],
    );
    expect(numberOf(out!, 'lowLoss')).toBeCloseTo(10 * Math.log10(2), 1);
  });
});

interface Against {
  readonly name: string;
  readonly stage: Stage;
  readonly type: string;
  readonly given: Readonly<Record<string, number | string>>;
  readonly drive: number;
  readonly steps: readonly string[];
  readonly output: string;
}

/** Where the phase copies, with every capacitor a short, tell the gain in full. */
const CASES: readonly Against[] = [
  {
    name: 'weak cathode and screen bypass of a pentode',
    stage: rcAmplifier,
    type: '6AU6',
    given: { cathodeBypass: 2e-6, screenBypass: 20e-9, lowestFrequency: 60 },
    drive: 0.02,
    steps: ['small'],
    output: 'o',
  },
  {
    name: 'weak cathode bypass of an output tube, on its transformer',
    stage: outputSingleEnded,
    type: '6V6GT',
    // without the winding's resistance the plate's volts are the load's
    given: { cathodeBypass: 10e-6, lowestFrequency: 60, drive: 0.2, primaryResistance: 1 },
    drive: 0.2,
    steps: ['rest', 'driven'],
    output: 'p',
  },
  {
    name: 'weak bypasses of a push-pull pair',
    stage: outputPushPull,
    type: '6V6GT',
    given: { cathodes: 'separate', cathodeResistor: 500, cathodeBypass: 5e-6, drive: 0.2 },
    drive: 0.2,
    steps: ['adjust', 'rest', 'small', 'driven'],
    output: 'out',
  },
  {
    name: 'weak cathode and screen bypass of a video tube',
    stage: videoOutput,
    type: '12BY7A',
    given: { cathodeBypass: 20e-6, screenDropper: 10e3, screenBypass: 0.5e-6 },
    drive: 0.02,
    steps: ['small'],
    output: 'p',
  },
];

describe('the small-signal answer against the settled transient at that frequency: within 0.1 dB', () => {
  test.for(CASES)('$stage.id: $name', { timeout: 60_000 }, async (one) => {
    const { stage, type, given, drive, steps, output } = one;
    const values = valuesWith(stage, given);
    const tubes = Array.from({ length: stage.tubes }, () => modelOf(type));
    const circuit = stage.circuit(values, tubes);
    const fresh = freshOf(type);
    const subject: Subject =
      stage.tubes === 2 ? pairSubject(values, [fresh, fresh]) : subjectOf(values, fresh);
    const [quick] = await measureSubjects(stage, circuit, values, [subject], simulator, {
      runId: 'quick',
      steps,
    });
    const load = numberOrNone(values, ['loadResistance', 'loadPlateToPlate']);
    const full =
      load === undefined
        ? numberOf(quick!, 'gain') * drive
        : Math.sqrt(2 * load * numberOf(quick!, 'powerOutput'));
    const low = valuesWith(stage, {
      ...given,
      signalFrequency: values['lowestFrequency']!.value as number,
    });
    const settled = await settledCycle(
      stage,
      circuit,
      low,
      { ...subject.row, drive },
      'slow',
      simulator,
      {},
    );
    if ('failed' in settled) throw new Error(settled.failed);
    const loss_dB = 20 * Math.log10(full / Math.abs(fundamental(settled.nodes.get(output)!)));
    expect(loss_dB).toBeGreaterThan(3);
    expect(Math.abs(numberOf(quick!, 'lowLoss') - loss_dB), `${loss_dB} dB`).toBeLessThan(0.1);
  });
});

const numberOrNone = (
  values: ReturnType<typeof valuesWith>,
  keys: readonly string[],
): number | undefined =>
  keys.map((key) => values[key]?.value).find((value) => typeof value === 'number');

test('a bypass that a common cathode of equal push-pull tubes has costs nothing: no signal is there', async () => {
  const fresh = freshOf('6V6GT');
  const lossOf = async (cathodeBypass: number): Promise<number> => {
    const values = valuesWith(outputPushPull, { cathodeBypass });
    const circuit = outputPushPull.circuit(values, [modelOf('6V6GT'), modelOf('6V6GT')]);
    const subject = pairSubject(values, [fresh, fresh]);
    const [out] = await measureSubjects(outputPushPull, circuit, values, [subject], simulator, {
      runId: 'common',
      steps: ['adjust', 'rest', 'small'],
    });
    return numberOf(out!, 'lowLoss');
  };
  expect(await lossOf(1e-6)).toBeCloseTo(await lossOf(1e-2), 3);
});
