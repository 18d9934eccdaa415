import { sampledCurve } from '../numerics/interpolate.ts';
import type { Leak, LineCurve, PinAmps, PinVolts, Setting, StageValues, Traces } from '../types.ts';
import { COIL_FACTOR, hasCathodeResistor } from './agc-if-amplifier-circuit.ts';
import { detectedVolts } from './agc-detector.ts';
import { lineTube, settledLine, type Line, type LineTube } from './agc-line.ts';
import { statedLeak, withoutSocketLeak } from './faults.ts';
import {
  curveThrough,
  neighboursOf,
  ohmic_A,
  sourceFor,
  sourceWithNeighbours,
} from './line-beside.ts';
import { meanVolts } from './signals.ts';
import { numberOf, numbersOf } from './values.ts';

/**
 * The stage inside its AGC loop. The step `LINE` simulates the stage at rest with the line held at a few voltages; between
 * them the screen and the cathode are interpolated and the tube's own equations give gain and grid current. On those
 * curves the loop through the detector is then solved by arithmetic.
 */
export const LINE = 'line';

/** Nearly no resistance: the line is held. */
const HELD_ohm = 1e3;

/** Above this no grid can be lifted: its own current holds it near its cathode. A large cathode resistor lifts that too. */
const topOf = (v: StageValues): number => 3 + 0.01 * numberOf(v, 'cathodeResistor');

/** From the conducting end down: from rest the engine does not find a tube that is cut off at once. */
export function lineSettings(v: StageValues): Setting[] {
  const top = topOf(v);
  return [top, 0.4 * top, 0.12 * top, -1.3, -5, -13, -30].map((agcVoltage) => ({
    drive: 0,
    knobs: { agcVoltage, agcLineResistance: HELD_ohm },
  }));
}

/** Voltages of a curve: close where grid current begins, wide where all is slow. */
function knotsOf(v: StageValues): number[] {
  const top = topOf(v);
  const near = Array.from({ length: 11 }, (_, k) => -2 + 0.3 * k);
  const above = Array.from({ length: 5 }, (_, k) => 1 + ((top - 1) * (k + 1)) / 5);
  return [...FAR_V, ...near.slice(0, 10), 1, ...above];
}

const FAR_V = [-100, -65, -45, -32, -24, -18, -14, -11, -8.5, -6.5, -5, -4, -3.2, -2.5];
const DIFFERENCE_V = 2e-3;
const PLATE_DIFFERENCE_V = 5;

/** @param sound without what leaks in this socket and its transformer: another stage of this kind has no part in that */
function curveOf(t: Traces, sound: boolean): LineCurve {
  const held = t
    .settings(LINE)
    .map((_, i) => i)
    .toReversed();
  const at = (node: string): number[] => held.map((i) => meanVolts(t, LINE, i, node));
  const grids = at('g');
  const screens = sampledCurve(grids, at('s'));
  const cathodes = hasCathodeResistor(t.values) ? sampledCurve(grids, at('k')) : undefined;
  const plate = meanVolts(t, LINE, 0, 'p');
  const [model, state] = [t.models[0]!, t.states[0]!];
  const leaks = sound ? withoutSocketLeak(t.values, t.leaks[0]!) : t.leaks[0]!;
  const onGrid = leaks.filter(({ between }) => between.includes('grid'));
  const sumOf = (all: readonly Leak[]): number =>
    all.reduce((sum, { siemens }) => sum + siemens, 0);
  const leaks_S = sumOf(onGrid);
  const fromPlate_S = sumOf(onGrid.filter(({ between }) => between.includes('plate')));
  const clean = { ...state, gasRatio: 0, gridEmission_A: 0 };
  const supply = meanVolts(t, LINE, 0, 'b');
  const winding_S = sound ? 0 : 1 / (statedLeak(t.values, 'windingLeakage') ?? Infinity);
  const source_ohm = numberOf(t.values, 'gridTankImpedance');
  const load_ohm = t.knob('tunedImpedance');
  const points = knotsOf(t.values).map((grid) => {
    const place = Math.min(grids.at(-1)!, Math.max(grids[0]!, grid));
    const pins = { plate, screen: screens.at(place)!, cathode: cathodes?.at(place) ?? 0 };
    const amps = (more: PinVolts, of = state): PinAmps =>
      model.currents({ ...pins, grid, ...more }, of);
    const [up, down] = [amps({ grid: grid + DIFFERENCE_V }), amps({ grid: grid - DIFFERENCE_V })];
    const mean = (electrode: 'plate' | 'grid'): number => (up[electrode]! + down[electrode]!) / 2;
    const slope_S = (electrode: 'plate' | 'grid'): number =>
      (up[electrode]! - down[electrode]!) / (2 * DIFFERENCE_V);
    const raised = amps({ plate: plate + PLATE_DIFFERENCE_V });
    const output_S = (raised.plate! - mean('plate')) / PLATE_DIFFERENCE_V;
    const gain = (slope_S('plate') * load_ohm) / (1 + load_ohm * output_S);
    const electrons_A = amps({}, clean).grid!;
    return {
      line_V: grid,
      electrons_A,
      reverse_A:
        electrons_A -
        mean('grid') +
        ohmic_A(onGrid, 'grid', { ...pins, grid, heater: 0 }) +
        winding_S * (supply - grid),
      gain,
      // a leak from the plate brings the plate's swing back to the grid
      load:
        source_ohm * (slope_S('grid') + leaks_S + winding_S + fromPlate_S * gain) + 1 / COIL_FACTOR,
    };
  });
  return curveThrough(points);
}

