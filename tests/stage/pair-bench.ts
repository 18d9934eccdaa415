import { atHeaterVoltage } from '../../models/cathode.ts';
import { measureSubjects, type Outcome, type Subject } from '../../src/measure/subjects.ts';
import { heaterFactor } from '../../src/stage/values.ts';
import type { Simulator, Stage, StageValues, TubeCondition } from '../../src/types.ts';
import { modelOf, NEW, valuesOf } from './bench.ts';

/** What tests of stages with two tubes share: the conditions of both, their measures. */

export type Pair = readonly [TubeCondition, TubeCondition];

/** A tube of a type as new, with the type's own saturation. */
export const freshOf = (type: string): TubeCondition => ({
  ...NEW,
  saturation_A: modelOf(type).parameters['isat_mA']! * 1e-3,
});

export const pairSubject = (values: StageValues, pair: Pair, newTube?: number): Subject => ({
  row: {
    knobs: {},
    tubes: pair.map((condition) => ({
      state: atHeaterVoltage(condition, heaterFactor(values, 0)),
      leaks: condition.leaks,
    })),
  },
  ...(newTube === undefined ? {} : { newTube }),
});

/** Values of a stage, text and null among them. */
export function valuesWith(
  stage: Stage,
  given: Readonly<Record<string, number | string | null>>,
): StageValues {
  const values: Record<string, StageValues[string]> = { ...valuesOf(stage) };
  for (const [key, value] of Object.entries(given)) {
    if (values[key] === undefined) throw new Error(`${stage.id} has no value ${key}`);
    values[key] = { ...values[key], value };
  }
  return values;
}

/** Measures of some pairs side by side; the first is the new pair of the others. */
export async function measuredPairs(
  stage: Stage,
  type: string,
  given: Readonly<Record<string, number | string | null>>,
  pairs: readonly Pair[],
  simulator: Simulator,
  steps?: readonly string[],
): Promise<Outcome[]> {
  const values = valuesWith(stage, given);
  const circuit = stage.circuit(values, [modelOf(type), modelOf(type)]);
  return measureSubjects(
    stage,
    circuit,
    values,
    pairs.map((pair, i) => pairSubject(values, pair, i === 0 ? undefined : 0)),
    simulator,
    { runId: 'pairs', ...(steps === undefined ? {} : { steps }) },
  );
}
