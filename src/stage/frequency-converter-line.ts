import { harmonic, meanOf } from '../numerics/harmonics.ts';
import { sampledCurve } from '../numerics/interpolate.ts';
import type { LineCurve, PinVolts, Setting, Traces } from '../types.ts';
import { lineTube } from './agc-line.ts';
import { statedLeak } from './faults.ts';
import { AERIAL_ohm, electrodesOf } from './frequency-converter-circuit.ts';
import { curveThrough, ohmic_A, sourceWithNeighbours } from './line-beside.ts';
import { START, withRamp } from './oscillation.ts';
import { meanVolts } from './signals.ts';
import { pinVolts } from './tube-currents.ts';

/**
 * What a running converter does to the AGC line at its signal grid. The step `LINE` holds the line at a few voltages while it
 * oscillates as found; between them all electrodes are interpolated phase by phase, and the tube's own equations give what
 * the signal grid takes and what the conversion is. It is simulated only where other stages hang on the line.
 */
export const LINE = 'line';

/** Nearly no resistance: the line is held. */
const HELD_ohm = 1e3;
const HELD_V = [0.4, -1.3, -5, -13, -30];
const RAMPED = 2;

export function lineSettings(drive: number | undefined, traces: Traces): Setting[] {
  return drive !== undefined && traces.line !== undefined
    ? withRamp(
        HELD_V.map((agcVoltage) => ({
          drive,
          knobs: { agcVoltage, agcLineResistance: HELD_ohm },
        })),
      )
    : [];
}

/** Voltages of a curve: close where grid current begins, wide where all is slow. */
const FAR_V = [-100, -45, -32, -24, -18, -14, -11, -8.5, -6.5, -5, -4, -3.2, -2.5, -2];
const NEAR_V = [-1.6, -1.2, -0.9, -0.6, -0.3, 0, 0.3, 0.6, 1, 1.5, 2, 3];
const KNOTS_V = [...FAR_V, ...NEAR_V];
const DIFFERENCE_V = 2e-3;
const PLATE_DIFFERENCE_V = 5;

/** Pin volts over the cycle with the signal grid at a voltage; those of a tube that does not oscillate are its own at rest. */
function pinsOver(t: Traces): (line_V: number) => PinVolts[] {
  const nodes = electrodesOf(t.values);
  const held = t.settings(LINE).map((_, i) => i);
  if (held.length === 0) {
    const rest = pinVolts(t, START, 0, nodes);
    return (signalGrid) => rest.map((pins) => ({ ...pins, signalGrid }));
  }
  const rows = held
    .slice(RAMPED)
    .toReversed()
    .map((i) => ({ grid: meanVolts(t, LINE, i, 'g3'), pins: pinVolts(t, LINE, i, nodes) }));
  const grids = rows.map(({ grid }) => grid);
  const electrodes = Object.keys(nodes) as (keyof PinVolts)[];
  const curves = rows[0]!.pins.map((_, k) =>
    electrodes.map(
      (electrode) =>
        [
          electrode,
          sampledCurve(
            grids,
            rows.map(({ pins }) => pins[k]![electrode]!),
          ),
        ] as const,
    ),
  );
  return (signalGrid) => {
    const place = Math.min(grids.at(-1)!, Math.max(grids[0]!, signalGrid));
    return curves.map((phase) => ({
      ...Object.fromEntries(phase.map(([electrode, curve]) => [electrode, curve.at(place)!])),
      signalGrid,
    }));
  };
}

const curves = new WeakMap<Traces, LineCurve>();

/** Needs the step `LINE`. */
export function lineCurve(t: Traces): LineCurve {
  const known = curves.get(t) ?? curveOf(t);
  curves.set(t, known);
  return known;
}

function curveOf(t: Traces): LineCurve {
  const pinsAt = pinsOver(t);
  const [model, state] = [t.models[0]!, t.states[0]!];
  const clean = { ...state, gasRatio: 0, gridEmission_A: 0 };
  const onGrid = t.leaks[0]!.filter(({ between }) => between.includes('signalGrid'));
  const winding_S = 1 / (statedLeak(t.values, 'windingLeakage') ?? Infinity);
  const supply = meanVolts(t, START, 0, 'b');
  const load_S = 1 / t.knob('tunedImpedance');
  const leaks_S = onGrid.reduce((sum, { siemens }) => sum + siemens, 0);
  const points = KNOTS_V.map((line_V) => {
    const pins = pinsAt(line_V);
    const amps = (
      electrode: 'signalGrid' | 'plate',
      more: PinVolts = {},
      of = state,
    ): readonly number[] =>
      pins.map((pin) => {
        const moved = Object.entries(more).map(([key, by]) => [
          key,
          (pin[key as keyof PinVolts] ?? 0) + by,
        ]);
        return model.currents({ ...pin, ...Object.fromEntries(moved) }, of)[electrode] ?? 0;
      });
    const slopes = (electrode: 'signalGrid' | 'plate'): readonly number[] => {
      const down = amps(electrode, { signalGrid: -DIFFERENCE_V });
      return amps(electrode, { signalGrid: DIFFERENCE_V }).map(
        (up, k) => (up - down[k]!) / (2 * DIFFERENCE_V),
      );
    };
    const plate_S =
      (meanOf(amps('plate', { plate: PLATE_DIFFERENCE_V })) - meanOf(amps('plate'))) /
      PLATE_DIFFERENCE_V;
    const conversion_S = Math.abs(harmonic(slopes('plate'), 1)) / 2;
    const electrons_A = meanOf(amps('signalGrid', {}, clean));
    return {
      line_V,
      electrons_A,
      reverse_A:
        electrons_A -
        meanOf(amps('signalGrid')) +
        meanOf(pins.map((pin) => ohmic_A(onGrid, 'signalGrid', pin))) +
        winding_S * (supply - line_V),
      gain: conversion_S / (load_S + plate_S),
      load: AERIAL_ohm * (meanOf(slopes('signalGrid')) + leaks_S + winding_S),
    };
  });
  return curveThrough(points);
}

/** The AGC voltage as this stage alone would need it to stand where the stated line puts it. */
export function sourceBeside(traces: Traces, agc_V: number): number {
  if (traces.line === undefined) return agc_V;
  const line = {
    resistance_ohm: traces.knob('agcLineResistance'),
    leakage_ohm: traces.knob('lineCapacitorLeakage'),
  };
  return sourceWithNeighbours(traces, line, lineTube(lineCurve(traces)), agc_V);
}
