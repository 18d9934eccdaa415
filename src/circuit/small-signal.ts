import { factored } from '../numerics/linear-solve.ts';
import type {
  Circuit,
  Electrode,
  Leak,
  Node,
  Part,
  PartValue,
  TubeModel,
  TubePart,
  TubeState,
} from '../types.ts';
import { windingSections } from './transformers.ts';

/**
 * The small-signal view of a circuit: its parts with their real capacitances and inductances about an operating point, as
 * two matrices (modified nodal analysis: C. Ho, A. Ruehli, P. Brennan, IEEE Trans. CAS-22 (1975) 504). It needs no engine,
 * so a draw can afford responses at several frequencies. The tubes are the derivatives of the equations that the engine
 * runs; their interelectrode capacitances stand where the engine has them.
 */

/** One subject at rest: what `Traces` says of it. */
export interface RestPoint {
  readonly models: readonly TubeModel[];
  readonly states: readonly TubeState[];
  readonly leaks: readonly (readonly Leak[])[];
  knob(name: string): number;
  /** Volts at rest of every electrode's node, to chassis. */
  rest(node: Node): number;
  /** What tuned circuits without a frequency of their own are tuned to. */
  readonly carrier_Hz?: number;
}

export interface SmallSignal {
  /** Row of a node; undefined for chassis and supplies, which hold still. */
  row(node: Node): number | undefined;
  readonly size: number;
  /** Rows that say what a source's voltage is, and what they say for a signal of 1 V. */
  readonly sources: readonly { readonly row: number; readonly volts: number }[];
  /** Conductances and capacitances, row by row; of a winding's own row, its equation. */
  readonly conductance: Float64Array;
  readonly capacitance: Float64Array;
}

/** Step of the derivatives, V: far below the 0.09 V over which a retarding field bends, far above rounding. */
const STEP_V = 1e-4;
/** A coil with no resistance in series would make the matrix singular at 0 Hz. */
const COIL_OHM = 1e-6;

/** Turns with a current of their own, from the first node to the second. */
interface Winding {
  readonly nodes: readonly [Node, Node];
  readonly henries: number;
  readonly ohms: number;
  /** Ideally coupled to a node: turns over that node's. */
  readonly coupled?: { readonly node: Node; readonly turns: number };
}

interface Entry {
  readonly to: 'G' | 'C';
  readonly row: number;
  readonly column: number;
  readonly value: number;
}

/** An ideal source: what its first node's row says instead of Kirchhoff's law. */
interface Source {
  readonly row: number;
  readonly volts: number;
  readonly entries: readonly { readonly column: number; readonly value: number }[];
}

/** What parts add to the matrices. */
class Stamps {
  readonly rows = new Map<Node, number>();
  readonly entries: Entry[] = [];
  readonly windings: Winding[] = [];
  readonly sources: Source[] = [];
  private readonly still: ReadonlySet<Node>;

  constructor(circuit: Circuit) {
    this.still = new Set<Node>([
      '0',
      ...circuit.parts.flatMap((part) =>
        part.kind === 'supply' || (part.kind === 'signal' && part.amplitude !== undefined)
          ? [part.nodes[0]]
          : [],
      ),
    ]);
  }

  row(node: Node): number | undefined {
    if (this.still.has(node)) return undefined;
    if (!this.rows.has(node)) this.rows.set(node, this.rows.size);
    return this.rows.get(node)!;
  }

  put(to: 'G' | 'C', row?: number, column?: number, value = 0): void {
    if (row !== undefined && column !== undefined) this.entries.push({ to, row, column, value });
  }

  between(to: 'G' | 'C', [a, b]: readonly [Node, Node], value: number): void {
    const [i, j] = [this.row(a), this.row(b)];
    this.put(to, i, i, value);
    this.put(to, j, j, value);
    this.put(to, i, j, -value);
    this.put(to, j, i, -value);
  }

  /** The first node stands above others by a sum of shares of them, and by `volts` of a signal of 1 V. */
  source(node: Node, shares: readonly (readonly [Node, number])[], volts: number): void {
    const row = this.row(node);
    if (row === undefined) return;
    const others = shares.flatMap(([from, share]) => {
      const column = this.row(from);
      return column === undefined ? [] : [{ column, value: -share }];
    });
    this.sources.push({ row, volts, entries: [{ column: row, value: 1 }, ...others] });
  }
}

