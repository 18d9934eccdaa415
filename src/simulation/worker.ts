import type { FromWorker, ToWorker } from './client.ts';
import { Spice } from './spice.ts';

/** Answers one netlist: what both kinds of worker do. The buffers are to be handed over, not copied. */
export async function answer(
  spice: Promise<Spice>,
  { serial, netlist }: ToWorker,
): Promise<{ message: FromWorker; buffers: ArrayBuffer[] }> {
  try {
    const answered = await (await spice).run(netlist);
    const buffers = new Set(
      answered.plots.flatMap((plot) =>
        Object.values(plot.vectors).map((vector) => vector.buffer as ArrayBuffer),
      ),
    );
    return { message: { serial, answer: answered }, buffers: [...buffers] };
  } catch (error) {
    const died = error instanceof Error ? error.message : String(error);
    return { message: { serial, died }, buffers: [] };
  }
}
