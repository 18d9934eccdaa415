import { Problem } from '../problem.ts';
import { writeJson } from '../scenario/write.ts';
import { read } from './catalogue.ts';
import { isObject, type JsonObject } from './json-edit.ts';
import type { GoodDocument } from './state.ts';

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
