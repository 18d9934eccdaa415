import type { RunOptions, SimRequest, SimResult, Simulator } from '../types.ts';

/** Answers kept; an assessment of one tube makes some twenty. */
const MOST = 300;

/**
 * A simulator that runs the same netlist once. A new tube under a seed's draws is the same for every tube that is tried
 * in a socket, and for every edit of this tube's readings: half of the work. Only good answers are kept.
 */
export function rememberingSimulator(simulator: Simulator): Simulator {
  const known = new Map<string, SimResult>();
  return {
    engine: simulator.engine,
    workers: simulator.workers,
    async run(request: SimRequest, options?: RunOptions): Promise<SimResult> {
      const before = known.get(request.netlist);
      if (before !== undefined) {
        // the last used come last; the first go
        known.delete(request.netlist);
        known.set(request.netlist, before);
        return before;
      }
      const result = await simulator.run(request, options);
      if (!result.ok) return result;
      known.set(request.netlist, result);
      const oldest = known.keys().next();
      if (known.size > MOST && oldest.done !== true) known.delete(oldest.value);
      return result;
    },
    close: () => simulator.close(),
  };
}
