import { caseOf, readerContext } from '../../cases.ts';
import type { Case } from '../../central.ts';
import { Problem } from '../../problem.ts';
import { readScenario } from '../../scenario/read.ts';
import type { Scenario } from '../../scenario/scenario.ts';

/** The scenario of a text that the page sent. @throws Problem */
export const scenarioFrom = (text: string): Scenario =>
  readScenario(text, readerContext('this set'));

/** One tube in one socket of it. @throws Problem */
export function caseFrom(text: string, tube: string, socket: string): Case {
  const scenario = scenarioFrom(text);
  const [found, place] = [
    scenario.tubes.find((one) => one.id === tube),
    scenario.sockets.find((one) => one.id === socket),
  ];
  if (found === undefined || place === undefined)
    throw new Problem('missing', 'there is no such tube or socket in this set', {
      found: `${tube} in ${socket}`,
    });
  return caseOf(scenario, found, place);
}
