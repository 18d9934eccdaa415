import { capital } from '../units/title.ts';

/** Said with every answer. */
export const CAUTIONS: readonly string[] = [
  'A verdict is a calculation from a model, not a promise.',
  'The voltages in such a set kill, also from charged capacitors after it is switched off; a transformerless chassis can be live. Follow local codes and a licensed practitioner.',
];

/** A line of what was not judged: a sentence of its own where the readings do not tell it, a list of what they never tell. */
export const notJudgedSentence = (line: string): string =>
  line.endsWith('.') ? line : `Not judged: ${line}.`;

/** The same under the heading "Not judged". */
export const notJudgedLine = (line: string): string =>
  line.endsWith('.') ? line : `${capital(line)}: no calculation tells them.`;
