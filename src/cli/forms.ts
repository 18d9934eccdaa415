import { Problem } from '../problem.ts';
import { csvText, type Table } from '../report/csv.ts';
import type { Invocation } from './command.ts';

/** The one document that a command prints: words, or with --json or --csv the same for a program. */
export const FORMS = { json: 'flag', csv: 'flag' } as const;

export interface Forms {
  text(): string;
  json(): unknown;
  csv(): Table;
}

/** Before anything long is computed. Throws `Problem`. */
export function checkForms(options: Invocation['options']): void {
  if (options['json'] === true && options['csv'] === true)
    throw new Problem('usage', 'one document at a time', {
      found: '--json and --csv',
      expected: 'one of them',
    });
}

/** Throws `Problem`. */
export function document(options: Invocation['options'], forms: Forms): string {
  checkForms(options);
  if (options['csv'] === true) return csvText(forms.csv());
  return options['json'] === true ? `${JSON.stringify(forms.json(), null, 2)}\n` : forms.text();
}
