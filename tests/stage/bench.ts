import { atHeaterVoltage } from '../../models/cathode.ts';
import { findDevice } from '../../models/catalogue.ts';
import { tubeModel } from '../../models/tube.ts';
import { measureSubjects, type Outcome, type Subject } from '../../src/measure/subjects.ts';
import { defaultValues, heaterFactor, LOWEST_LINE } from '../../src/stage/values.ts';
import type {
  Leak,
  Simulator,
  Stage,
  StageValues,
  TubeCondition,
  TubeModel,
} from '../../src/types.ts';

/** What the stage tests share: a stage with some values, a tube in some condition, its measures. */

export function modelOf(type: string): TubeModel {
  const found = findDevice(type);
  if (found === undefined) throw new Error(`no type ${type}`);
  return tubeModel(found.device, found.device.units.find((unit) => unit.fit !== undefined)!.id);
}

export function valuesOf(
  stage: Stage,
  given: Readonly<Record<string, number | string | readonly number[]>> = {},
): StageValues {
  const values: Record<string, StageValues[string]> = { ...defaultValues(stage.values) };
  for (const [key, value] of Object.entries(given)) {
    if (values[key] === undefined) throw new Error(`${stage.id} has no value ${key}`);
    values[key] = { ...values[key], value };
  }
  return values;
}

/** A stage that is driven by these in one of its steps, V peak. */
export const drivenThrough = (stage: Stage, step: string, drives: readonly number[]): Stage => ({
  ...stage,
  steps: stage.steps.map((one) =>
    one.id === step ? { ...one, settings: () => drives.map((drive) => ({ drive })) } : one,
  ),
});

export const NEW: TubeCondition = {
  area: 1,
  saturation_A: 0.1,
  gasRatio: 0,
  gridEmission_A: 0,
  contactShift_V: 0,
  interface_ohm: 0,
  leaks: [],
};

export const leak = (between: Leak['between'], ohms: number): Leak => ({
  between,
  siemens: 1 / ohms,
});

export function subjectOf(
  values: StageValues,
  condition: TubeCondition,
  newTube?: number,
): Subject {
  const tubesAt = (z: number): Subject['row']['tubes'] => [
    { state: atHeaterVoltage(condition, heaterFactor(values, z)), leaks: condition.leaks },
  ];
  return {
    row: { knobs: {}, tubes: tubesAt(0) },
    lowLine: tubesAt(LOWEST_LINE),
    ...(newTube === undefined ? {} : { newTube }),
  };
}

/** Measures of some conditions side by side; the first is the new tube of the others. */
export async function measured(
  stage: Stage,
  type: string,
  given: Readonly<Record<string, number | string | readonly number[]>>,
  conditions: readonly TubeCondition[],
  simulator: Simulator,
  steps?: readonly string[],
): Promise<Outcome[]> {
  const values = valuesOf(stage, given);
  const circuit = stage.circuit(values, [modelOf(type)]);
  const subjects = conditions.map((condition, i) =>
    subjectOf(values, condition, i === 0 ? undefined : 0),
  );
  return measureSubjects(stage, circuit, values, subjects, simulator, {
    runId: 'test',
    ...(steps === undefined ? {} : { steps }),
  });
}

/** A measure that must be a number. */
export function numberOf(outcome: Outcome, id: string): number {
  const value = outcome.measures[id];
  if (typeof value !== 'number')
    throw new Error(`${id}: ${outcome.failed ?? JSON.stringify(value)}`);
  return value;
}
