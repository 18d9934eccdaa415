import { columnsOf, listed, type CsvRow } from '../../report/csv.ts';
import { FAULT_COLUMNS, faultCells } from '../../report/tables.ts';
import type { CircuitFault, Judged } from '../../types.ts';

/** A line of verdicts as lines of a table, a measure each: the same figures. A line that could not be read is one line. */

export const BATCH_COLUMNS: readonly string[] = columnsOf(
  `tube type section socket verdict measure decides unit status newTube value low high limit margin
   ${FAULT_COLUMNS} draws warnings error`,
);

/** What `answerLine` writes. */
type Answer =
  | {
      readonly tube: string;
      readonly type: string;
      readonly section: string;
      readonly warnings?: readonly string[];
      readonly assessments: readonly {
        readonly socket: string;
        readonly verdict: string;
        readonly decidedBy: { readonly measure: string | null };
        readonly circuitFault?: CircuitFault;
        readonly draws: number;
        readonly measures: readonly (Pick<
          Judged,
          'id' | 'unit' | 'status' | 'newTube' | 'value' | 'low' | 'high' | 'margin'
        > & { readonly limit?: number })[];
      }[];
    }
  | { readonly error: Readonly<Record<string, unknown>> };

export function batchRows(json: string): readonly CsvRow[] {
  const answer = JSON.parse(json) as Answer;
  if ('error' in answer) return [{ error: JSON.stringify(answer.error) }];
  const { tube, type, section } = answer;
  const warnings = listed(answer.warnings ?? []);
  return answer.assessments.flatMap(
    ({ socket, verdict, decidedBy, circuitFault, draws, measures }) =>
      measures.map(({ id, ...figures }) => ({
        tube,
        type,
        section,
        socket,
        verdict,
        measure: id,
        decides: id === decidedBy.measure,
        ...figures,
        ...faultCells(circuitFault),
        draws,
        warnings,
      })),
  );
}
