import type { Circuit, Leak, OptionalKnob, Row, SpiceText, TubeKnob, TubeState } from '../types.ts';

/** Knob node of a tube's subcircuit. */
export const tubeKnob = (tubePart: string, knob: TubeKnob): string => `${tubePart}_${knob}`;

/** Knob node of a leak, microsiemens. */
export const leakKnob = (tubePart: string, between: Leak['between']): string =>
  `${tubePart}_leak_${between[0]}_${between[1]}`;

/** Node voltages of a tube's knobs, in the units that `TubeKnob` names. */
export function tubeKnobValue(state: TubeState, knob: TubeKnob): number {
  switch (knob) {
    case 'area':
      return state.area;
    case 'saturation_mA':
      return state.saturation_A * 1e3;
    case 'gas_ppm':
      return state.gasRatio * 1e6;
    case 'gridEmission_uA':
      return state.gridEmission_A * 1e6;
    case 'contactShift_V':
      return state.contactShift_V;
    case 'interface_ohm':
      return state.interface_ohm;
  }
}

/** Electrode pairs that leak in any of the rows, by tube index, in a fixed order. */
export function leakingPairs(circuit: Circuit, rows: readonly Row[]): Leak['between'][][] {
  return circuit.tubes.map((_, tube) => {
    const pairs = new Map<string, Leak['between']>();
    for (const row of rows)
      for (const leak of row.tubes[tube]?.leaks ?? [])
        if (leak.siemens > 0) pairs.set(leak.between.join('-'), leak.between);
    return [...pairs.keys()].sort().map((key) => pairs.get(key)!);
  });
}

const microsiemens = (leaks: readonly Leak[], between: Leak['between']): number =>
  1e6 *
  leaks
    .filter((leak) => leak.between[0] === between[0] && leak.between[1] === between[1])
    .reduce((sum, leak) => sum + leak.siemens, 0);

/**
 * Every knob of the circuit as a column over the rows: part values, tube states, leaks, the drive; and the subcircuits of its
 * tubes by index, which leave out what no row asks for. What a row does not name stays nominal.
 */
export function knobColumns(
  circuit: Circuit,
  rows: readonly Row[],
): { columns: Map<string, number[]>; tubes: SpiceText[] } {
  const columns = new Map<string, number[]>();
  for (const [name, { nominal }] of Object.entries(circuit.knobs))
    columns.set(
      name,
      rows.map((row) => row.knobs[name] ?? nominal),
    );
  const tubes = circuit.tubes.map((model, i) => model.spice(zeroKnobs(circuit, i, rows)));
  const pairs = leakingPairs(circuit, rows);
  for (const part of circuit.parts) {
    if (part.kind !== 'tube') continue;
    for (const knob of tubes[part.tube]!.knobs)
      columns.set(
        tubeKnob(part.id, knob),
        rows.map((row) => tubeKnobValue(part.state ?? stateOf(row, part.tube), knob)),
      );
    if (part.state !== undefined) continue;
    for (const between of pairs[part.tube]!)
      columns.set(
        leakKnob(part.id, between),
        rows.map((row) => microsiemens(row.tubes[part.tube]!.leaks, between)),
      );
  }
  columns.set(
    'drive',
    rows.map((row) => row.drive),
  );
  return { columns, tubes };
}

const OPTIONAL_KNOBS: readonly OptionalKnob[] = ['gas_ppm', 'gridEmission_uA', 'interface_ohm'];

/** Those at 0 in every part of this tube and every row. */
function zeroKnobs(circuit: Circuit, tube: number, rows: readonly Row[]): Set<OptionalKnob> {
  const parts = circuit.parts.filter((part) => part.kind === 'tube' && part.tube === tube);
  const states = parts.flatMap((part) =>
    part.kind === 'tube' && part.state !== undefined
      ? [part.state]
      : rows.map((row) => stateOf(row, tube)),
  );
  return new Set(
    OPTIONAL_KNOBS.filter((knob) => states.every((state) => tubeKnobValue(state, knob) === 0)),
  );
}

function stateOf(row: Row, tube: number): TubeState {
  const found = row.tubes[tube];
  if (found === undefined) throw new Error(`a row has no state for tube ${tube}`);
  return found.state;
}
