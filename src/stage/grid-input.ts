import type { Node, Part, StageValues, Uncertain, ValueSpec } from '../types.ts';
import { leakValue } from './faults.ts';
import { exactKnob, numberOf, partKnob, supplyKnob } from './values.ts';

/**
 * How a signal comes to a grid: through a coupling capacitor, which may leak, to a grid resistor; or straight from the plate
 * of the stage before. From node `in` of the signal to node `g`.
 */

/** Defaults that differ from stage to stage. */
export interface GridInputDefaults {
  readonly gridResistor: number;
  readonly sourceResistance: number;
  readonly couplingFrom: number;
}

export function gridInputValues(defaults: GridInputDefaults): Readonly<Record<string, ValueSpec>> {
  return {
    gridResistor: {
      title: 'grid resistor',
      unit: 'ohm',
      default: defaults.gridResistor,
      low: 1e3,
      high: 50e6,
      tolerance_percent: 10,
    },
    sourceResistance: {
      title: 'resistance of the signal source',
      unit: 'ohm',
      default: defaults.sourceResistance,
      low: 0,
      high: 10e6,
      tolerance_percent: 10,
      help: 'What the grid sees of the stage before: its plate load beside the plate resistance.',
    },
    couplingCapacitor: {
      title: 'coupling capacitor at the grid',
      unit: 'F',
      default: 22e-9,
      low: 1e-12,
      high: 1e-3,
      tolerance_percent: 0,
    },
    couplingFrom: {
      title: 'DC of the stage before',
      unit: 'V',
      default: defaults.couplingFrom,
      low: -200,
      high: 600,
      tolerance_percent: 0,
      help: 'Before the coupling capacitor, or at the grid where it is coupled directly.',
    },
    couplingLeakage: leakValue('leakage of the coupling capacitor', 'From the voltage before it.'),
  };
}

/** Through the capacitor; the grid resistor leads to `gridReturn`. `row` is the grid's in the drawing. */
export function capacitorInput(v: StageValues, row: number, gridReturn: Node | undefined): Part[] {
  return [
    {
      kind: 'supply',
      id: 'D',
      nodes: ['before', '0'],
      value: { knob: 'couplingFrom' },
      at: [13, row - 5],
      name: 'before C1',
      edits: 'couplingFrom',
    },
    { kind: 'signal', id: 'S', nodes: ['in', '0'], at: [2, row], name: 'signal' },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['in', 'a'],
      value: { knob: 'sourceResistance' },
      at: [4, row],
      orientation: 270,
      edits: 'sourceResistance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['a', 'g'],
      value: numberOf(v, 'couplingCapacitor'),
      at: [11, row],
      orientation: 270,
      edits: 'couplingCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['before', 'g'],
      value: { knob: 'couplingLeakage' },
      at: [13, row - 5],
      orientation: 270,
      edits: 'couplingLeakage',
    },
    ...(gridReturn === undefined
      ? []
      : [
          {
            kind: 'resistor' as const,
            id: 'R3',
            nodes: ['g', gridReturn] as const,
            value: { knob: 'gridResistor' },
            at: [19, row] as const,
            edits: 'gridResistor',
          },
        ]),
  ];
}

/** Straight from a plate: its DC, its signal on top of that, its resistance. */
export function directInput(row: number): Part[] {
  return [
    {
      kind: 'supply',
      id: 'D',
      nodes: ['before', '0'],
      value: { knob: 'couplingFrom' },
      at: [8, row + 6],
      name: 'DC before',
      edits: 'couplingFrom',
    },
    { kind: 'signal', id: 'S', nodes: ['in', 'before'], at: [8, row], name: 'signal' },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['in', 'g'],
      value: { knob: 'sourceResistance' },
      at: [13, row],
      orientation: 270,
      edits: 'sourceResistance',
    },
  ];
}

export function gridInputKnobs(
  v: StageValues,
  by: 'capacitor' | 'direct' = 'capacitor',
): Readonly<Record<string, Uncertain>> {
  const source = partKnob(v, 'sourceResistance');
  return {
    couplingFrom: supplyKnob(v, 'couplingFrom'),
    sourceResistance: {
      ...source,
      nominal: Math.max(1, source.nominal),
      toValue: (z) => Math.max(1, source.toValue(z)),
    },
    ...(by === 'direct'
      ? {}
      : {
          couplingLeakage: exactKnob(numberOf(v, 'couplingLeakage'), 'couplingLeakage'),
          gridResistor: partKnob(v, 'gridResistor'),
        }),
  };
}
