import { firstCrossing } from '../numerics/crossings.ts';
import { sampledCurve } from '../numerics/interpolate.ts';
import type { MeasureValue, Node, Traces } from '../types.ts';
import { along, meanVolts, noValue } from './signals.ts';
import { gridCurrent, loadOf, pinVolts, type ElectrodeNodes } from './tube-currents.ts';

/**
 * Bias runaway: reverse grid current lifts the grid, the tube draws more, gas makes more reverse current.
 *
 * With the grid held at a voltage by a stiff source the circuit has one state only. What its own circuit would need to hold
 * it there, over the reverse current that the tube gives there, is how many times more reverse current that state asks
 * for. Along the grid's way up from the healthy side that factor rises; where it turns there is no stable point beyond (a
 * fold), and where the dissipation passes what is allowed there is none within the rating.
 */

/** One state with the grid held, from the most negative up. */
export interface HeldPoint {
  readonly grid_V: number;
  /** What the grid's circuit takes at this voltage, electrons included, A. */
  readonly needed_A: number;
  /** Gas, grid emission and leak, A. */
  readonly reverse_A: number;
  readonly plate_W: number;
  readonly screen_W: number;
}

/** Ohm of the source that holds a grid in the place of its coupling capacitor's leak. */
export const HOLDING_OHM = 100;
/** Dissipation allowed where the set itself runs the tube at its rating: a tenth more than it has without grid current. */
export const ALLOWANCE = 1.1;

/** Where a grid's circuit leads: its resistor to the return, the leak before it; names of knobs, and volts or the node that has them. */
export interface GridCircuit {
  readonly gridResistor: string;
  readonly couplingFrom: string;
  readonly couplingLeakage: string;
  readonly return_V: number | Node;
}

/** The states of a step that holds the grid of one tube at rising voltages. */
export function heldPoints(
  t: Traces,
  step: string,
  nodes: ElectrodeNodes,
  grid: GridCircuit,
  tube = 0,
): HeldPoint[] {
  const [from, leak] = [t.knob(grid.couplingFrom), t.knob(grid.couplingLeakage)];
  return along(t, step, (i) => i).map((i) => {
    const volts = pinVolts(t, step, i, nodes)[0]!;
    const grid_V = volts.grid!;
    const { electrons_A, reverse_A } = gridCurrent(t, volts, tube);
    const { plate_W, screen_W } = loadOf(t, [volts], tube);
    const return_V =
      typeof grid.return_V === 'number' ? grid.return_V : meanVolts(t, step, i, grid.return_V);
    const needed_A =
      (grid_V - return_V) / t.knob(grid.gridResistor) - (from - grid_V) / leak + electrons_A;
    return { grid_V, needed_A, reverse_A, plate_W, screen_W };
  });
}

export interface AllowedWatts {
  readonly plate_W: number;
  readonly screen_W: number;
}

/** Factors beyond this are not told: no tube lives to see them. */
const LARGEST = 1000;

/** Times more reverse grid current before there is no stable point within what is allowed. */
export function runawayMargin(points: readonly HeldPoint[], allowed: AllowedWatts): MeasureValue {
  // below its return voltage the grid is pulled up by its own resistor, and nothing is asked of the tube
  const from = points.findIndex((point) => point.needed_A > 0);
  const up = points.slice(Math.max(0, from - 1));
  if (from < 0 || up.length < 3) return noValue('the grid voltages tried do not reach a balance');
  const grid = up.map((point) => point.grid_V);
  const end = Math.min(
    ...(['plate_W', 'screen_W'] as const).map(
      (of) =>
        firstCrossing(
          grid,
          up.map((point) => point[of]),
          allowed[of],
          { method: 'monotoneCubic' },
        ) ?? Infinity,
    ),
  );
  if (up[0]!.plate_W > allowed.plate_W || up[0]!.screen_W > allowed.screen_W) return 0;
  const stable = noValue('stable within the rating at a thousand times as much', LARGEST);
  // only up to the first turn: beyond a fold the grid is held by its own electrons, and the factor rises again
  const factors: number[] = [];
  for (const { grid_V, needed_A, reverse_A } of up) {
    const factor = needed_A <= 0 ? 0 : needed_A / Math.max(reverse_A, needed_A / LARGEST);
    if (grid_V >= end || factor < (factors.at(-1) ?? 0)) break;
    if (factor >= LARGEST) return stable;
    factors.push(factor);
  }
  const last = factors.length - 1;
  const turns = last + 1 < up.length && up[last + 1]!.grid_V < end;
  const factor = turns ? peakNear(up, last) : end === Infinity ? factors[last]! : factorAt(up, end);
  if (factor >= LARGEST) return stable;
  return turns || end < Infinity
    ? factor
    : noValue('no runaway up to the grid voltages tried', factor);
}

/** The factor at a grid voltage between points. */
function factorAt(points: readonly HeldPoint[], grid_V: number): number {
  const grid = points.map((point) => point.grid_V);
  const at = (of: 'needed_A' | 'reverse_A'): number =>
    sampledCurve(
      grid,
      points.map((point) => point[of] * 1e6),
    ).at(grid_V)!;
  const needed = Math.max(0, at('needed_A'));
  return needed / Math.max(at('reverse_A'), needed / LARGEST, 1e-12);
}

/** The height of a parabola through the highest point and its neighbours, which bend downward. */
function peakNear(points: readonly HeldPoint[], i: number): number {
  const at = (k: number): number => points[k]!.needed_A / points[k]!.reverse_A;
  if (i === 0) return at(0);
  const [x0, x1, x2] = [points[i - 1]!.grid_V, points[i]!.grid_V, points[i + 1]!.grid_V];
  const [y0, y1, y2] = [Math.max(0, at(i - 1)), at(i), at(i + 1)];
  const rise = (y1 - y0) / (x1 - x0);
  const bend = ((y2 - y1) / (x2 - x1) - rise) / (x2 - x0);
  const x = (x0 + x1) / 2 - rise / (2 * bend);
  return y0 + rise * (x - x0) + bend * (x - x0) * (x - x1);
}

/** Plate dissipation's slope over the held grid's voltage at a grid voltage, W/V; undefined outside the points. */
export function dissipationSlope(points: readonly HeldPoint[], grid_V: number): number | undefined {
  const i = points.findIndex((point) => point.grid_V >= grid_V);
  if (i < 1) return undefined;
  const [a, b] = [points[i - 1]!, points[i]!];
  return (b.plate_W - a.plate_W) / (b.grid_V - a.grid_V);
}

/**
 * Slow heating of the grid by the plate: how much hotter the grid runs at rated plate dissipation than without, K (50–100),
 * and the relative rise of its emission per kelvin at 600 K with a work function of 1.8 eV. From memory.
 */
const GRID_RISE_AT_RATING_K = 75;
const EMISSION_RISE_PER_K = 0.058;

/** Loop gain of the grid's slow heating: plate dissipation heats it, it emits, the bias falls, the plate takes more. */
export function thermalLoopGain(
  grid_ohm: number,
  emission_A: number,
  rating_W: number,
  slope_WperV: number,
): number {
  const perWatt = (EMISSION_RISE_PER_K * GRID_RISE_AT_RATING_K) / rating_W;
  return grid_ohm * emission_A * perWatt * slope_WperV;
}
