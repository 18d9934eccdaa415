import { printRun, printStart, startFrom } from '../../src/circuit/print.ts';
import { readRows, type RowVolts } from '../../src/circuit/read.ts';
import { meanOf } from '../../src/numerics/harmonics.ts';
import type { Circuit, Row, SimResult, Simulator, View } from '../../src/types.ts';

/** What the tests of the grid-leak detector share: views run by hand. */

export const relative = (a: number, b: number): number => Math.abs(a / b - 1);

export async function finished(
  simulator: Simulator,
  request: Parameters<Simulator['run']>[0],
): Promise<Extract<SimResult, { ok: true }>> {
  const result = await simulator.run(request, { timeout_ms: 60_000 });
  if (!result.ok) throw new Error(result.text);
  return result;
}

/** Rows of one view, up a ramp of drives, from the circuit at rest. */
export async function run(
  simulator: Simulator,
  circuit: Circuit,
  view: View,
  row: Row,
  ramp: readonly number[],
): Promise<RowVolts[]> {
  const start = startFrom((await finished(simulator, printStart(circuit, 'rest', row))).vectors);
  const rows = ramp.map((drive) => ({ ...row, drive }));
  return readRows(
    circuit,
    view,
    rows.length,
    await finished(simulator, printRun(circuit, 'run', view, rows, start).request),
  );
}

/** Mean over the carrier at each moment of the audio. */
export const slow = (samples: Float64Array, count: number): number[] =>
  Array.from({ length: samples.length / count }, (_, m) =>
    meanOf(samples.subarray(m * count, (m + 1) * count)),
  );

/** The last stretch of a transient at equal steps, by straight lines. */
export function evenly(time: Float64Array, values: Float64Array, stretch_s: number): Float64Array {
  const points = 8192;
  let at = 0;
  return Float64Array.from({ length: points }, (_, i) => {
    const t = time.at(-1)! - (1 - i / points) * stretch_s;
    while (at < time.length - 2 && time[at + 1]! < t) at++;
    const share = (t - time[at]!) / (time[at + 1]! - time[at]!);
    return values[at]! + share * (values[at + 1]! - values[at]!);
  });
}
