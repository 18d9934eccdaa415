import { factored } from '../numerics/linear-solve.ts';
import type { Circuit, Electrode, Leak, Node, PartValue, TubeModel, TubeState } from '../types.ts';

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
}

export interface SmallSignal {
  /** Row of a node; undefined for chassis and supplies, which hold still. */
  row(node: Node): number | undefined;
  readonly size: number;
  /** Row of the signal's node: a voltage, the source itself. */
  readonly signalRow: number | undefined;
  /** Conductances and capacitances, row by row; of an inductor's own row, its equation. */
  readonly conductance: Float64Array;
  readonly capacitance: Float64Array;
}

/** Step of the derivatives, V: far below the 0.09 V over which a retarding field bends, far above rounding. */
const STEP_V = 1e-4;
/** A coil with no resistance in series would make the matrix singular at 0 Hz. */
const COIL_OHM = 1e-6;

/** @throws Error (a programmer's) for a part kind that has no small-signal form yet: a tuned circuit. */
export function smallSignal(circuit: Circuit, at: RestPoint): SmallSignal {
  const still = new Set<Node>(['0']);
  for (const part of circuit.parts)
    if (part.kind === 'supply' || (part.kind === 'signal' && part.amplitude !== undefined))
      still.add(part.nodes[0]);
  const rows = new Map<Node, number>();
  const rowOf = (node: Node): number | undefined => {
    if (still.has(node)) return undefined;
    if (!rows.has(node)) rows.set(node, rows.size);
    return rows.get(node)!;
  };
  const coils: { readonly nodes: readonly [Node, Node]; readonly henries: number }[] = [];
  const entries: { to: 'G' | 'C'; row: number; column: number; value: number }[] = [];
  const put = (to: 'G' | 'C', row?: number, column?: number, value = 0): void => {
    if (row !== undefined && column !== undefined) entries.push({ to, row, column, value });
  };
  const between = (to: 'G' | 'C', [a, b]: readonly [Node, Node], value: number): void => {
    const [i, j] = [rowOf(a), rowOf(b)];
    put(to, i, i, value);
    put(to, j, j, value);
    put(to, i, j, -value);
    put(to, j, i, -value);
  };
  const ohms = (value: PartValue): number =>
    typeof value === 'number' ? value : at.knob(value.knob);
  let signalRow: number | undefined;
  for (const part of circuit.parts) {
    switch (part.kind) {
      case 'resistor':
        between('G', part.nodes, 1 / ohms(part.value));
        break;
      case 'capacitor':
        between('C', part.nodes, ohms(part.value));
        break;
      case 'inductor':
        coils.push({ nodes: part.nodes, henries: ohms(part.value) });
        break;
      case 'outputTransformer': {
        const [supply, core, plate] = part.nodes;
        between('G', [supply, core], 1 / ohms(part.resistance));
        between('G', [core, plate], 1 / ohms(part.load));
        coils.push({ nodes: [core, plate], henries: part.inductance_H });
        break;
      }
      case 'tube': {
        const pins = part.nodes;
        const model = at.models[part.tube]!;
        tubeEntries(
          model,
          part.state ?? at.states[part.tube]!,
          pins,
          (node) => at.rest(node),
          rowOf,
          (row, column, siemens) => put('G', row, column, siemens),
        );
        for (const [a, b, farads] of tubeCapacitances(model))
          between('C', [pins[a]!, pins[b]!], farads);
        // a tube of the set's own has no leaks
        for (const leak of part.state === undefined ? at.leaks[part.tube]! : [])
          between('G', [pins[leak.between[0]]!, pins[leak.between[1]]!], leak.siemens);
        break;
      }
      case 'signal':
        if (!still.has(part.nodes[1]))
          throw new Error(
            `signal ${part.id}: only a source on chassis or a supply has such a form`,
          );
        signalRow = rowOf(part.nodes[0]);
        break;
      case 'tank':
      case 'pushPullTransformer':
      case 'feedback':
        throw new Error(`tank ${part.id} has no small-signal form`);
      case 'supply':
      case 'block':
    }
  }
  const size = rows.size + coils.length;
  const conductance = new Float64Array(size * size);
  const capacitance = new Float64Array(size * size);
  for (const { to, row, column, value } of entries)
    (to === 'G' ? conductance : capacitance)[row * size + column]! += value;
  coils.forEach(({ nodes, henries }, i) => {
    const own = rows.size + i;
    const [a, b] = nodes.map(rowOf);
    for (const [row, sign] of [
      [a, 1],
      [b, -1],
    ] as const) {
      if (row === undefined) continue;
      conductance[row * size + own]! += sign;
      conductance[own * size + row]! += sign;
    }
    conductance[own * size + own]! -= COIL_OHM;
    capacitance[own * size + own]! -= henries;
  });
  // the source is ideal: its row says what its voltage is
  if (signalRow !== undefined)
    for (let column = 0; column < size; column++) {
      conductance[signalRow * size + column] = column === signalRow ? 1 : 0;
      capacitance[signalRow * size + column] = 0;
    }
  return { row: (node) => rows.get(node), size, signalRow, conductance, capacitance };
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

/** As the subcircuits have them. */
function tubeCapacitances({
  family,
  capacitances: { input, output, gridPlate },
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
      throw new Error('a pentagrid has no small-signal form');
  }
}

/** What excites the circuit: one volt of its signal, or one ampere into a node. */
export type Excitation = 'signal' | { readonly into: Node };

function excited(s: SmallSignal, by: Excitation, size: number): Float64Array {
  const rhs = new Float64Array(size);
  const row = by === 'signal' ? s.signalRow : s.row(by.into);
  if (row !== undefined) rhs[row] = 1;
  return rhs;
}

/**
 * Size of the answer at a node, V per volt of the signal or per ampere, at one frequency. 0 at a node that holds still.
 * Several nodes share the factored matrix.
 */
export function responseAt(
  s: SmallSignal,
  frequency_Hz: number,
): (by: Excitation, node: Node) => number {
  const n = s.size;
  const omega = 2 * Math.PI * frequency_Hz;
  // (G + jwC)(x + jy) = b as one real system of twice the size
  const twice = new Float64Array(4 * n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const [g, b] = [s.conductance[i * n + j]!, omega * s.capacitance[i * n + j]!];
      twice[i * 2 * n + j] = g;
      twice[(i + n) * 2 * n + j + n] = g;
      twice[i * 2 * n + j + n] = -b;
      twice[(i + n) * 2 * n + j] = b;
    }
  const solve = factored(twice, 2 * n);
  const solved = new Map<string, Float64Array>();
  return (by, node) => {
    const key = by === 'signal' ? ' ' : by.into;
    const x = solved.get(key) ?? solve(excited(s, by, 2 * n));
    solved.set(key, x);
    const row = s.row(node);
    return row === undefined ? 0 : Math.hypot(x[row]!, x[row + n]!);
  };
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
