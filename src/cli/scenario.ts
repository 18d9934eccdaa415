import { readerContext } from '../cases.ts';
import { Problem } from '../problem.ts';
import { readTubesCsv } from '../scenario/csv.ts';
import { readScenario } from '../scenario/read.ts';
import type { Scenario } from '../scenario/scenario.ts';
import { readTextFile } from './files.ts';

/** Reads and checks a scenario file; "-" is standard input. Throws `Problem`. */
export async function scenarioFrom(path: string): Promise<Scenario> {
  return readScenario(
    await readTextFile(path),
    readerContext(path === '-' ? 'standard input' : path),
  );
}

/**
 * The scenario with the tubes of a CSV table beside its own, for its sockets and on its bench instrument; "-" is standard
 * input. Throws `Problem`, also where a tube of the table has the name of one of the scenario.
 */
export async function withReadings(scenario: Scenario, path: string): Promise<Scenario> {
  const file = path === '-' ? 'standard input' : path;
  const { tubes, warnings } = readTubesCsv(await readTextFile(path), readerContext(file), {
    bench: scenario.bench,
    sockets: scenario.sockets.map(({ id }) => id),
  });
  const twice = tubes.find(({ id }) => scenario.tubes.some((own) => own.id === id));
  if (twice !== undefined)
    throw new Problem('contradiction', 'the table and the scenario have a tube of the same name', {
      file,
      place: 'tube',
      found: twice.id,
      expected: 'names that the scenario does not use',
    });
  return {
    ...scenario,
    tubes: [...scenario.tubes, ...tubes],
    warnings: [...scenario.warnings, ...warnings],
  };
}
