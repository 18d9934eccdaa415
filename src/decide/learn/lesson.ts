import { newTubeState } from '../../../models/cathode.ts';
import { findDevice } from '../../../models/catalogue.ts';
import { tubeModel, withRatings } from '../../../models/tube.ts';
import { measureSubjects, type Outcome } from '../../measure/subjects.ts';
import type { Picture } from '../../report/picture.ts';
import { findStage } from '../../stage/catalogue.ts';
import { defaultValues } from '../../stage/values.ts';
import type {
  Circuit,
  Leak,
  Simulator,
  Stage,
  StageValues,
  Step,
  StopSignal,
  TubeCondition,
  TubeModel,
  Unit,
} from '../../types.ts';

/**
 * A lesson: one question, a live circuit behind it, sliders, a picture and a finding. Every figure comes from the engine that
 * the verdicts come from; none is typed in.
 */
export interface Lesson {
  readonly id: string;
  readonly title: string;
  /** The question that it answers. */
  readonly question: string;
  /** The relation behind it, as plain text. */
  readonly equation: string;
  /** What the letters mean, and where the relation comes from. */
  readonly where: string;
  readonly sliders: readonly Slider[];
  /** Rejects only when stopped. */
  run(values: Readonly<Record<string, number>>, run: LessonRun): Promise<LessonAnswer>;
}

export interface Slider {
  readonly key: string;
  readonly title: string;
  readonly unit: Unit;
  readonly low: number;
  readonly high: number;
  readonly start: number;
  readonly scale: 'linear' | 'log';
}

export interface LessonRun {
  readonly simulator: Simulator;
  readonly signal?: StopSignal;
}

export interface LessonAnswer {
  readonly picture: Picture;
  /** One sentence, with the numbers of this picture. */
  readonly finding: string;
}

/** A stage with its own default values and a new tube of a type in it. */
export interface Demonstration {
  readonly stage: Stage;
  readonly values: StageValues;
  readonly circuit: Circuit;
  readonly model: TubeModel;
  readonly newTube: TubeCondition;
}

export function demonstration(
  stageId: string,
  type: string,
  given: Readonly<Record<string, number>> = {},
): Demonstration {
  const stage = findStage(stageId);
  const found = findDevice(type);
  if (stage === undefined || found === undefined) throw new Error(`no ${type} in a ${stageId}`);
  const model = withRatings(tubeModel(found.device, found.device.units[0]!.id), found.ratings);
  const values: Record<string, StageValues[string]> = { ...defaultValues(stage.values) };
  for (const [key, value] of Object.entries(given)) values[key] = { ...values[key]!, value };
  return {
    stage,
    values,
    circuit: stage.circuit(values, [model]),
    model,
    newTube: { ...newTubeState(model), leaks: [] },
  };
}

/** One look of a lesson: a tube's condition, and part values that differ. */
export interface LessonLook {
  readonly condition: TubeCondition;
  readonly knobs?: Readonly<Record<string, number>>;
}

/**
 * The looks through a demonstration's circuit, with steps of the lesson's own or the stage's. In their order, in one sweep:
 * where a circuit can rest in more than one way, what comes before leads to what follows.
 */
export function look(
  { stage, values, circuit }: Demonstration,
  looks: readonly LessonLook[],
  { simulator, signal }: LessonRun,
  steps: readonly Step[] | undefined,
  runId: string,
): Promise<Outcome[]> {
  return measureSubjects(
    steps === undefined ? stage : { ...stage, steps, measures: [] },
    circuit,
    values,
    looks.map(({ condition, knobs = {} }) => ({
      row: { knobs, tubes: [{ state: condition, leaks: condition.leaks }] },
    })),
    simulator,
    { runId: `learn.${runId}`, ...(signal === undefined ? {} : { signal }) },
  );
}

/** The circuit at rest. */
export const AT_REST: Step = {
  id: 'rest',
  view: () => ({ as: 'quiescent' }),
  settings: () => [{ drive: 0 }],
};

export const withLeak = (
  condition: TubeCondition,
  between: Leak['between'],
  ohms: number,
): TubeCondition => ({ ...condition, leaks: [{ between, siemens: 1 / ohms }] });

/** Volts of a node at rest; undefined where the engine found none. */
export function restVolts(outcome: Outcome, node: string): number | undefined {
  return outcome.failed === undefined ? outcome.traces.volts(AT_REST.id, 0, node)[0] : undefined;
}

/** Evenly on a logarithmic axis, both ends included. */
export function logSteps(low: number, high: number, count: number): number[] {
  return Array.from({ length: count }, (_, i) => low * (high / low) ** (i / (count - 1)));
}

/** Points that were found. */
export function line(
  xs: readonly number[],
  ys: readonly (number | undefined)[],
): (readonly [number, number])[] {
  return xs.flatMap((x, i) => (ys[i] === undefined ? [] : [[x, ys[i]] as const]));
}
