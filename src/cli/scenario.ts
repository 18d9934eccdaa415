import { catalogueWith, findDevice } from '../../models/catalogue.ts';
import { readDevice } from '../../models/device-read.ts';
import { readerContext, type FindDevice } from '../cases.ts';
import { Problem } from '../problem.ts';
import { readTubesCsv } from '../scenario/csv.ts';
import { readScenario } from '../scenario/read.ts';
import type { Scenario } from '../scenario/scenario.ts';
import type { Invocation } from './command.ts';
import { readTextFile } from './files.ts';

/** Reads and checks a scenario file; "-" is standard input. Throws `Problem`. */
export async function scenarioFrom(path: string, find?: FindDevice): Promise<Scenario> {
  return readScenario(
    await readTextFile(path),
    readerContext(path === '-' ? 'standard input' : path, find),
  );
}

/**
 * The scenario with the tubes of a CSV table beside its own, for its sockets and on its bench instrument; "-" is standard
 * input. Throws `Problem`, also where a tube of the table has the name of one of the scenario.
 */
export async function withReadings(
  scenario: Scenario,
  path: string,
  find?: FindDevice,
): Promise<Scenario> {
  const file = path === '-' ? 'standard input' : path;
  const { tubes, warnings } = readTubesCsv(await readTextFile(path), readerContext(file, find), {
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

/** What of the file was doubtful, with its place: lines above a report. */
const notes = ({ warnings }: Scenario): string[] =>
  warnings.map(({ place, text }) => `Note: ${text.startsWith(place) ? '' : `${place}: `}${text}`);

/** What heads a report of the whole set. */
export const heading = (scenario: Scenario): string =>
  [scenario.title, ...notes(scenario), '', ''].join('\n');

/** What heads a report that names its own socket. */
export const doubts = (scenario: Scenario): string =>
  scenario.warnings.length === 0 ? '' : [...notes(scenario), '', ''].join('\n');

/** The catalogue with the device files of `--device` in front. Throws `Problem`. */
export async function catalogueFrom(given: Invocation['options'][string]): Promise<FindDevice> {
  if (!Array.isArray(given) || given.length === 0) return findDevice;
  const own = await Promise.all(
    given.map(async (path: string) => {
      const text = await readTextFile(path);
      let json: unknown;
      try {
        json = JSON.parse(text);
      } catch (cause) {
        throw new Problem(
          'not-json',
          'this is no JSON',
          {
            file: path,
            found: cause instanceof Error ? cause.message : String(cause),
            expected: 'a device file, as "stagefit fit … --json" writes it',
          },
          { cause },
        );
      }
      return readDevice(json, path);
    }),
  );
  return catalogueWith(own);
}
