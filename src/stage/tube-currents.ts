import type { Electrode, Leak, Node, PinAmps, PinVolts, Traces, TubeState } from '../types.ts';

/** What stages of power tubes take from node voltages: the tube's own currents, by the equations that were simulated. */

/** Node of each electrode; chassis ('0') stands at 0 V. */
export type ElectrodeNodes = Readonly<Partial<Record<Electrode, Node>>>;

/** Pin volts to chassis at each phase of a setting. */
export function pinVolts(
  t: Traces,
  step: string,
  setting: number,
  nodes: ElectrodeNodes,
): PinVolts[] {
  const columns = Object.entries(nodes).map(
    ([electrode, node]) =>
      [electrode, node === '0' ? Float64Array.of(0) : t.volts(step, setting, node)] as const,
  );
  const count = Math.max(...columns.map(([, volts]) => volts.length));
  // a rail is shared by all phases and has one value
  return Array.from({ length: count }, (_, k) =>
    Object.fromEntries(columns.map(([electrode, volts]) => [electrode, volts[k] ?? volts[0]!])),
  );
}

/** Means over the phases: currents into plate and screen, A, and what they dissipate, W. */
export interface Load {
  readonly plate_A: number;
  readonly screen_A: number;
  readonly plate_W: number;
  readonly screen_W: number;
}

export function loadOf(t: Traces, pins: readonly PinVolts[], tube = 0): Load {
  const sum = { plate_A: 0, screen_A: 0, plate_W: 0, screen_W: 0 };
  for (const volts of pins) {
    const amps = t.models[tube]!.currents(volts, t.states[tube]!);
    const cathode = volts.cathode ?? 0;
    const plate_A = amps.plate ?? 0;
    const screen_A = amps.screen ?? 0;
    sum.plate_A += plate_A;
    sum.screen_A += screen_A;
    sum.plate_W += plate_A * ((volts.plate ?? 0) - cathode);
    sum.screen_W += screen_A * ((volts.screen ?? 0) - cathode);
  }
  const n = pins.length;
  return {
    plate_A: sum.plate_A / n,
    screen_A: sum.screen_A / n,
    plate_W: sum.plate_W / n,
    screen_W: sum.screen_W / n,
  };
}

/** Current of the control grid in its two directions, A. */
export interface GridCurrent {
  /** Electrons that it collects: pulls the grid negative. */
  readonly electrons_A: number;
  /** Gas, grid emission and ohmic paths together: pushes the grid toward positive. Negative where a path leads to something below the grid. */
  readonly reverse_A: number;
}

export function gridCurrent(t: Traces, volts: PinVolts, tube = 0): GridCurrent {
  const state = t.states[tube]!;
  const clean: TubeState = { ...state, gasRatio: 0, gridEmission_A: 0 };
  const into = (of: TubeState): PinAmps => t.models[tube]!.currents(volts, of);
  const electrons_A = into(clean).grid ?? 0;
  return {
    electrons_A,
    reverse_A: electrons_A - (into(state).grid ?? 0) + ohmic_A(t.leaks[tube]!, volts),
  };
}

/** Through the ohmic paths into the grid's circuit, A. The heater stands at chassis where nothing else is said. */
function ohmic_A(leaks: readonly Leak[], volts: PinVolts): number {
  const grid = volts.grid ?? 0;
  return leaks
    .filter(({ between }) => between.includes('grid'))
    .reduce((sum, { between: [a, b], siemens }) => {
      const other = a === 'grid' ? b : a;
      return sum + siemens * ((volts[other] ?? 0) - grid);
    }, 0);
}
