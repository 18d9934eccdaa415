import { STAGES, findStage } from '../../stage/catalogue.ts';
import { Problem } from '../../problem.ts';
import { columnsOf, type CsvRow, type Table } from '../../report/csv.ts';
import { wrap } from '../../report/text.ts';
import { formatQuantity } from '../../units/format.ts';
import type { Stage, ValueSpec } from '../../types.ts';
import { OWN_SCHEMA } from '../../own-circuit/stage.ts';
import type { Command } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { OWN_CIRCUIT_HELP } from '../own-circuit-help.ts';

export const stagesCommand: Command = {
  name: 'stages',
  usage: 'stages [STAGE] [--json | --csv]',
  summary: 'the stages a socket can be, their values, measures and limits',
  help: `Without a name: the list. With one: every value a scenario may give, its default and range,
what is measured, and the limits with their reasons.

  stagefit stages
  stagefit stages agc-if-amplifier`,
  options: FORMS,
  positionals: { least: 0, most: 1 },
  run({ positionals, options }) {
    checkForms(options);
    const name = positionals[0];
    if (name === OWN_SCHEMA.id) {
      process.stdout.write(
        document(options, {
          json: () => OWN_SCHEMA,
          csv: () => listTable([OWN]),
          text: () => OWN_CIRCUIT_HELP,
        }),
      );
      return Promise.resolve(0);
    }
    const chosen = name === undefined ? undefined : findStage(name);
    if (name !== undefined && chosen === undefined)
      throw new Problem('unknown-stage', 'no such stage', {
        found: name,
        expected: [...STAGES, OWN_SCHEMA].map(({ id }) => id).join(', '),
      });
    process.stdout.write(
      document(options, {
        json: () => (chosen === undefined ? STAGES.map(asData) : asData(chosen)),
        csv: () => (chosen === undefined ? listTable([...STAGES, OWN]) : valuesTable(chosen)),
        text: () =>
          chosen === undefined
            ? [...STAGES, OWN].map(({ id, does }) => `${id.padEnd(26)} ${does}\n`).join('')
            : `${describe(chosen).join('\n')}\n`,
      }),
    );
    return Promise.resolve(0);
  },
};

const OWN = { id: OWN_SCHEMA.id, does: 'A netlist of your own, with measures as formulas.' };

const asData = (stage: Stage): object => ({
  id: stage.id,
  title: stage.title,
  does: stage.does,
  source: stage.source,
  families: stage.families,
  tubes: stage.tubes,
  values: stage.values,
  measures: stage.measures.map(({ id, title, unit, what }) => ({ id, title, unit, what })),
  limits: stage.limits,
});

const listTable = (stages: readonly { readonly id: string; readonly does: string }[]): Table => ({
  columns: ['id', 'does'],
  rows: stages.map(({ id, does }) => ({ id, does })),
});

/** Values with their defaults and ranges, then measures and limits, SI. */
function valuesTable(stage: Stage): Table {
  const rows: CsvRow[] = [
    ...Object.entries(stage.values).map(([id, spec]) => ({
      kind: 'value',
      id,
      title: spec.title,
      unit: spec.unit,
      low: spec.low,
      high: spec.high,
      default: typeof spec.default === 'object' ? spec.default?.join('; ') : spec.default,
      tolerance_percent: spec.tolerance_percent,
      choices: spec.choices?.join('; '),
    })),
    ...stage.measures.map(({ id, what: title, unit }) => ({ kind: 'measure', id, title, unit })),
    ...stage.limits.map(({ measure: id, formula, reason: title, source }) => ({
      kind: 'limit',
      id,
      title,
      formula,
      source,
    })),
  ];
  return {
    columns: columnsOf(
      'stage kind id title unit default low high tolerance_percent choices formula source',
    ),
    rows: rows.map((row) => ({ stage: stage.id, ...row })),
  };
}

function describe(stage: Stage): string[] {
  const shown = (spec: ValueSpec, value: number): string =>
    formatQuantity(value, spec.unit, { digits: 3 });
  const given = (spec: ValueSpec): string =>
    spec.default === null
      ? 'none'
      : typeof spec.default === 'number'
        ? shown(spec, spec.default)
        : typeof spec.default === 'string'
          ? spec.default
          : spec.default.map((value) => shown(spec, value)).join(', ');
  return [
    `${stage.id}: ${stage.title}`,
    ...wrap(stage.does, 2),
    ...wrap(`Takes: ${stage.families.join(', ')}. Source: ${stage.source}.`, 2),
    '',
    'Values (key, default, range)',
    ...Object.entries(stage.values).flatMap(([key, spec]) => [
      `  ${key.padEnd(22)} ${given(spec).padEnd(15)}  ${spec.choices === undefined ? `${shown(spec, spec.low)} … ${shown(spec, spec.high)}` : spec.choices.join(', ')}`,
      ...wrap(`${spec.title}${spec.help === undefined ? '' : `. ${spec.help}`}`, 6),
    ]),
    '',
    'Measures',
    ...stage.measures.flatMap((measure) => [
      `  ${measure.id} (${measure.unit === '' ? 'number' : measure.unit})`,
      ...wrap(measure.what, 6),
    ]),
    '',
    'Limits',
    ...stage.limits.flatMap((limit) => [
      `  ${limit.formula}`,
      ...wrap(`${limit.reason} (${limit.source})`, 6),
    ]),
  ];
}
