import { Problem } from '../problem.ts';
import { writeJson } from '../scenario/write.ts';
import { read } from './catalogue.ts';
import { EXAMPLE_PROFILE } from '../wear/profile.ts';
import { setBench } from './edits.ts';
import { isObject, memberOf, type JsonObject } from './json-edit.ts';
import type { GoodDocument } from './state.ts';

/**
 * A file from elsewhere. Where it names no instrument, the example one is written into it, so that what the page shows is
 * what its file says.
 *
 * @throws Problem
 */
export function goodFromFile(
  text: string,
  file: string,
): { readonly good: GoodDocument; readonly lackedBench: boolean } {
  const good = goodFrom(text, file);
  if (memberOf(good.document, 'bench') !== undefined) return { good, lackedBench: false };
  const whole = tryRead(setBench(good.document, EXAMPLE_PROFILE as unknown as JsonObject));
  if ('message' in whole) throw new Problem('missing', whole.message);
  return { good: whole, lackedBench: true };
}

/** @throws Problem */
export function goodFrom(text: string, file: string): GoodDocument {
  const scenario = read(text, file);
  if (!isObject(scenario.original)) throw new Problem('wrong-format', 'a scenario is an object');
  return { document: scenario.original, text, scenario };
}

/** A changed document, or why it cannot be. */
export function tryRead(document: JsonObject): GoodDocument | { readonly message: string } {
  const text = writeJson(document);
  try {
    return goodFrom(text, 'this set');
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const { found, expected, hint } = error.fields;
    return {
      message: [
        `${error.message}.`,
        found === undefined ? '' : `Found ${found}.`,
        expected === undefined ? '' : `Expected ${expected}.`,
        hint ?? '',
      ]
        .filter((part) => part !== '')
        .join(' '),
    };
  }
}