/** One carrier, the loop closed. */
export interface Held {
  /** At the grid of the first controlled tube, V peak. */
  readonly signal_V: number;
  readonly line_V: number;
  /** Carrier at the detector and at the grid of this stage, V peak. */
  readonly detector_V: number;
  readonly grid_V: number;
  /** Voltage behind the line's resistance as this tube alone would need it to stand where it does. */
  readonly source_V: number;
}

export interface Loop {
  readonly own: LineTube;
  readonly line: Line;
  /** By signal level, weak to strong; undefined where the line has no place within the curves. */
  readonly levels: readonly (Held | undefined)[];
}

const loops = new WeakMap<Traces, Loop>();

/** The loop of this subject, solved once. Needs the step `LINE`. */
export function loopOf(t: Traces): Loop {
  const known = loops.get(t);
  if (known !== undefined) return known;
  const loop = solve(t);
  loops.set(t, loop);
  return loop;
}

const curves = new WeakMap<Traces, LineCurve>();

/** What this stage's tube does to the line. Needs the step `LINE`. */
export function lineCurve(t: Traces): LineCurve {
  const known = curves.get(t) ?? curveOf(t, false);
  curves.set(t, known);
  return known;
}

function solve(t: Traces): Loop {
  const own = lineTube(lineCurve(t));
  const leaking = ['socketLeakage', 'windingLeakage'].some(
    (key) => statedLeak(t.values, key) !== undefined,
  );
  const alike = lineTube(leaking ? curveOf(t.newTube ?? t, true) : lineCurve(t.newTube ?? t));
  const { ahead: stated, behind } = neighboursOf(t);
  const further = Math.round(numberOf(t.values, 'tubesOnLine')) - stated.length - behind.length;
  const ahead = [...Array.from({ length: Math.max(0, further) }, () => alike), ...stated];
  const line: Line = {
    resistance_ohm: t.knob('agcLineResistance'),
    leakage_ohm: t.knob('lineCapacitorLeakage'),
    clamp_V: clampOf(t.values),
    tubes: [...ahead, own, ...behind],
  };
  const contact = t.knob('detectorContact');
  const delay = numberOf(t.values, 'agcDelay');
  const gain = (tubes: readonly LineTube[], line_V: number): number =>
    tubes.reduce((product, tube) => product * tube.gain(line_V), 1);
  const levels = levelsOf(t.values).map((signal_V): Held | undefined => {
    const line_V = settledLine(
      line,
      (volts) => -detectedVolts(signal_V * gain(line.tubes, volts), contact, delay),
    );
    if (line_V === undefined) return undefined;
    return {
      signal_V,
      line_V,
      detector_V: signal_V * gain(line.tubes, line_V),
      grid_V: signal_V * gain(ahead, line_V),
      source_V: sourceFor(line, own, line_V),
    };
  });
  return { own, line, levels };
}

/** Weak to strong, whatever the order in the scenario. */
export const levelsOf = (v: StageValues): readonly number[] =>
  numbersOf(v, 'signalLevels').toSorted((a, b) => a - b);

function clampOf(v: StageValues): number | null {
  const given = v['lineClamp']?.value;
  return typeof given === 'number' ? given : null;
}

/**
 * The source voltage at which this tube's line stands where a held AGC voltage puts it with the stated tubes on the line;
 * the AGC voltage itself where no other tube is stated.
 */
export function sourceBeside(t: Traces, agc_V: number): number {
  if (t.line === undefined) return agc_V;
  const { own, line } = loopOf(t);
  return sourceWithNeighbours(t, line, own, agc_V);
}
