import { nodesOf, printRun } from '../../src/circuit/print.ts';
import { cycleHarmonics, meanOf, type CycleHarmonics } from '../../src/numerics/harmonics.ts';
import { gridLeakDetector } from '../../src/stage/grid-leak-detector.ts';
import type { Circuit, Row, Simulator, TubeCondition } from '../../src/types.ts';
import { modelOf, subjectOf, valuesOf } from './bench.ts';
import { evenly, finished, run, slow } from './detector-bench.ts';

/** The grid-leak detector's quick answer, and the slow one: every cycle of the carrier. */

export interface Answer {
  readonly audio: CycleHarmonics;
  readonly plate_V: number;
  readonly grid_V: number;
}

export const DEPTH = 0.3;

export async function byEnvelope(
  simulator: Simulator,
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
export async function byTransient(
  simulator: Simulator,
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

const GRID_CAPACITOR_F = 250e-12;
export const AUDIO_HZ = 5000;

/** Audio at 5 kHz, so that the transient is short; a tuned circuit so wide that it passes the sidebands. */
export function detectorAt(
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
