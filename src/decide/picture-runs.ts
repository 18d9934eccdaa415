import { atHeaterVoltage } from '../../models/cathode.ts';
import type { Case } from '../assess.ts';
import { measureSubjects, type Subject } from '../measure/subjects.ts';
import { heaterFactor, LINE } from '../stage/values.ts';
import type {
  Circuit,
  Draw,
  Simulator,
  Step,
  StopSignal,
  Traces,
  TubeCondition,
} from '../types.ts';
import { drawsOf, knobsUnder, unknownsOf } from '../uncertainty/draws.ts';

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
  { socket, tube }: Case,
  circuit: Circuit,
  step: Step,
  simulator: Simulator,
  signal: StopSignal,
  count = 0,
  seed = 1,
): Promise<RunPair | undefined> {
  const { stage, values } = socket;
  const draws = count === 0 ? [] : drawsOf(unknownsOf(circuit, [tube.wear]), count, seed);
  const subject = (condition: TubeCondition, draw: Draw): Subject => ({
    row: {
      knobs: knobsUnder(circuit, draw),
      tubes: circuit.tubes.map(() => ({
        state: atHeaterVoltage(condition, heaterFactor(values, draw[LINE] ?? 0)),
        leaks: condition.leaks,
      })),
    },
  });
  const all = [{}, ...draws];
  const outcomes = await measureSubjects(
    { ...stage, steps: [step], measures: [] },
    circuit,
    values,
    all.flatMap((draw) => [
      subject(tube.wear.newTube(draw), draw),
      subject(tube.wear.condition(draw), draw),
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
