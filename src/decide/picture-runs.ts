import { subjectOf, tubesOf, type Case } from '../central.ts';
import { measureSubjects } from '../measure/subjects.ts';
import type { Circuit, Simulator, Step, StopSignal, Traces } from '../types.ts';
import { drawsOf, unknownsOf } from '../uncertainty/draws.ts';

/** New and this tube through one step of a picture's own, under the central draw and, for bands, a few more. */
export interface PairTraces {
  readonly newTube: Traces;
  readonly thisTube: Traces;
}

export interface RunPair {
  readonly central: PairTraces;
  readonly draws: readonly PairTraces[];
}

/** Undefined where the central runs did not finish. Rejects only when stopped. */
export async function runPair(
  given: Case,
  circuit: Circuit,
  step: Step,
  simulator: Simulator,
  signal: StopSignal,
  count = 0,
  seed = 1,
): Promise<RunPair | undefined> {
  const { stage, values } = given.socket;
  const wears = tubesOf(given).map(({ wear }) => wear);
  const draws = count === 0 ? [] : drawsOf(unknownsOf(circuit, wears), count, seed);
  const all = [{}, ...draws];
  const outcomes = await measureSubjects(
    { ...stage, steps: [step], measures: [] },
    circuit,
    values,
    all.flatMap((draw) => [
      subjectOf(
        values,
        circuit,
        wears.map((wear) => wear.newTube(draw)),
        draw,
        undefined,
      ),
      subjectOf(
        values,
        circuit,
        wears.map((wear) => wear.condition(draw)),
        draw,
        undefined,
      ),
    ]),
    simulator,
    { runId: `picture.${step.id}`, signal },
  );
  const pairs = all.flatMap((_, i): PairTraces[] => {
    const [newTube, thisTube] = [outcomes[2 * i]!, outcomes[2 * i + 1]!];
    return newTube.failed === undefined && thisTube.failed === undefined
      ? [{ newTube: newTube.traces, thisTube: thisTube.traces }]
      : [];
  });
  if (outcomes[0]!.failed !== undefined || outcomes[1]!.failed !== undefined) return undefined;
  return { central: pairs[0]!, draws: pairs.slice(1) };
}
