import type { Circuit, Electrode, Row, SimRequest, SpiceText, View } from '../types.ts';
import { copiesOf, momentsOf, nodeIn, sharedNodes } from './copies.ts';
import { knobColumns, leakingPairs } from './knobs.ts';
import { printPart } from './parts.ts';
import { conductanceNode, type PrintContext } from './plain-parts.ts';

/** Tight enough that a difference of node voltages is smooth to 1e-4; tighter, and rounding at the mean nodes keeps Newton from ending. */
// KLU: the default solver keeps the pivots of its first matrix, and eight phase copies fill in and take a hundred times as
// long. In transients KLU fails at once ("timestep too small"), so they keep the default.
const STEADY_OPTIONS = '.options klu reltol=1e-5 vntol=1e-6 abstol=1e-11 itl2=60 itl4=100';
const HELPS = 'itl1=300';
/** Without the engine's helps to an operating point, which take it seconds where they fail. */
const NO_HELPS = 'noopiter gminsteps=0 srcsteps=0';
const TRANSIENT_OPTIONS = '.options method=gear reltol=1e-4 vntol=1e-5 abstol=1e-10 itl4=50';

/** Words that ngspice's expressions read as operators; as node names they end in a wrong parse. */
const FORBIDDEN = new Set([
  'gt',
  'lt',
  'ge',
  'le',
  'eq',
  'ne',
  'and',
  'or',
  'not',
  'mod',
  'time',
  'temper',
  'hertz',
]);

/**
 * Node voltages to begin from, internal nodes of the tubes included: of the circuit at rest (`printStart`), to be put into
 * every copy, or of one row in the view itself (`printFirst`).
 */
export type StartVolts = Readonly<Record<string, number>>;

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
 * `start` gives the engine its first guess (steady views) or the initial voltages (transient). Without it the phase copies
 * often fail: the engine keeps the pivot order of its first matrix, and at 0 V on every node that matrix says nothing.
 * `helped`: the engine may step conductances and sources where its iteration alone does not find a row.
 *
 * The same input gives the same bytes. Throws (a programmer's error) on unconnected pins, clashing or forbidden names.
 */
export function printRun(
  circuit: Circuit,
  runId: string,
  view: View,
  rows: readonly Row[],
  start: StartVolts = {},
  helped = true,
): PrintedRun {
  if (rows.length === 0) throw new Error(`run ${runId} has no rows`);
  if (view.as === 'transient' && rows.length !== 1)
    throw new Error(`run ${runId}: a transient takes one row, not ${rows.length}`);
  const copies = copiesOf(view);
  const shared = sharedNodes(circuit);
  const { columns, tubes } = knobColumns(circuit, rows);
  const library = new Map(tubes.map(({ name, text }) => [name, text]));
  checkNames(circuit, columns.keys());
  const context: PrintContext = {
    view,
    copies,
    node: (name, copy) => nodeIn(name, copy, shared),
    tubes,
    leaks: leakingPairs(circuit, rows),
    firstOf: (value) => (typeof value === 'number' ? value : columns.get(value.knob)![0]!),
    isFixed: (value) => typeof value === 'number' || isConstant(columns.get(value.knob)!),
  };
  const resistances = new Set(circuit.parts.flatMap(resistanceKnob));
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
    ...[...columns].flatMap(([name, values]) => {
      if (!resistances.has(name))
        return isPartKnob(circuit, name) && isConstant(values) ? [] : [printKnob(name, values)];
      // a resistance that no row moves stands in its part as a number
      return isConstant(values)
        ? []
        : [
            printKnob(
              conductanceNode(name),
              values.map((ohms) => 1 / ohms),
            ),
          ];
    }),
    ...(rows.length > 1 ? ['Vrow row 0 0'] : []),
    ...(view.as === 'transient' ? [] : firstGuess(circuit, view, shared, start, tubes)),
    `.save ${watched.map((node) => `v(${node})`).join(' ')}`,
  ];
  const need = watched.map((node) => `v(${node.toLowerCase()})`);
  if (view.as === 'transient') {
    const period = 1 / view.frequency_Hz;
    const step = period / view.stepsPerCycle;
    const end = view.cycles * period;
    const initial = Object.entries(start).map(([node, volts]) => `v(${node})=${volts}`);
    if (initial.length > 0) lines.push(`.ic ${initial.join(' ')}`);
    // only the last cycles are kept: settled is judged on them
    const kept = Math.min(
      view.cycles,
      view.tone === undefined ? 3 : Math.ceil((2 * view.frequency_Hz) / view.tone.frequency_Hz),
    );
    lines.push(TRANSIENT_OPTIONS, `.tran ${step} ${end} ${end - kept * period} ${step}`, '.end');
    return {
      request: {
        runId,
        netlist: lines.join('\n'),
        analysis: 'tran',
        need,
        points: kept * view.stepsPerCycle,
        end,
      },
      view,
      rows: 1,
    };
  }
  const table = rows.length > 1;
  lines.push(
    `${STEADY_OPTIONS} ${helped ? HELPS : NO_HELPS}`,
    table ? `.dc Vrow 0 ${rows.length - 1} ${1 / substepsOf(view)}` : '.op',
    '.end',
  );
  return {
    request: {
      runId,
      netlist: lines.join('\n'),
      analysis: table ? 'dc' : 'op',
      need,
      points: (rows.length - 1) * substepsOf(view) + 1,
      ...(table ? { end: rows.length - 1 } : {}),
    },
    view,
    rows: rows.length,
  };
}

