import { subjectOf, tubesOf, type Case } from '../central.ts';
import { circuitOf } from '../line-neighbours.ts';
import { measureSubjects } from '../measure/subjects.ts';
import { Problem } from '../problem.ts';
import type { RunOptions, Simulator } from '../types.ts';
import { limitsFor } from '../verdict/limit.ts';
import type { Margins } from './map-guess.ts';

/** Margins of all limits for many cases that share a socket and a type. */
export async function marginsWith(base: Case, simulator: Simulator, options: RunOptions) {
  const { stage, values, limits: own } = base.socket;
  const run: RunOptions = {
    ...(options.signal === undefined ? {} : { signal: options.signal }),
    ...(options.timeout_ms === undefined ? {} : { timeout_ms: options.timeout_ms }),
  };
  const circuit = await circuitOf(base, simulator, run);
  const limits = limitsFor(
    stage.limits.filter(({ needs = [] }) =>
      needs.every((rating) =>
        tubesOf(base).every(({ model }) => model.ratings?.[rating] !== undefined),
      ),
    ),
    own,
    stage.measures.map(({ id }) => id),
    `${base.socket.id}.limits`,
  );
  const newTubes = tubesOf(base).map(({ wear }) => wear.newTube({}));
  const at = async (cases: readonly Case[]): Promise<Margins[]> => {
    const subjects = [
      newTubes,
      ...cases.map((one) => tubesOf(one).map(({ wear }) => wear.condition({}))),
    ].map((each, i) => subjectOf(values, circuit, each, {}, i === 0 ? undefined : 0));
    const [newTube, ...outcomes] = await measureSubjects(
      stage,
      circuit,
      values,
      subjects,
      simulator,
      { ...run, runId: 'map' },
    );
    if (newTube?.failed !== undefined)
      throw new Problem('simulation', 'the new tube could not be simulated in this socket', {
        place: base.socket.id,
        found: newTube.failed,
      });
    return outcomes.map(({ measures, failed }) =>
      limits.map((limit) => {
        const applied =
          failed === undefined ? limit.apply(measures, newTube?.measures ?? {}) : undefined;
        return applied?.value === undefined ? undefined : applied.margin;
      }),
    );
  };
  return { limits, at };
}
