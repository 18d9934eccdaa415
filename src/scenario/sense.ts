/** What the readings and the profile cannot be together, told at its line: the checks of `wear`, which know no text. */
import { Problem } from '../problem.ts';
import type { Check } from './check.ts';
import type { JsonNode } from './json.ts';

/**
 * Runs a check that throws a Problem whose place begins with `place`, and notes it at the node that the place names.
 *
 * @returns whether it held
 */
export function holds(node: JsonNode, place: string, check: Check, test: () => void): boolean {
  try {
    test();
    return true;
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const { place: at = place, found, expected, hint } = error.fields;
    const inside = at.startsWith(place) ? at.slice(place.length) : '';
    check.wrong(error.code, nodeAt(node, inside), at, error.message, {
      ...(found === undefined ? {} : { found }),
      ...(expected === undefined ? {} : { expected }),
      ...(hint === undefined ? {} : { hint }),
    });
    return false;
  }
}

/** As deep as the path of keys goes; a single reading where the path says the first of a list is that reading. */
export function nodeAt(node: JsonNode, path: string): JsonNode {
  let at = node;
  for (const step of path.split(/[.[\]]+/).filter((part) => part !== '')) {
    if (at.kind === 'list') at = at.items[Number(step)] ?? at;
    else if (at.kind === 'object') at = at.members.find(({ key }) => key === step)?.value ?? at;
  }
  return at;
}