/** Points of the sweep from one row to the next: a power of two, so that the sweep meets every row exactly. */
export function substepsOf(view: View): number {
  return 'substeps' in view ? 2 ** Math.round(Math.log2(view.substeps ?? 1)) : 1;
}

/** How many rows a sweep has met after so many points. */
export const rowsIn = (view: View, points: number): number =>
  points === 0 ? 0 : Math.floor((points - 1) / substepsOf(view)) + 1;

/** Volts of an electrode that lead the engine to any operating point more surely than 0 on all of them. */
export const ROUGHLY_V: Readonly<Partial<Record<Electrode, number>>> = { plate: 100, screen: 100 };

const roughly = (circuit: Circuit): StartVolts =>
  Object.fromEntries(
    circuit.parts.flatMap((part) =>
      part.kind === 'tube'
        ? Object.entries(part.nodes).map(([electrode, node]) => [
            node.toLowerCase(),
            ROUGHLY_V[electrode as Electrode] ?? 0,
          ])
        : [],
    ),
  );

/** A quiescent run of one row that keeps every node, for `startFrom`; from a rough guess where nothing is known. */
export function printStart(
  circuit: Circuit,
  runId: string,
  row: Omit<Row, 'drive'>,
  from: StartVolts = roughly(circuit),
): SimRequest {
  const { request } = printRun(circuit, runId, { as: 'quiescent' }, [{ ...row, drive: 0 }], from);
  return { ...request, netlist: request.netlist.replace(/^\.save .*$/m, '.save all') };
}

/** One row of a steady view that keeps every node, for `startFrom`; with the engine's helps. */
export function printFirst(
  circuit: Circuit,
  runId: string,
  view: View,
  row: Row,
  atRest: StartVolts,
): SimRequest {
  const { request } = printRun(circuit, runId, view, [row], atRest);
  return { ...request, netlist: request.netlist.replace(/^\.save .*$/m, '.save all') };
}

/** Start voltages from the vectors of `printStart`'s or `printFirst`'s run. */
export function startFrom(vectors: Readonly<Record<string, Float64Array>>): StartVolts {
  return Object.fromEntries(
    Object.entries(vectors).flatMap(([name, values]) => {
      const node = /^v\((.*)\)$/.exec(name)?.[1];
      return node === undefined ? [] : [[node, values[0]!]];
    }),
  );
}

