import { afterAll, describe, expect, test } from 'vitest';
import { nodesOf, printRun } from '../../src/circuit/print.ts';
import { transientOutcomes } from '../../src/measure/transient.ts';
import { cycleHarmonics, meanOf, type CycleHarmonics } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { gridLeakDetector } from '../../src/stage/grid-leak-detector.ts';
import type { Circuit, Row, TubeCondition } from '../../src/types.ts';
import { leak, modelOf, NEW, subjectOf, valuesOf } from './bench.ts';
import { finished, relative, run, slow } from './detector-bench.ts';

/** The envelope of phase copies against the slow answer: every cycle of the carrier. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

interface Answer {
  readonly audio: CycleHarmonics;
  readonly plate_V: number;
  readonly grid_V: number;
}

const DEPTH = 0.3;

async function byEnvelope(
  circuit: Circuit,
  row: Row,
  audio_Hz: number,
  count: number,
  moments: number,
): Promise<Answer> {
  const view = {
    as: 'envelope',
    count,
    moments,
    substeps: 2,
    tone: { frequency_Hz: audio_Hz, depth: DEPTH },
  } as const;
  const found = (await run(simulator, circuit, view, row, [0.3 * row.drive, row.drive]))[1]!;
  return {
    audio: cycleHarmonics(slow(found.of('o'), count)),
    plate_V: meanOf(found.of('p')),
    grid_V: meanOf(found.of('g')),
  };
}

/** Five audio cycles of every carrier cycle, started from the means with the carrier alone; the last is looked at. */
async function byTransient(
  circuit: Circuit,
  row: Row,
  audio_Hz: number,
  carrier_Hz: number,
): Promise<Answer> {
  const everywhere = { ...circuit, watch: nodesOf(circuit).filter((node) => node !== '0') };
  const carrier = (
    await run(simulator, everywhere, { as: 'phases', count: 12 }, row, [0.3 * row.drive, row.drive])
  )[1]!;
  const means = Object.fromEntries(
    everywhere.watch.map((node) => [node, meanOf(carrier.of(node))]),
  );
  const view = {
    as: 'transient',
    frequency_Hz: carrier_Hz,
    cycles: (5 * carrier_Hz) / audio_Hz,
    stepsPerCycle: 100,
    tone: { frequency_Hz: audio_Hz, depth: DEPTH },
  } as const;
  // the grid's own capacitance and the grid capacitor divide the carrier; the stage's carrier is what is left
  const { input, gridPlate } = circuit.tubes[0]!.capacitances;
  const divider = 1 + (input + gridPlate) / GRID_CAPACITOR_F;
  const { vectors } = await finished(
    simulator,
    printRun(circuit, 'slow', view, [{ ...row, drive: row.drive * divider }], means).request,
  );
  const lastCycle = (node: string): Float64Array =>
    evenly(vectors['time']!, vectors[`v(${node})`]!, 1 / audio_Hz);
  return {
    audio: cycleHarmonics(lastCycle('o'), 6),
    plate_V: meanOf(lastCycle('p')),
    grid_V: meanOf(lastCycle('g')),
  };
}

/** The last stretch of a transient at equal steps, by straight lines. */
function evenly(time: Float64Array, values: Float64Array, stretch_s: number): Float64Array {
  const points = 8192;
  let at = 0;
  return Float64Array.from({ length: points }, (_, i) => {
    const t = time.at(-1)! - (1 - i / points) * stretch_s;
    while (at < time.length - 2 && time[at + 1]! < t) at++;
    const share = (t - time[at]!) / (time[at + 1]! - time[at]!);
    return values[at]! + share * (values[at + 1]! - values[at]!);
  });
}

const GRID_CAPACITOR_F = 250e-12;
const AUDIO_HZ = 5000;

/** Audio at 5 kHz, so that the transient is short; a tuned circuit so wide that it passes the sidebands. */
function detectorAt(
  carrier_Hz: number,
  condition: TubeCondition,
  drive: number,
): { circuit: Circuit; row: Row } {
  const values = valuesOf(gridLeakDetector, {
    supply: 180,
    gridLeak: 470e3,
    gridCapacitor: GRID_CAPACITOR_F,
    plateBypass: 250e-12,
    outputCapacitor: 1e-9,
    sourceResistance: 5e3,
    audioFrequency: AUDIO_HZ,
    carrierFrequency: carrier_Hz,
    carrier: drive,
  });
  const circuit = gridLeakDetector.circuit(values, [modelOf('12AX7')]);
  return {
    circuit: {
      ...circuit,
      parts: circuit.parts.map((part) => (part.kind === 'tank' ? { ...part, loadedQ: 200 } : part)),
    },
    row: { ...subjectOf(values, condition).row, drive },
  };
}

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
    const quick = await byEnvelope(circuit, row, AUDIO_HZ, 8, 7);
    const full = await byTransient(circuit, row, AUDIO_HZ, carrier_Hz);
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
      const few = await byEnvelope(circuit, row, AUDIO_HZ, count, 7);
      const many = await byEnvelope(circuit, row, AUDIO_HZ, 2 * count, 15);
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
