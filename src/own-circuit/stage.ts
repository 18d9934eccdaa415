import { COMMON_VALUES, LINE, lineFactor, numberOf } from '../stage/values.ts';
import { normalCdf } from '../numerics/normal.ts';
import type {
  Circuit,
  Family,
  MeasureSpec,
  Measures,
  ReadingKind,
  Stage,
  StageValues,
  TubePart,
  Uncertain,
} from '../types.ts';
import { valueAt, type Answers, type Quantity } from './answers.ts';
import {
  MOST,
  type Element,
  type OwnCircuit,
  type OwnDefinition,
  type OwnIssue,
  type TubeElement,
} from './definition.ts';
import { Refused } from './elements.ts';
import { ownFormula, type Needs, type OwnFormula } from './formula.ts';
import { RESERVED, NoNumber } from './functions.ts';
import { quoted } from './lines.ts';
import { knobOf, printAnalyses } from './print.ts';
import { readOwnCircuit } from './read.ts';

export const OWN_CIRCUIT = 'own-circuit';
const TOLERANCE = 'resistorTolerance';

/** Values of every own circuit; its parts are in its netlist. */
export const OWN_VALUES: Stage['values'] = {
  [TOLERANCE]: {
    title: 'tolerance of a resistor, plus or minus, where none is given',
    unit: '%',
    default: 10,
    low: 0,
    high: 50,
    tolerance_percent: 0,
  },
  ...COMMON_VALUES,
};

/** What a reader has to know before the netlist is read: its tubes and measures come with it. */
export const OWN_SCHEMA = { id: OWN_CIRCUIT, tubes: 1, values: OWN_VALUES, measures: [] } as const;

/** A reading that was not taken decides wherever the simulation says that it would. */
const READINGS: readonly ReadingKind[] = ['emission', 'leakage', 'gridCurrent', 'heaterCathode'];

/**
 * The stage that a user's netlist describes, or everything that is wrong with it. Pure: the same definition gives the same
 * stage, and nothing of the text reaches the engine but numbers and prefixed names.
 */
export function ownCircuitStage(
  definition: OwnDefinition,
): { readonly stage: Stage } | { readonly issues: readonly OwnIssue[] } {
  const issues: OwnIssue[] = [];
  const note = (issue: OwnIssue): void => void issues.push(issue);
  const own = readOwnCircuit(definition.lines, note);
  if (own === undefined) return { issues };
  checkTolerances(definition, own, note);
  const watch = watched(definition, own, note);
  const formulas = formulasOf(definition, own, note);
  if (issues.length > 0) return { issues };
  const needs = together(
    formulas.map(({ formula }) => formula.needs),
    watch,
  );
  if (needs.frequencies.length > MOST.frequencies)
    return {
      issues: [
        {
          code: 'too-large',
          message: 'too many frequencies',
          place: 'measures',
          found: needs.frequencies.join(', '),
          expected: `at most ${MOST.frequencies}`,
        },
      ],
    };
  return { stage: stageOf(definition, own, watch, formulas, needs) };
}

interface Named {
  readonly id: string;
  readonly formula: OwnFormula;
}

function stageOf(
  definition: OwnDefinition,
  own: OwnCircuit,
  watch: readonly string[],
  formulas: readonly Named[],
  needs: Needs,
): Stage {
  const tubes = own.elements
    .filter((element): element is TubeElement => element.kind === 'X')
    .sort((a, b) => a.place - b.place);
  const families = tubes.map(({ electrodes }) => FAMILY[electrodes.length]!);
  return {
    id: OWN_CIRCUIT,
    title: 'Own circuit',
    does: 'What its netlist says.',
    source: 'the netlist of this scenario',
    families: [...new Set(families)],
    tubes: tubes.length,
    values: OWN_VALUES,
    circuit: (values, models): Circuit => ({
      title: 'Own circuit',
      parts: tubes.map(tubePart),
      tubes: models,
      knobs: knobsOf(definition, own, values),
      watch,
      netlist: definition.lines.join('\n'),
    }),
    steps: [{ id: 'rest', view: () => ({ as: 'quiescent' }), settings: () => [{ drive: 0 }] }],
    measures: formulas.map(({ id, formula }): MeasureSpec => ({
      id,
      title: definition.measures[id]!.title ?? id,
      unit: definition.measures[id]!.unit,
      step: 'rest',
      what: definition.measures[id]!.formula,
      readings: READINGS,
      of: ({ answers }, measures) => valueOf(formula, answers, measures),
    })),
    limits: [],
    gridCircuit: [],
    transient: () => ({ frequency_Hz: 1, settling_s: 0 }),
    own: {
      families,
      requests: (circuit, row, runId, start) =>
        printAnalyses(own, needs, circuit, row, runId, start),
      restVolts: (answers, node) => valueAt(answers['rest']!, { of: 'node', node }, 0, false).re,
    },
  };
}

const FAMILY: Readonly<Record<number, Family>> = {
  2: 'diode',
  3: 'triode',
  4: 'pentode',
  5: 'pentagrid',
};

function valueOf(formula: OwnFormula, answers: Answers | undefined, own: Measures) {
  if (answers === undefined) throw new Error('an own circuit was not run as one');
  try {
    return formula.of(answers, own);
  } catch (error) {
    if (error instanceof NoNumber) return { noValue: error.message };
    throw error;
  }
}

/** For the tubes' states and leaks; an own circuit is not drawn. */
const tubePart = (element: TubeElement): TubePart => ({
  kind: 'tube',
  id: element.name,
  nodes: Object.fromEntries([
    ...element.electrodes.map((electrode, i) => [electrode, element.nodes[i]!]),
    ['heater', element.nodes.at(-1)!],
  ]) as TubePart['nodes'],
  tube: element.place - 1,
  at: [0, 0],
  drawn: false,
});