/** @throws Error (a programmer's) for a part kind that has no small-signal form: an oscillator's tuned circuit. */
export function smallSignal(circuit: Circuit, at: RestPoint): SmallSignal {
  const stamps = new Stamps(circuit);
  for (const part of circuit.parts) stamp(part, stamps, at);
  const { rows, windings, sources } = stamps;
  const size = rows.size + windings.length;
  const conductance = new Float64Array(size * size);
  const capacitance = new Float64Array(size * size);
  for (const { to, row, column, value } of stamps.entries)
    (to === 'G' ? conductance : capacitance)[row * size + column]! += value;
  windings.forEach(({ nodes, henries, ohms, coupled }, i) => {
    const own = rows.size + i;
    const ends: [Node, number][] = [
      [nodes[0], 1],
      [nodes[1], -1],
      ...(coupled === undefined ? [] : ([[coupled.node, -coupled.turns]] as [Node, number][])),
    ];
    // what the current takes from a node's sum the node's volts take from the winding's: no power is lost
    for (const [node, turns] of ends) {
      const row = stamps.row(node);
      if (row === undefined) continue;
      conductance[row * size + own]! += turns;
      conductance[own * size + row]! += turns;
    }
    conductance[own * size + own]! -= ohms + COIL_OHM;
    capacitance[own * size + own]! -= henries;
  });
  for (const { row, entries } of sources) {
    conductance.fill(0, row * size, (row + 1) * size);
    capacitance.fill(0, row * size, (row + 1) * size);
    for (const { column, value } of entries) conductance[row * size + column]! += value;
  }
  return { row: (node) => rows.get(node), size, sources, conductance, capacitance };
}

function stamp(part: Part, stamps: Stamps, at: RestPoint): void {
  const of = (value: PartValue): number =>
    typeof value === 'number' ? value : at.knob(value.knob);
  switch (part.kind) {
    case 'resistor':
      return stamps.between('G', part.nodes, 1 / of(part.value));
    case 'capacitor':
      return stamps.between('C', part.nodes, of(part.value));
    case 'inductor':
      stamps.windings.push({ nodes: part.nodes, henries: of(part.value), ohms: 0 });
      return;
    case 'outputTransformer': {
      const [supply, core, plate] = part.nodes;
      stamps.between('G', [supply, core], 1 / of(part.resistance));
      stamps.between('G', [core, plate], 1 / of(part.load));
      stamps.windings.push({ nodes: [core, plate], henries: part.inductance_H, ohms: 0 });
      return;
    }
    case 'pushPullTransformer': {
      const node = part.nodes[3];
      for (const { from, to, ofHalf, sign } of windingSections(part))
        stamps.windings.push({
          nodes: [to, from],
          henries: 0,
          ohms: (of(part.resistance) * ofHalf) / 2,
          coupled: { node, turns: (sign * ofHalf) / 2 },
        });
      stamps.between('G', [node, '0'], 1 / of(part.load));
      stamps.windings.push({ nodes: [node, '0'], henries: part.inductance_H, ohms: 0 });
      return;
    }
    case 'tube':
      return tubeStamps(part, stamps, at);
    case 'signal':
      // one that has an amplitude of its own holds still
      return stamps.source(part.nodes[0], [[part.nodes[1], 1]], part.factor ?? 1);
    case 'feedback':
      return stamps.source(
        part.nodes[0],
        [
          [part.nodes[1], 1],
          [part.from, of(part.share)],
        ],
        0,
      );
    case 'tank': {
      const tuned_Hz = part.tunedTo_Hz ?? at.carrier_Hz;
      if (tuned_Hz === undefined) throw new Error(`tank ${part.id} is tuned to no frequency`);
      const omega = 2 * Math.PI * tuned_Hz;
      const ohms = of(part.impedance);
      stamps.between('G', part.nodes, 1 / ohms);
      stamps.between('C', part.nodes, part.loadedQ / (omega * ohms) - (part.stray_F ?? 0));
      stamps.windings.push({
        nodes: part.nodes,
        henries: ohms / (part.loadedQ * omega),
        ohms: 0,
      });
      return;
    }
    case 'oscillatorTank':
      throw new Error(`tank ${part.id} has no small-signal form`);
    case 'supply':
    case 'block':
  }
}

function tubeStamps(part: TubePart, stamps: Stamps, at: RestPoint): void {
  const pins = part.nodes;
  const model = at.models[part.tube]!;
  tubeEntries(
    model,
    part.state ?? at.states[part.tube]!,
    pins,
    (node) => at.rest(node),
    (node) => stamps.row(node),
    (row, column, siemens) => stamps.put('G', row, column, siemens),
  );
  for (const [a, b, farads] of tubeCapacitances(model))
    stamps.between('C', [pins[a]!, pins[b]!], farads);
  // a tube of the set's own has no leaks
  for (const leak of part.state === undefined ? at.leaks[part.tube]! : [])
    stamps.between('G', [pins[leak.between[0]]!, pins[leak.between[1]]!], leak.siemens);
}

type Pins = Readonly<Partial<Record<Electrode, Node>>>;

/** Derivatives of the pin currents by the pin voltages; the cathode's follow from the others: only differences count. */
function tubeEntries(
  model: TubeModel,
  state: TubeState,
  pins: Pins,
  rest: (node: Node) => number,
  rowOf: (node: Node) => number | undefined,
  put: (row: number | undefined, column: number | undefined, siemens: number) => void,
): void {
  const volts = Object.fromEntries(
    model.electrodes.map((electrode) => [electrode, rest(pins[electrode]!)]),
  );
  const cathode = pins.cathode === undefined ? undefined : rowOf(pins.cathode);
  for (const electrode of model.electrodes) {
    if (electrode === 'cathode') continue;
    const column = rowOf(pins[electrode]!);
    if (column === undefined && cathode === undefined) continue;
    const by = (step: number) =>
      model.currents({ ...volts, [electrode]: volts[electrode]! + step }, state);
    const [up, down] = [by(STEP_V), by(-STEP_V)];
    for (const into of model.electrodes) {
      const siemens = ((up[into] ?? 0) - (down[into] ?? 0)) / (2 * STEP_V);
      const row = rowOf(pins[into]!);
      put(row, column, siemens);
      put(row, cathode, -siemens);
    }
  }
}

