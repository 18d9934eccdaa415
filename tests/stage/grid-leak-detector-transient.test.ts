import { afterAll, describe, expect, test } from 'vitest';
import { transientOutcomes } from '../../src/measure/transient.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { gridLeakDetector } from '../../src/stage/grid-leak-detector.ts';
import { leak, modelOf, NEW, valuesOf } from './bench.ts';
import { AUDIO_HZ, byEnvelope, byTransient, DEPTH, detectorAt } from './detector-answers.ts';
import { relative } from './detector-bench.ts';

/** The envelope of phase copies against the slow answer: every cycle of the carrier. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

describe('against the full transient of the same parts, every cycle of the carrier', () => {
  const half = { ...NEW, area: 0.5, saturation_A: 0.01 };
  const leaky = { ...NEW, leaks: [leak(['plate', 'grid'], 300e6)] };
  test.for([
    ['new tube, weak carrier', NEW, 0.1, 455e3],
    ['new tube, medium carrier', NEW, 0.3, 455e3],
    ['new tube, past overload', NEW, 1, 455e3],
    ['half-emission tube', half, 0.3, 455e3],
    ['leaky tube', leaky, 0.3, 455e3],
    ['new tube, twice the carrier frequency', NEW, 0.3, 910e3],
  ] as const)('%s', { timeout: 60_000 }, async ([, condition, drive, carrier_Hz]) => {
    const { circuit, row } = detectorAt(carrier_Hz, condition, drive);
    const quick = await byEnvelope(simulator, circuit, row, AUDIO_HZ, 8, 7);
    const full = await byTransient(simulator, circuit, row, AUDIO_HZ, carrier_Hz);
    // measured: audio 0.2 to 0.8 %, distortion up to 0.2 points, plate 0.1 %
    expect(relative(quick.audio.amplitudes[0]!, full.audio.amplitudes[0]!)).toBeLessThan(0.02);
    expect(Math.abs(quick.audio.thdPercent - full.audio.thdPercent)).toBeLessThan(1);
    expect(relative(quick.plate_V, full.plate_V)).toBeLessThan(0.005);
    expect(Math.abs(quick.grid_V - full.grid_V)).toBeLessThan(0.005);
  });

  test('more phase copies and more moments change nothing, to three carriers', async () => {
    for (const [drive, count] of [
      [0.1, 4],
      [0.5, 6],
      [1, 9],
      [3, 15],
    ] as const) {
      const { circuit, row } = detectorAt(455e3, NEW, drive);
      const few = await byEnvelope(simulator, circuit, row, AUDIO_HZ, count, 7);
      const many = await byEnvelope(simulator, circuit, row, AUDIO_HZ, 2 * count, 15);
      // this many copies are what the stage takes for the carrier
      expect(count).toBe(copiesFor(drive));
      expect(relative(few.audio.amplitudes[0]!, many.audio.amplitudes[0]!)).toBeLessThan(3e-3);
      expect(Math.abs(few.audio.thdPercent - many.audio.thdPercent)).toBeLessThan(0.3);
      expect(Math.abs(few.grid_V - many.grid_V)).toBeLessThan(1e-3);
    }
  }, 60_000);
});

test('settled transients are refused: audio and carrier are two time scales', async () => {
  const values = valuesOf(gridLeakDetector);
  const circuit = gridLeakDetector.circuit(values, [modelOf('12AX7')]);
  await expect(
    transientOutcomes(gridLeakDetector, circuit, values, [], [], simulator, {}),
  ).rejects.toMatchObject({ code: 'does-not-fit' });
});

function copiesFor(carrier: number): number {
  const view = gridLeakDetector.steps
    .find((step) => step.id === 'audio')!
    .view(valuesOf(gridLeakDetector, { carrier, modulation: 100 * DEPTH }));
  return view.as === 'envelope' ? view.count : NaN;
}
