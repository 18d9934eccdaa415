import type { Circuit, Part, StageValues, TubeModel } from '../types.ts';
import { leakPart } from './faults.ts';
import { WINDING } from './frequency-converter-values.ts';
import type { ElectrodeNodes } from './tube-currents.ts';
import { exactKnob, numberOf, numbersOf, partKnob, supplyKnob, textOf } from './values.ts';

export const TITLE = 'Frequency converter';

/** Impedance of the tuned circuit at the signal grid: to the oscillator a short. */
export const AERIAL_ohm = 100e3;

export const electrodesOf = (v: StageValues): ElectrodeNodes => ({
  plate: 'p',
  screen: 's',
  oscillatorGrid: 'g1',
  signalGrid: 'g3',
  cathode: textOf(v, 'feedback') === WINDING ? '0' : 'k',
});

/** What the grid capacitor and the grid's own capacitance, half to the cathode and half to the screens, leave of the swing. */
function gridShare(v: StageValues, tube: TubeModel, winding: boolean): number {
  const series = numberOf(v, 'gridCapacitor');
  const half = (tube.capacitances.oscillatorInput ?? 0) / 2;
  const share = numberOf(v, 'feedbackShare');
  return (series + half * (winding ? -share : share)) / (series + 2 * half);
}

/** Below the oscillator, or above it where the oscillator is below the intermediate frequency. */
function signal_Hz(v: StageValues): number {
  const oscillator = numberOf(v, 'oscillatorFrequency');
  const intermediate = numberOf(v, 'intermediateFrequency');
  return oscillator > intermediate ? oscillator - intermediate : oscillator + intermediate;
}

export function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const tube = tubes[0]!;
  const share = numberOf(v, 'feedbackShare');
  const q = numberOf(v, 'tankQ');
  const winding = textOf(v, 'feedback') === WINDING;
  const cathode = winding ? '0' : 'k';
  /** Behind the feedback winding, where the screens are bypassed. */
  const screens = winding ? 'sb' : 's';
  const parts: Part[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [30, 3],
      name: 'B+',
      edits: 'supply',
    },
    {
      kind: 'supply',
      id: 'BS',
      nodes: ['bs', '0'],
      value: { knob: 'screenSupply' },
      at: winding ? [52, 37] : [45, 15],
      name: 'screen B+',
      edits: 'screenSupply',
    },
    {
      kind: 'supply',
      id: 'A',
      nodes: ['agc', '0'],
      value: { knob: 'agcVoltage' },
      at: [19, 43],
      name: 'AGC',
      edits: 'agcVoltages',
    },
    {
      kind: 'tank',
      id: 'T1',
      nodes: ['line', 'g3'],
      impedance: AERIAL_ohm,
      loadedQ: 60,
      tunedTo_Hz: signal_Hz(v),
      at: [12, 29],
      orientation: 180,
      name: 'from the aerial',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['line', '0'],
      value: numberOf(v, 'lineCapacitor'),
      at: [3, 37],
      edits: 'lineCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['line', '0'],
      value: { knob: 'lineCapacitorLeakage' },
      at: [11, 37],
      edits: 'lineCapacitorLeakage',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['line', 'agc'],
      value: { knob: 'agcLineResistance' },
      at: [19, 37],
      edits: 'agcLineResistance',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: {
        plate: 'p',
        screen: 's',
        oscillatorGrid: 'g1',
        signalGrid: 'g3',
        cathode,
        heater: '0',
      },
      tube: 0,
      at: [30, 21],
    },
    {
      kind: 'tank',
      id: 'T2',
      nodes: ['b', 'p'],
      impedance: { knob: 'tunedImpedance' },
      loadedQ: 40,
      stray_F: tube.capacitances.output + tube.capacitances.gridPlate,
      tunedTo_Hz: numberOf(v, 'intermediateFrequency'),
      at: [30, 3],
      name: 'to the IF amplifier',
      edits: 'tunedImpedance',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['bs', screens],
      value: { knob: 'screenDropper' },
      at: winding ? [52, 37] : [45, 15],
      edits: 'screenDropper',
    },
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: [screens, '0'],
      value: numberOf(v, 'screenBypass'),
      at: winding ? [52, 43] : [45, 21],
      edits: 'screenBypass',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['g1', '0'],
      value: { knob: 'gridLeak' },
      at: [27, 35],
      edits: 'gridLeak',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['t', 'g1'],
      value: numberOf(v, 'gridCapacitor'),
      at: [36, 35],
      orientation: 90,
      edits: 'gridCapacitor',
    },
    {
      kind: 'oscillatorTank',
      id: 'T3',
      nodes: winding ? ['t', '0', 's', 'sb'] : ['t', 'k', '0'],
      feedback: winding ? 'winding' : 'tap',
      windings: [
        { nodes: ['t', '0'], share: 1, coupled: gridShare(v, tube, winding) },
        winding ? { nodes: ['s', 'sb'], share: -share } : { nodes: ['k', '0'], share },
      ],
      impedance: { knob: 'tankImpedance' },
      loadedQ: q,
      at: [40, 39],
      edits: 'tankImpedance',
    },
    ...leakPart(v, 'windingLeakage', ['b', 'g3']),
  ];
  return {
    title: TITLE,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      screenSupply: supplyKnob(v, 'screenSupply'),
      screenDropper: partKnob(v, 'screenDropper'),
      gridLeak: partKnob(v, 'gridLeak'),
      tankImpedance: partKnob(v, 'tankImpedance'),
      agcVoltage: exactKnob(numbersOf(v, 'agcVoltages')[0]!, 'agcVoltage'),
      agcLineResistance: partKnob(v, 'agcLineResistance'),
      lineCapacitorLeakage: exactKnob(numberOf(v, 'lineCapacitorLeakage'), 'lineCapacitorLeakage'),
      tunedImpedance: partKnob(v, 'tunedImpedance'),
    },
    spine: {
      line: ['h', 37],
      g1: ['h', 35],
      k: ['v', 43],
      s: winding ? ['v', 43] : ['h', 21],
      sb: ['v', 47],
    },
    watch: ['b', 'p', 's', 'g1', 'g3', 'line', 't', ...(winding ? [] : ['k'])],
  };
}
