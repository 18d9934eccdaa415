import { subjectOf, tubesOf, type Case } from '../central.ts';
import { circuitOf } from '../line-neighbours.ts';
import { measureSubjects } from '../measure/subjects.ts';
import { Problem } from '../problem.ts';
import type { Measures, RunOptions, Simulator } from '../types.ts';
import { limitsFor } from '../verdict/limit.ts';
import type { At, Margins } from './map-guess.ts';

/** A case, and where it stands on the map, as shares of its sides. */
export interface PlacedCase {
  readonly at: At;
  readonly given: Case;
}

/**
 * Margins of all limits for many cases that share a socket and a type. What was found at the nearest place so far tells each where
 * to look; one that finds no number there looks everywhere.
 */
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
  const fresh = subjectOf(values, circuit, newTubes, {}, undefined);
  const known: { readonly at: At; readonly measures: Measures }[] = [];
  const nearest = (at: At): Measures | undefined => {
    const away = known.map((one) => Math.hypot(one.at[0] - at[0], one.at[1] - at[1]));
    return known[away.indexOf(Math.min(...away))]?.measures;
  };

  interface Found {
    readonly measures: Measures;
    readonly margins: Margins;
  }
  const found = async (
    cases: readonly PlacedCase[],
    hints: readonly (Measures | undefined)[] = [],
  ): Promise<Found[]> => {
    const worn = cases.map(({ given }, n) => {
      const hint = hints[n];
      return {
        ...subjectOf(values, circuit, conditionsOf(given), {}, 0),
        ...(hint === undefined ? {} : { central: hint }),
      };
    });
    const [newTube, ...outcomes] = await measureSubjects(
      stage,
      circuit,
      values,
      [fresh, ...worn],
      simulator,
      { ...run, runId: 'map' },
    );
    if (newTube?.failed !== undefined)
      throw new Problem('simulation', 'the new tube could not be simulated in this socket', {
        place: base.socket.id,
        found: newTube.failed,
      });
    return outcomes.map(({ measures, failed }) => ({
      measures,
      margins: limits.map((limit) => {
        const applied =
          failed === undefined ? limit.apply(measures, newTube?.measures ?? {}) : undefined;
        return applied?.value === undefined ? undefined : applied.margin;
      }),
    }));
  };

  /** A number there was at the place that told where to look, and there is none here. */
  const isLost = (measures: Measures, hint: Measures | undefined): boolean =>
    limits.some(
      ({ spec: { measure } }) =>
        typeof hint?.[measure] === 'number' && typeof measures[measure] !== 'number',
    );

  const at = async (cases: readonly PlacedCase[]): Promise<Margins[]> => {
    const hints = cases.map((one) => nearest(one.at));
    const all = await found(cases, hints);
    const lost = [...all.keys()].filter((n) => isLost(all[n]!.measures, hints[n]));
    const again = lost.length === 0 ? [] : await found(lost.map((n) => cases[n]!));
    lost.forEach((n, i) => (all[n] = again[i]!));
    all.forEach(({ measures }, n) => known.push({ at: cases[n]!.at, measures }));
    return all.map(({ margins }) => margins);
  };
  return { limits, at };
}

const conditionsOf = (given: Case) => tubesOf(given).map(({ wear }) => wear.condition({}));