/** Between electrodes, F, as the subcircuits have them. */
export function tubeCapacitances({
  family,
  capacitances: { input, output, gridPlate, oscillatorInput = 0 },
}: TubeModel): (readonly [Electrode, Electrode, number])[] {
  switch (family) {
    case 'triode':
      return [
        ['grid', 'cathode', input],
        ['grid', 'plate', gridPlate],
        ['plate', 'cathode', output],
      ];
    case 'pentode':
      return [
        ['grid', 'cathode', input / 2],
        ['grid', 'screen', input / 2],
        ['grid', 'plate', gridPlate],
        ['plate', 'cathode', output / 2],
        ['plate', 'screen', output / 2],
      ];
    case 'diode':
      return [['plate', 'cathode', output]];
    case 'pentagrid':
      return [
        ['signalGrid', 'cathode', input / 2],
        ['signalGrid', 'screen', input / 2],
        ['signalGrid', 'plate', gridPlate],
        ['oscillatorGrid', 'cathode', oscillatorInput / 2],
        ['oscillatorGrid', 'screen', oscillatorInput / 2],
        ['plate', 'cathode', output / 2],
        ['plate', 'screen', output / 2],
      ];
  }
}

/** What excites the circuit: one volt of its signal, or one ampere into a node. */
export type Excitation = 'signal' | { readonly into: Node };

function excited(s: SmallSignal, by: Excitation, size: number): Float64Array {
  const rhs = new Float64Array(size);
  if (by === 'signal') for (const { row, volts } of s.sources) rhs[row] = volts;
  else {
    const row = s.row(by.into);
    if (row !== undefined && s.sources.every((source) => source.row !== row)) rhs[row] = 1;
  }
  return rhs;
}

/** A sine by its cosine and its sine. */
export type Phasor = readonly [number, number];

/** Size of the answer at a node, V per volt of the signal or per ampere, at one frequency. */
export function responseAt(
  s: SmallSignal,
  frequency_Hz: number,
): (by: Excitation, node: Node) => number {
  const phasor = phasorAt(s, frequency_Hz);
  return (by, node) => Math.hypot(...phasor(by, node));
}

/** The answer with its phase. 0 at a node that holds still. Several nodes share the factored matrix. */
export function phasorAt(
  s: SmallSignal,
  frequency_Hz: number,
): (by: Excitation, node: Node) => Phasor {
  const n = s.size;
  const solve = factored(realSystem(s, frequency_Hz), 2 * n);
  const solved = new Map<string, Float64Array>();
  return (by, node) => {
    const key = by === 'signal' ? ' ' : by.into;
    const x = solved.get(key) ?? solve(excited(s, by, 2 * n));
    solved.set(key, x);
    const row = s.row(node);
    return row === undefined ? [0, 0] : [x[row]!, x[row + n]!];
  };
}

/** (G + jωC)(x + jy) = b as one real system of twice the size. */
export function realSystem(s: SmallSignal, frequency_Hz: number): Float64Array {
  const n = s.size;
  const omega = 2 * Math.PI * frequency_Hz;
  const twice = new Float64Array(4 * n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const [g, b] = [s.conductance[i * n + j]!, omega * s.capacitance[i * n + j]!];
      twice[i * 2 * n + j] = g;
      twice[(i + n) * 2 * n + j + n] = g;
      twice[i * 2 * n + j + n] = -b;
      twice[(i + n) * 2 * n + j] = b;
    }
  return twice;
}

/**
 * The answer of a node to a step of one volt of the signal, V at `count` moments `step_s` apart, the first two thirds of
 * that after the step. Second-order backward differences: no ringing of their own, whatever the steps.
 */
export function stepResponse(
  s: SmallSignal,
  node: Node,
  step_s: number,
  count: number,
): Float64Array {
  const n = s.size;
  const rate = 1.5 / step_s;
  const solve = factored(
    s.conductance.map((g, i) => g + rate * s.capacitance[i]!),
    n,
  );
  const source = excited(s, 'signal', n);
  let last: Float64Array = new Float64Array(n);
  let before: Float64Array = new Float64Array(n);
  const row = s.row(node);
  const out = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    // the first step is a plain backward difference, of two thirds of the length: the same matrix
    const past = last.map((x, i) => (k === 0 ? 1.5 * x : 2 * x - 0.5 * before[i]!) / step_s);
    const rhs = source.map((b, i) => {
      let sum = b;
      for (let j = 0; j < n; j++) sum += s.capacitance[i * n + j]! * past[j]!;
      return sum;
    });
    [before, last] = [last, solve(rhs)];
    out[k] = row === undefined ? 0 : last[row]!;
  }
  return out;
}
