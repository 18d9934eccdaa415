import { Problem } from '../problem.ts';
import type { Scenario, Socket } from '../scenario/scenario.ts';
import type { Invocation } from './command.ts';

/** Options that several commands take. */

/** `--seed`, a whole number; undefined where it was not given. Throws `Problem`. */
export function seedOf(given: Invocation['options'][string]): number | undefined {
  if (typeof given !== 'string') return undefined;
  if (!/^\d{1,9}$/.test(given))
    throw new Problem('usage', 'the seed is no whole number', {
      place: '--seed',
      found: given,
      expected: '0 to 999999999',
    });
  return Number(given);
}

/** The sockets that `--socket` names: one, or all of them where it was not given. Throws `Problem`. */
export function socketsOf(
  scenario: Scenario,
  given: Invocation['options'][string],
): readonly Socket[] {
  if (typeof given !== 'string') return scenario.sockets;
  const found = scenario.sockets.filter(({ id }) => id === given);
  if (found.length > 0) return found;
  throw new Problem('unknown-name', 'the scenario has no socket of that name', {
    place: '--socket',
    found: given,
    expected: scenario.sockets.map(({ id }) => id).join(', '),
  });
}
