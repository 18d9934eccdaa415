import { subjectOf } from '../stage/bench.ts';
import { measureSubjects, type Outcome } from '../../src/measure/subjects.ts';
import type { OwnDefinition, OwnIssue } from '../../src/own-circuit/definition.ts';
import { ownCircuitStage } from '../../src/own-circuit/stage.ts';
import { defaultValues } from '../../src/stage/values.ts';
import type { Simulator, Stage, TubeCondition, TubeModel } from '../../src/types.ts';

/** What the tests of own circuits share. */

export const AMPLIFIER = [
  'VB b 0 250',
  'RA b p 100k',
  'X1 p g k TUBE',
  'RG g 0 1meg',
  'RK k 0 1.5k',
  'CIN in g 22n',
  'VIN in 0 0 AC 1',
];

export function definition(
  lines: readonly string[],
  formulas: Readonly<Record<string, string>> = { plate: 'v(p)' },
  more: Partial<OwnDefinition> = {},
): OwnDefinition {
  return {
    lines,
    watch: [],
    measures: Object.fromEntries(
      Object.entries(formulas).map(([id, formula]) => [id, { formula, unit: '' as const }]),
    ),
    tolerances: {},
    steady: [],
    ...more,
  };
}

export function issuesOf(given: OwnDefinition): readonly OwnIssue[] {
  const made = ownCircuitStage(given);
  return 'issues' in made ? made.issues : [];
}

export function stageFrom(given: OwnDefinition): Stage {
  const made = ownCircuitStage(given);
  if ('issues' in made) throw new Error(JSON.stringify(made.issues[0]));
  return made.stage;
}

/** Measures of one set of tubes, all in one condition. */
export async function measuredIn(
  stage: Stage,
  models: readonly TubeModel[],
  condition: TubeCondition,
  simulator: Simulator,
): Promise<Outcome> {
  const values = defaultValues(stage.values);
  const circuit = stage.circuit(values, models);
  const one = subjectOf(values, condition);
  const subject = { ...one, row: { ...one.row, tubes: models.map(() => one.row.tubes[0]!) } };
  const [outcome] = await measureSubjects(stage, circuit, values, [subject], simulator, {
    runId: 'own',
  });
  return outcome!;
}
