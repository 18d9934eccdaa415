import type { Circuit, Row, SimRequest, TubeModel } from '../types.ts';
import { tubeKnobValue } from '../circuit/knobs.ts';
import { ROUGHLY_V } from '../circuit/print.ts';
import {
  acId,
  meterName,
  nodeName,
  vectorOf,
  type Quantity,
  type Vectors,
  LAST_CYCLES,
} from './answers.ts';
import type { Element, OwnCircuit, Source, TubeElement } from './definition.ts';
import type { Needs } from './formula.ts';

/**
 * The netlists of one row: the user's circuit with this row's values as plain numbers, the tubes with this row's wear, one
 * netlist an analysis. Nothing of the user's text goes to the engine but names, and those carry a prefix.
 */

export interface Analysis {
  readonly analysis: string;
  readonly request: SimRequest;
}

const STEADY_OPTIONS =
  '.options klu reltol=1e-5 vntol=1e-6 abstol=1e-11 itl1=300 itl2=100 itl4=100';
const TRANSIENT_OPTIONS = '.options method=gear reltol=1e-4 vntol=1e-5 abstol=1e-10 itl4=50';
/** Cycles at the end of a transient that are kept. */
const KEPT_CYCLES = LAST_CYCLES + 1.25;

/** Knob of an element whose value spreads. */
export const knobOf = (element: Element): string => element.name.toLowerCase();

export function printAnalyses(
  own: OwnCircuit,
  needs: Needs,
  circuit: Circuit,
  row: Omit<Row, 'drive'>,
  runId: string,
  start: Vectors = {},
): Analysis[] {
  const names = [...new Set(needs.quantities.map(vectorOf))].filter((name) => name !== 'v(0)');
  const meters = new Set(
    needs.quantities.flatMap((quantity) => (quantity.of === 'current' ? [meterKey(quantity)] : [])),
  );
  const body = [
    ...new Map(
      circuit.tubes.map((model) => {
        const { name, text } = model.spice();
        return [name, text];
      }),
    ).values(),
    ...own.models.map(
      ({ name, parameters }) =>
        `.model M_${name.toLowerCase()} D(${Object.entries(parameters)
          .map(([key, value]) => `${key}=${value}`)
          .join(' ')})`,
    ),
    ...own.elements.flatMap((element) => printElement(element, own, circuit, row, meters)),
    ...guess(start, own),
  ];
  const save = `.save ${names.join(' ')}`;
  const one = (
    analysis: string,
    kind: SimRequest['analysis'],
    lines: readonly string[],
    points: number,
    end?: number,
  ): Analysis => {
    const id = `${runId}.${analysis.replaceAll(/[^a-z0-9]/g, '')}`;
    return {
      analysis,
      request: {
        runId: id,
        netlist: [`* stagefit ${id}`, ...body, ...lines, '.end'].join('\n'),
        analysis: kind,
        need: kind === 'tran' ? ['time', ...names] : names,
        points,
        ...(end === undefined ? {} : { end }),
      },
    };
  };
  const analyses = [one('rest', 'op', ['.save all', STEADY_OPTIONS, '.op'], 1)];
  const { sweep, transient } = own;
  if (needs.sweep && sweep !== undefined) {
    const source = own.elements.find((element) => element.name.toLowerCase() === sweep.source)!;
    const end = sweep.start + (sweep.points - 1) * sweep.step;
    // the engine counts by adding up: half a step more meets the last point and no further one
    const line = `.dc ${engineName(source)} ${sweep.start} ${end + sweep.step / 2} ${sweep.step}`;
    analyses.push(one('sweep', 'dc', [save, STEADY_OPTIONS, line], sweep.points, end));
  }
  for (const frequency of needs.frequencies)
    analyses.push(
      one(
        acId(frequency),
        'ac',
        [save, STEADY_OPTIONS, `.ac lin 1 ${frequency} ${frequency}`],
        1,
        frequency,
      ),
    );
  if (needs.transient && transient !== undefined) {
    const frequency = own.elements.flatMap((element) => sineOf(element))[0]!;
    const cycles = Math.floor(transient.stop_s * frequency + 1e-6);
    const end = cycles / frequency;
    const from = Math.max(0, cycles - KEPT_CYCLES) / frequency;
    analyses.push(
      one(
        'transient',
        'tran',
        [save, TRANSIENT_OPTIONS, `.tran ${transient.step_s} ${end} ${from} ${transient.step_s}`],
        Math.floor((end - from) / transient.step_s),
        end,
      ),
    );
  }
  return analyses;
}

/**
 * Every node where it stood in the row before, inner ones of the tubes too: Newton then has a short way. Nodes that a source
 * holds are left out: their matrix has no diagonal, and KLU ends with "out of memory".
 */
function guess(start: Vectors, own: OwnCircuit): string[] {
  const held = new Set(
    own.elements.flatMap((element) =>
      element.kind === 'V' || element.kind === 'E' || element.kind === 'H' || element.kind === 'L'
        ? element.nodes.slice(0, 2).map((node) => `v(${nodeName(node)})`)
        : [],
    ),
  );
  const known = Object.entries(start);
  const volts = (known.length === 0 ? roughly(own) : known).flatMap(([name, values]) =>
    (name.startsWith('v(n_') && !held.has(name)) || name.startsWith('v(xt_')
      ? [`${name}=${values[0]!}`]
      : [],
  );
  return volts.length === 0 ? [] : [`.nodeset ${volts.join(' ')}`];
}

