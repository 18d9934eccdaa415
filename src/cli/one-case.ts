import { caseOf, pairsOf } from '../cases.ts';
import type { Case } from '../central.ts';
import { Problem } from '../problem.ts';
import type { Scenario } from '../scenario/scenario.ts';
import type { Invocation } from './command.ts';
import { catalogueFrom, doubts, scenarioFrom } from './scenario.ts';

/** The one case that --tube and --socket name. What of its file is doubtful goes to standard error: what follows is SPICE text. */
export async function oneCase(
  file: string,
  options: Invocation['options'],
  needSocket: boolean,
): Promise<Case> {
  const { given, scenario } = await oneCaseOf(file, options, needSocket);
  process.stderr.write(doubts(scenario));
  return given;
}

/** The same with its scenario. */
export async function oneCaseOf(
  file: string,
  options: Invocation['options'],
  needSocket: boolean,
): Promise<{ readonly given: Case; readonly scenario: Scenario }> {
  const find = await catalogueFrom(options['device']);
  const scenario = await scenarioFrom(file, find);
  const text = (name: string, needed: boolean): string | undefined => {
    const value = options[name];
    if (typeof value === 'string') return value;
    if (!needed) return undefined;
    throw new Problem('usage', `--${name} is missing`, {
      place: `--${name}`,
      expected: `the id of a ${name} of the scenario`,
    });
  };
  const tube = text('tube', true)!;
  const socket = text('socket', needSocket);
  const only = { tube, ...(socket === undefined ? {} : { socket }) };
  const pair = pairsOf(scenario, only, find)[0];
  if (pair === undefined)
    throw new Problem('does-not-fit', 'this tube goes into no socket of the scenario', {
      place: '--tube',
      found: tube,
    });
  return { given: caseOf(scenario, pair.tube, pair.socket, find), scenario };
}
