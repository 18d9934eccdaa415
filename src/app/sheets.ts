import { csvText, type Table } from '../report/csv.ts';
import { inSetTable } from '../report/in-set-table.ts';
import { assessmentsJson } from '../report/json.ts';
import { assessmentTable, cardTable, pictureTable, placingTable } from '../report/tables.ts';
import { boxLabel } from './box-label.ts';
import { socketOf, tubeOf, type State } from './state.ts';

/** Answers as files, and the label for the tube's box. Fetched when the first is asked for. */

interface Answer {
  /** For the file's name. */
  readonly what: string;
  readonly json: object;
  readonly table: () => Table;
}

/** The answer of the place that is open; undefined while it has none. */
export function answerOf(state: State): Answer | undefined {
  const { answers } = state.desk;
  const title = state.good?.scenario.title ?? '';
  switch (state.view) {
    case 'bench': {
      const { report } = state;
      if (report === undefined || state.run.kind === 'empty') return undefined;
      return {
        what: `${report.tube.id} in ${report.socket.id}`,
        json: assessmentsJson(title, [report]),
        table: () => assessmentTable([report]),
      };
    }
    case 'accept': {
      const { accept: card } = answers;
      if (card === undefined || card.socket.id !== socketOf(state)?.id) return undefined;
      const json = { format: 'stagefit-acceptance-cards', version: 1, title, cards: [card] };
      return { what: `card ${card.socket.id}`, json, table: () => cardTable([card]) };
    }
    case 'in-set': {
      const report = answers['in-set'];
      if (report === undefined || report.tube.id !== tubeOf(state)?.id) return undefined;
      const what = `in the set ${report.tube.id} in ${report.socket.id}`;
      return { what, json: report, table: () => inSetTable(report) };
    }
    case 'place': {
      const { place } = answers;
      if (place === undefined) return undefined;
      return { what: 'placing', json: { ...place, title }, table: () => placingTable(place) };
    }
    case 'learn': {
      const { learn } = answers;
      if (learn === undefined) return undefined;
      return {
        what: learn.picture.id,
        json: learn,
        table: () => pictureTable(learn.picture),
      };
    }
    default:
      return undefined;
  }
}

/** The answer as the command line writes it. */
export function answerFile(
  state: State,
  as: 'csv' | 'json',
): { readonly what: string; readonly text: string; readonly type: string } | undefined {
  const answer = answerOf(state);
  if (answer === undefined) return undefined;
  return as === 'csv'
    ? { what: answer.what, text: csvText(answer.table()), type: 'text/csv' }
    : {
        what: answer.what,
        text: `${JSON.stringify(answer.json, null, 2)}\n`,
        type: 'application/json',
      };
}

/** Puts the label beside the page, prints it alone, and takes it away again. */
export async function printLabel(state: State): Promise<void> {
  const { report, good } = state;
  const tube = tubeOf(state);
  if (report === undefined || good === undefined || tube?.id !== report.tube.id) return;
  await import('../../components/tube-label/tube-label.ts');
  const label = document.createElement('tube-label');
  const date = new Date().toLocaleDateString('en-GB', { dateStyle: 'medium' });
  label.label = boxLabel(report, tube.readings, good.scenario.bench, date);
  document.querySelector('tube-label')?.remove();
  document.body.append(label);
  document.documentElement.dataset['print'] = 'label';
  await label.updateComplete;
  addEventListener(
    'afterprint',
    () => {
      label.remove();
      delete document.documentElement.dataset['print'];
    },
    { once: true },
  );
  print();
}