/** Where nothing is known: plates and screens up, the other electrodes at chassis. */
const roughly = (own: OwnCircuit): [string, readonly number[]][] =>
  own.elements.flatMap((element) =>
    element.kind === 'X'
      ? element.electrodes.map((electrode, i): [string, readonly number[]] => [
          `v(${nodeName(element.nodes[i]!)})`,
          [ROUGHLY_V[electrode] ?? 0],
        ])
      : [],
  );

const sineOf = (element: Element): number[] =>
  'sine' in element && element.sine !== undefined ? [element.sine[2]] : [];

const meterKey = (quantity: Extract<Quantity, { of: 'current' }>): string =>
  `${quantity.element} ${quantity.electrode ?? ''}`;

const engineName = ({ kind, name }: Element): string => `${kind}_${name.toLowerCase()}`;

function printElement(
  element: Element,
  own: OwnCircuit,
  circuit: Circuit,
  row: Omit<Row, 'drive'>,
  meters: ReadonlySet<string>,
): string[] {
  const name = element.name.toLowerCase();
  const lines: string[] = [];
  /** The element's first node, behind a meter where its current is asked for. */
  const first = (node: string, electrode?: string): string => {
    if (!meters.has(`${name} ${electrode ?? ''}`)) return nodeName(node);
    const inner = `m_${name}${electrode === undefined ? '' : `_${electrode}`}`;
    lines.push(`${meterName(name, electrode)} ${nodeName(node)} ${inner} 0`);
    return inner;
  };
  const nominal = (value: number): number =>
    row.knobs[knobOf(element)] ?? circuit.knobs[knobOf(element)]?.nominal ?? value;
  const id = engineName(element);
  switch (element.kind) {
    case 'R':
    case 'C':
    case 'L':
      lines.push(
        `${id} ${first(element.nodes[0])} ${nodeName(element.nodes[1])} ${nominal(element.value)}`,
      );
      return lines;
    case 'V':
    case 'I':
      lines.push(
        `${id} ${first(element.nodes[0])} ${nodeName(element.nodes[1])} ${sourceText(element, nominal(element.dc))}`,
      );
      return lines;
    case 'E':
    case 'G': {
      const [a, ...others] = element.nodes;
      lines.push(`${id} ${first(a)} ${others.map(nodeName).join(' ')} ${element.value}`);
      return lines;
    }
    case 'F':
    case 'H':
      lines.push(
        `${id} ${first(element.nodes[0])} ${nodeName(element.nodes[1])} V_${element.control} ${element.value}`,
      );
      return lines;
    case 'K':
      return [`${id} ${element.coils.map((coil) => `L_${coil}`).join(' ')} ${element.value}`];
    case 'D':
      lines.push(
        `${id} ${first(element.nodes[0])} ${nodeName(element.nodes[1])} M_${element.model}`,
      );
      return lines;
    case 'X': {
      const pin = Object.fromEntries(
        element.electrodes.map((electrode, i) => [electrode, first(element.nodes[i]!, electrode)]),
      );
      lines.push(
        ...printTube(
          element,
          { ...pin, heater: nodeName(element.nodes.at(-1)!) },
          circuit.tubes,
          row,
        ),
      );
      return lines;
    }
  }
}

function sourceText({ ac, sine }: Source, dc: number): string {
  return [
    `DC ${dc}`,
    ...(ac === undefined ? [] : [`AC ${ac[0]} ${ac[1]}`]),
    ...(sine === undefined ? [] : [`SIN(${sine.join(' ')})`]),
  ].join(' ');
}

/** The tube with its wear as voltages of its knobs, and its leaks as resistors. */
function printTube(
  element: TubeElement,
  pin: Readonly<Record<string, string>>,
  models: readonly TubeModel[],
  row: Omit<Row, 'drive'>,
): string[] {
  const index = element.place - 1;
  const model = models[index];
  const tube = row.tubes[index];
  if (model === undefined || tube === undefined)
    throw new Error(`no tube in place ${element.place}`);
  const spice = model.spice();
  const name = element.name.toLowerCase();
  const knob = (each: string): string => `k_${name}_${each}`;
  const at = (electrode: string): string => {
    const found = pin[electrode];
    if (found === undefined) throw new Error(`${element.name} has no ${electrode}`);
    return found;
  };
  return [
    `XT_${name} ${[...spice.pins.map(at), ...spice.knobs.map(knob)].join(' ')} ${spice.name}`,
    ...spice.knobs.map(
      (each) => `V${knob(each)} ${knob(each)} 0 ${tubeKnobValue(tube.state, each)}`,
    ),
    ...tube.leaks
      .filter(({ siemens }) => siemens > 0)
      .map(
        ({ between: [a, b], siemens }, i) => `Rleak_${name}_${i} ${at(a)} ${at(b)} ${1 / siemens}`,
      ),
  ];
}
