import { readerContext } from '../cases.ts';
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
