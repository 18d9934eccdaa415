import type { SimRequest, SimResult, Simulator } from '../../types.ts';
import { checkAnswer, faultOf } from '../check.ts';
import { answerOf, type Recording } from './recording.ts';

/**
 * Answers from recordings, found by the exact netlist, and checks them as it would the engine's. A netlist that was not
 * recorded is a failure, never a guess.
 */
export function recordedSimulator(recordings: readonly Recording[]): Simulator {
  const byNetlist = new Map(recordings.map((recording) => [recording.request.netlist, recording]));
  const answer = (request: SimRequest): SimResult => {
    const refuse = (why: 'parse' | 'incomplete', text: string): SimResult => ({
      ok: false,
      runId: request.runId,
      why,
      text,
    });
    const fault = faultOf(request);
    if (fault !== undefined) return refuse('parse', fault);
    const recording = byNetlist.get(request.netlist);
    if (recording === undefined) return refuse('incomplete', 'no recording of this netlist');
    return checkAnswer(request, recording.serial, answerOf(recording));
  };
  return {
    engine: `recorded from ${[...new Set(recordings.map(({ engine }) => engine))].join(', ') || 'nothing'}`,
    workers: 1,
    run: (request, { signal } = {}) =>
      Promise.resolve(
        signal?.aborted === true
          ? { ok: false, runId: request.runId, why: 'cancelled', text: 'cancelled' }
          : answer(request),
      ),
    close: () => undefined,
  };
}
