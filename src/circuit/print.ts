import type { Circuit, Row, SimRequest, View } from '../types.ts';
import { copiesOf, nodeIn, sharedNodes } from './copies.ts';
import { knobColumns, leakingPairs } from './knobs.ts';
import { printPart, type PrintContext } from './parts.ts';

/** Tight enough that a measure taken as a difference of node voltages is smooth to 1e-4. */
const STEADY_OPTIONS = '.options reltol=1e-4 vntol=1e-6 abstol=1e-12 itl1=300 itl2=200 itl4=100';
const TRANSIENT_OPTIONS = '.options method=gear reltol=1e-4 vntol=1e-5 abstol=1e-10 itl4=50';

/** Words that ngspice's expressions read as operators; as node names they end in a wrong parse. */
const FORBIDDEN = new Set(['gt', 'lt', 'ge', 'le', 'eq', 'ne', 'and', 'or', 'not', 'mod', 'time', 'temper', 'hertz']);

/** The printed run, and what is needed to read its answer. */
export interface PrintedRun {
  readonly request: SimRequest;
  readonly view: View;
  readonly rows: number;
}

/**
 * Prints one run: the circuit in a view, with a table of knob rows.
 *
 * Quiescent and phase views print all rows as one `.dc` sweep over the row index; a transient prints exactly one row.
 * The same input gives the same bytes. Throws (a programmer's error) on unconnected pins, clashing or forbidden names.
 */
export function printRun(
  circuit: Circuit,
  runId: string,
  view: View,
  rows: readonly Row[],
  initial?: Readonly<Record<string, number>>,
): PrintedRun {
  if (rows.length === 0) throw new Error(`run ${runId} has no rows`);
  if (view.as === 'transient' && rows.length !== 1)
    throw new Error(`run ${runId}: a transient takes one row, not ${rows.length}`);
  const copies = copiesOf(view);
  const shared = sharedNodes(circuit);
  const library = new Map<string, string>();
  const tubes = circuit.tubes.map((model) => {
    const spice = model.spice();
    library.set(spice.name, spice.text);
    return { model, subcircuit: spice.name };
  });
  const columns = knobColumns(circuit, rows);
  checkNames(circuit, columns.keys());
  const context: PrintContext = {
    view,
    copies,
    node: (name, copy) => nodeIn(name, copy, shared),
    tubes,
    leaks: leakingPairs(circuit, rows),
  };
  // a transient has one row: its part values are numbers, since a tank's coil cannot be a knob
  const fixed = view.as === 'transient';
  const parts = circuit.parts.map((part) => (fixed ? withNumbers(part, columns) : part));
  const watched = circuit.watch.flatMap((node) =>
    shared.has(node) ? [node] : copies.map((copy) => node + copy.suffix),
  );
  const lines = [
    `* stagefit ${runId}`,
    ...library.values(),
    ...parts.flatMap((part) => printPart(part, context)),
    ...[...columns].map(([name, values]) => printKnob(name, values)),
    ...(rows.length > 1 ? ['Vrow row 0 0'] : []),
    // the first guess of a knob must not be 0: a part divides by it
    `.nodeset ${[...columns].map(([name, values]) => `v(${name})=${values[0]}`).join(' ')}`,
    `.save ${watched.map((node) => `v(${node})`).join(' ')}`,
  ];
  const need = watched.map((node) => `v(${node.toLowerCase()})`);
  if (view.as === 'transient') {
    const period = 1 / view.frequency_Hz;
    const step = period / view.stepsPerCycle;
    const end = view.cycles * period;
    if (initial !== undefined)
      lines.push(
        `.ic ${Object.entries(initial)
          .map(([node, volts]) => `v(${node})=${volts}`)
          .join(' ')}`,
      );
    // only the last cycles are kept: settled is judged on them
    const kept = Math.min(view.cycles, 3);
    lines.push(TRANSIENT_OPTIONS, `.tran ${step} ${end} ${end - kept * period} ${step}`, '.end');
    return {
      request: { runId, netlist: lines.join('\n'), analysis: 'tran', need, points: kept * view.stepsPerCycle, end },
      view,
      rows: 1,
    };
  }
  const table = rows.length > 1;
  lines.push(STEADY_OPTIONS, table ? `.dc Vrow 0 ${rows.length - 1} 1` : '.op', '.end');
  return {
    request: {
      runId,
      netlist: lines.join('\n'),
      analysis: table ? 'dc' : 'op',
      need,
      points: rows.length,
      ...(table ? { end: rows.length - 1 } : {}),
    },
    view,
    rows: rows.length,
  };
}

function printKnob(name: string, values: readonly number[]): string {
  const first = values[0]!;
  for (const value of values)
    if (!Number.isFinite(value)) throw new Error(`knob ${name} is ${value}`);
  if (values.every((value) => value === first)) return `V${name} ${name} 0 ${first}`;
  return `B${name} ${name} 0 V=pwl(v(row),${values.map((value, i) => `${i},${value}`).join(',')})`;
}

function withNumbers(
  part: Circuit['parts'][number],
  columns: ReadonlyMap<string, readonly number[]>,
): Circuit['parts'][number] {
  const number = (value: number | { readonly knob: string }): number =>
    typeof value === 'number' ? value : columns.get(value.knob)![0]!;
  if (part.kind === 'tank') return { ...part, impedance: number(part.impedance) };
  if ('value' in part) return { ...part, value: number(part.value) };
  return part;
}

/** SPICE ignores case: two names that differ only in case would silently be one node. */
function checkNames(circuit: Circuit, knobs: Iterable<string>): void {
  const nodes = new Set(
    circuit.parts.flatMap((part) =>
      part.kind === 'tube' ? Object.values(part.nodes) : [...part.nodes],
    ),
  );
  const seen = new Map<string, string>();
  const claim = (name: string): void => {
    const folded = name.toLowerCase();
    if (FORBIDDEN.has(folded)) throw new Error(`"${name}" cannot be a node name`);
    if (!/^[a-z0-9_]+$/i.test(name)) throw new Error(`"${name}" is no safe node name`);
    const other = seen.get(folded);
    if (other !== undefined) throw new Error(`nodes "${other}" and "${name}" are one to SPICE`);
    seen.set(folded, name);
  };
  for (const node of nodes) claim(node);
  for (const knob of knobs) claim(knob);
  claim('row');
  for (const node of circuit.watch)
    if (!nodes.has(node)) throw new Error(`watched node "${node}" is not in the circuit`);
}