/** Every copy starts at rest, a capacitor's mean node at the voltage it has at rest; or all as found in the view. */
function firstGuess(
  circuit: Circuit,
  view: View,
  shared: ReadonlySet<string>,
  start: StartVolts,
  tubes: readonly SpiceText[],
): string[] {
  const copies = copiesOf(view);
  // sources hold these; a guess at a source that stands on another, or that pulses, ruins the pivots
  const held = new Set(
    circuit.parts.flatMap((part) =>
      part.kind === 'oscillatorTank'
        ? part.windings.flatMap(({ nodes }) => nodes)
        : part.kind === 'feedback' ||
            (part.kind === 'signal' && (part.nodes[1] !== '0' || part.levels !== undefined))
          ? part.nodes
          : [],
    ),
  );
  const copied = new Set(
    nodesOf(circuit)
      .filter((node) => !shared.has(node) && !held.has(node))
      .map((node) => node.toLowerCase()),
  );
  const insideOf = (suffix: string): string[] =>
    circuit.parts.flatMap((part) =>
      part.kind === 'tube'
        ? tubes[part.tube]!.inner.map((node) => `x${part.id.toLowerCase()}${suffix}.${node}`)
        : [],
    );
  const insides = new Set(insideOf(''));
  const inView = new Set(
    copies.flatMap(({ suffix }) => [
      ...[...copied].map((node) => node + suffix),
      ...insideOf(suffix),
    ]),
  );
  if (copies.length > 1 && Object.keys(start).some((name) => inView.has(name)))
    return [
      `.nodeset ${Object.entries(start)
        .filter(([name]) => inView.has(name) || /_(mean|swing)/.test(name))
        .map(([name, volts]) => `v(${name})=${volts}`)
        .join(' ')}`,
    ];
  const guesses = Object.entries(start).flatMap(([name, volts]) => {
    // between pulses a tube is nothing like at rest: its insides as they were there lead the engine astray
    if (!copied.has(name) && (view.as === 'levels' || !insides.has(name))) return [];
    const [outer, inner] = name.split('.');
    return copies.map(({ suffix }) =>
      inner === undefined
        ? `v(${name}${suffix})=${volts}`
        : `v(${outer}${suffix}.${inner})=${volts}`,
    );
  });
  if (guesses.length === 0) return [];
  const at = (node: string): number => (node === '0' ? 0 : (start[node.toLowerCase()] ?? 0));
  // at rest no capacitor is printed
  for (const part of copies.length > 1 ? circuit.parts : [])
    if (part.kind === 'capacitor' && part.fast !== true)
      for (const moment of momentsOf(copies))
        guesses.push(`v(${part.id}_mean${moment})=${at(part.nodes[0]) - at(part.nodes[1])}`);
  return [`.nodeset ${guesses.join(' ')}`];
}

const isConstant = (values: readonly number[]): boolean =>
  values.every((value) => value === values[0]);

const isPartKnob = (circuit: Circuit, name: string): boolean => Object.hasOwn(circuit.knobs, name);

function resistanceKnob(part: Circuit['parts'][number]): string[] {
  const values =
    part.kind === 'tank'
      ? [part.impedance]
      : part.kind === 'outputTransformer' || part.kind === 'pushPullTransformer'
        ? [part.resistance, part.load]
        : part.kind === 'resistor'
          ? [part.value]
          : [];
  return values.flatMap((value) => (typeof value === 'number' ? [] : [value.knob]));
}

function printKnob(name: string, values: readonly number[]): string {
  const first = values[0]!;
  for (const value of values)
    if (!Number.isFinite(value)) throw new Error(`knob ${name} is ${value}`);
  if (isConstant(values)) return `V${name} ${name} 0 ${first}`;
  return `B${name} ${name} 0 V=pwl(v(row),${values.map((value, i) => `${i},${value}`).join(',')})`;
}

function withNumbers(
  part: Circuit['parts'][number],
  columns: ReadonlyMap<string, readonly number[]>,
): Circuit['parts'][number] {
  const number = (value: number | { readonly knob: string }): number =>
    typeof value === 'number' ? value : columns.get(value.knob)![0]!;
  if (part.kind === 'tank') return { ...part, impedance: number(part.impedance) };
  if (part.kind === 'feedback') return { ...part, share: number(part.share) };
  if (part.kind === 'outputTransformer' || part.kind === 'pushPullTransformer')
    return { ...part, resistance: number(part.resistance), load: number(part.load) };
  if ('value' in part) return { ...part, value: number(part.value) };
  return part;
}

/** Every node of the parts that are simulated, chassis included. */
export function nodesOf(circuit: Circuit): string[] {
  return [
    ...new Set(
      circuit.parts.flatMap((part) =>
        part.kind === 'block'
          ? []
          : part.kind === 'tube'
            ? Object.values(part.nodes)
            : part.kind === 'oscillatorTank'
              ? part.windings.flatMap(({ nodes }) => nodes)
              : [...part.nodes],
      ),
    ),
  ];
}

/** SPICE ignores case: two names that differ only in case would silently be one node. */
function checkNames(circuit: Circuit, knobs: Iterable<string>): void {
  const nodes = new Set(nodesOf(circuit));
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