/** Parts with a tolerance, and the supplies, which move with the line voltage. */
function knobsOf(
  definition: OwnDefinition,
  own: OwnCircuit,
  values: StageValues,
): Record<string, Uncertain> {
  const stated = lowerCase(definition.tolerances);
  const steady = definition.steady.map((name) => name.toLowerCase());
  return Object.fromEntries(
    own.elements.flatMap((element): [string, Uncertain][] => {
      const name = knobOf(element);
      if (isSupply(element, own) && element.kind === 'V' && !steady.includes(name)) {
        const { dc } = element;
        return [[name, { nominal: dc, unknown: LINE, toValue: (z) => dc * lineFactor(values, z) }]];
      }
      if (element.kind !== 'R' && element.kind !== 'C' && element.kind !== 'L') return [];
      const percent = stated[name] ?? (element.kind === 'R' ? numberOf(values, TOLERANCE) : 0);
      if (percent === 0) return [];
      const { value } = element;
      const toValue = (z: number): number => value * (1 + (percent / 100) * (2 * normalCdf(z) - 1));
      // no unknown of a tube has such a name
      return [[name, { nominal: value, unknown: `own ${name}`, toValue }]];
    }),
  );
}

/** A direct voltage against chassis that is neither swept nor a signal. */
function isSupply(element: Element, own: OwnCircuit): boolean {
  return (
    element.kind === 'V' &&
    element.dc !== 0 &&
    element.sine === undefined &&
    element.nodes.includes('0') &&
    own.sweep?.source !== element.name.toLowerCase()
  );
}

const lowerCase = <T>(record: Readonly<Record<string, T>>): Record<string, T> =>
  Object.fromEntries(Object.entries(record).map(([key, value]) => [key.toLowerCase(), value]));

function checkTolerances(
  { tolerances, steady }: OwnDefinition,
  { elements }: OwnCircuit,
  note: (issue: OwnIssue) => void,
): void {
  const check = (place: string, name: string, kinds: readonly Element['kind'][]): void => {
    const fitting = elements.filter(({ kind }) => kinds.includes(kind)).map((one) => one.name);
    if (!fitting.some((one) => one.toLowerCase() === name.toLowerCase()))
      note({
        code: 'unknown-name',
        message: 'the circuit has no such element',
        place,
        found: quoted(name),
        expected:
          fitting.length === 0 ? `an element ${kinds.join(', ')}` : fitting.slice(0, 20).join(', '),
      });
  };
  for (const name of Object.keys(tolerances)) check(`tolerances.${name}`, name, ['R', 'C', 'L']);
  steady.forEach((name, i) => check(`steady[${i}]`, name, ['V']));
}

/** Nodes whose volts are told: those that were named, or those of the tubes. */
function watched(
  definition: OwnDefinition,
  { elements }: OwnCircuit,
  note: (issue: OwnIssue) => void,
): string[] {
  const nodes = new Set(elements.flatMap((element) => element.nodes));
  const wanted = definition.watch.map((name, i) => {
    const node = name.toLowerCase();
    if (!nodes.has(node))
      note({
        code: 'unknown-name',
        message: 'the circuit has no such node',
        place: `watch[${i}]`,
        found: quoted(name),
        expected: [...nodes].slice(0, 20).join(', '),
      });
    return node;
  });
  const ofTubes = elements.flatMap((element) => (element.kind === 'X' ? element.nodes : []));
  return [...new Set(wanted.length > 0 ? wanted : ofTubes)].filter((node) => node !== '0');
}

function formulasOf(
  definition: OwnDefinition,
  own: OwnCircuit,
  note: (issue: OwnIssue) => void,
): Named[] {
  const found: Named[] = [];
  const ids = Object.keys(definition.measures);
  const wrong = (
    place: string,
    message: string,
    told: Pick<OwnIssue, 'found' | 'expected' | 'hint'>,
    code: OwnIssue['code'] = 'bad-value',
  ): void => note({ code, message, place, ...told });
  if (ids.length === 0 || ids.length > MOST.measures)
    wrong(
      'measures',
      ids.length === 0 ? 'nothing is measured' : 'too many measures',
      {
        found: `${ids.length} measures`,
        expected: `1 to ${MOST.measures}, such as "plateVoltage": { "formula": "v(p)", "unit": "V" }`,
      },
      ids.length === 0 ? 'missing' : 'too-large',
    );
  for (const id of ids.slice(0, MOST.measures)) {
    if (!/^[A-Za-z]\w{0,31}$/.test(id) || RESERVED.has(id) || id in Object.prototype) {
      wrong(`measures.${id}`, 'this is no name for a measure', {
        found: quoted(id),
        expected: `a letter, then up to 31 letters, digits and "_"; none of ${[...RESERVED].join(', ')}`,
      });
      continue;
    }
    try {
      const formula = ownFormula(
        definition.measures[id]!.formula,
        own,
        found.map((one) => one.id),
      );
      found.push({ id, formula });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      wrong(
        `measures.${id}.formula`,
        error.message,
        {
          found: error.found,
          expected: error.expected,
          ...(error.hint === undefined ? {} : { hint: error.hint }),
        },
        error.code,
      );
    }
  }
  return found;
}

function together(all: readonly Needs[], watch: readonly string[]): Needs {
  const quantities = [
    ...watch.map((node): Quantity => ({ of: 'node', node })),
    ...all.flatMap((needs) => needs.quantities),
  ];
  return {
    quantities: [...new Map(quantities.map((one) => [JSON.stringify(one), one])).values()],
    frequencies: [...new Set(all.flatMap((needs) => needs.frequencies))],
    sweep: all.some((needs) => needs.sweep),
    transient: all.some((needs) => needs.transient),
  };
}
