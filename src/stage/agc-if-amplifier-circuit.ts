import type { Circuit, Part, StageValues, TubeModel } from '../types.ts';
import { leakPart } from './faults.ts';
import { exactKnob, numberOf, numbersOf, partKnob, supplyKnob } from './values.ts';

export const TITLE = 'IF amplifier on an AGC line';

export const hasCathodeResistor = (v: StageValues): boolean => numberOf(v, 'cathodeResistor') > 0;
/** Keeps the grid coil a pure tuned circuit: its own loss is in the source's series resistance. */
export const COIL_FACTOR = 100;

export function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const cathode = hasCathodeResistor(v) ? 'k' : '0';
  const gridTank = numberOf(v, 'gridTankImpedance');
  const q = numberOf(v, 'loadedQ');
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
      at: [45, 15],
      name: 'screen B+',
      edits: 'screenSupply',
    },
    {
      kind: 'supply',
      id: 'A',
      nodes: ['agc', '0'],
      value: { knob: 'agcVoltage' },
      at: [42, 41],
      name: 'AGC',
      edits: 'agcVoltages',
    },
    { kind: 'signal', id: 'S', nodes: ['in', '0'], at: [7, 23], drawn: false },
    { kind: 'resistor', id: 'RS', nodes: ['in', 'a'], value: gridTank, at: [7, 23], drawn: false },
    { kind: 'capacitor', id: 'CS', nodes: ['a', 'g'], value: 1e-9, at: [7, 23], drawn: false },
    {
      kind: 'tank',
      id: 'T1',
      nodes: ['line', 'g'],
      impedance: COIL_FACTOR * gridTank,
      loadedQ: COIL_FACTOR * q,
      stray_F: tubes[0]!.capacitances.input + tubes[0]!.capacitances.gridPlate,
      at: [12, 31],
      orientation: 180,
      name: 'from the mixer',
      edits: 'gridTankImpedance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['line', '0'],
      value: numberOf(v, 'lineCapacitor'),
      at: [18, 31],
      edits: 'lineCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['line', '0'],
      value: { knob: 'lineCapacitorLeakage' },
      at: [26, 31],
      edits: 'lineCapacitorLeakage',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['agc', 'line'],
      value: { knob: 'agcLineResistance' },
      at: [42, 41],
      orientation: 90,
      edits: 'agcLineResistance',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: { plate: 'p', screen: 's', grid: 'g', cathode, heater: '0' },
      tube: 0,
      at: [30, 21],
    },
    {
      kind: 'tank',
      id: 'T2',
      nodes: ['b', 'p'],
      impedance: { knob: 'tunedImpedance' },
      loadedQ: q,
      stray_F: tubes[0]!.capacitances.output + tubes[0]!.capacitances.gridPlate,
      at: [30, 3],
      name: 'to the detector',
      edits: 'tunedImpedance',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['bs', 's'],
      value: { knob: 'screenDropper' },
      at: [45, 15],
      edits: 'screenDropper',
    },
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: ['s', '0'],
      value: numberOf(v, 'screenBypass'),
      at: [45, 21],
      edits: 'screenBypass',
    },
    ...(hasCathodeResistor(v)
      ? ([
          {
            kind: 'resistor',
            id: 'R3',
            nodes: ['k', '0'],
            value: { knob: 'cathodeResistor' },
            at: [33, 28],
            edits: 'cathodeResistor',
          },
          {
            kind: 'capacitor',
            id: 'C2',
            nodes: ['k', '0'],
            value: numberOf(v, 'cathodeBypass'),
            at: [40, 28],
            edits: 'cathodeBypass',
          },
        ] as Part[])
      : []),
    ...leakPart(v, 'windingLeakage', ['b', 'g']),
  ];
  return {
    title: TITLE,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      screenSupply: supplyKnob(v, 'screenSupply'),
      agcVoltage: exactKnob(numbersOf(v, 'agcVoltages')[0]!, 'agcVoltage'),
      agcLineResistance: partKnob(v, 'agcLineResistance'),
      lineCapacitorLeakage: exactKnob(numberOf(v, 'lineCapacitorLeakage'), 'lineCapacitorLeakage'),
      screenDropper: partKnob(v, 'screenDropper'),
      tunedImpedance: partKnob(v, 'tunedImpedance'),
      ...(hasCathodeResistor(v) ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
      // outside this stage: the loop through the detector reads it
      detectorContact: partKnob(v, 'detectorContact'),
    },
    spine: { line: ['v', 12] },
    watch: ['b', 'p', 's', 'g', 'line', ...(hasCathodeResistor(v) ? ['k'] : [])],
  };
}
