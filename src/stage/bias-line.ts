import type { Node, Part, StageValues, Traces, Uncertain, ValueSpec } from '../types.ts';
import { numberOf, partKnob, supplyKnob } from './values.ts';

/** The bias supply of stages with fixed bias: its volts, the resistance that it stands behind, its bypass. */

export const BIAS_LINE_VALUES: Readonly<Record<string, ValueSpec>> = {
  biasSupplyResistance: {
    title: 'resistance of the bias supply (with fixed bias; 0: none to speak of)',
    unit: 'ohm',
    default: 0,
    low: 0,
    high: 5e6,
    tolerance_percent: 10,
    help: 'From its last filter capacitor back to chassis: series resistors, or a divider’s arms side by side. Every grid on the supply has it in common.',
  },
  biasBypass: {
    title: 'bypass of the bias supply (where it has a resistance)',
    unit: 'F',
    default: 10e-6,
    low: 1e-6,
    high: 1e-2,
    tolerance_percent: 0,
  },
};

export const RESISTANCE = 'biasSupplyResistance';
const SUPPLY = 'fixedBias';

/** Whether the grids get their bias from a supply. */
export const hasFixedBias = (v: StageValues): boolean => v[SUPPLY]!.value !== null;

/** Whether the supply gives way under grid current. */
export const isSoft = (v: StageValues): boolean => hasFixedBias(v) && numberOf(v, RESISTANCE) > 0;

/** DC resistance from a grid to where its bias stands still, ohm: its resistor, and what the bias supply adds. */
export const gridPath_ohm = (t: Traces): number =>
  t.knob('gridResistor') + (isSoft(t.values) ? t.knob(RESISTANCE) : 0);

export const biasLineKnobs = (v: StageValues): Readonly<Record<string, Uncertain>> => ({
  ...(hasFixedBias(v) ? { [SUPPLY]: supplyKnob(v, SUPPLY) } : {}),
  ...(isSoft(v) ? { [RESISTANCE]: partKnob(v, RESISTANCE) } : {}),
});

interface SupplyNames {
  readonly supply: string;
  readonly resistor: string;
  readonly bypass: string;
  /** Of the supply's volts, where those are not the common ones. */
  readonly knob?: string;
}

/** The supply at the node that the grid resistors lead to; behind its resistance, with its bypass, where it has one. */
export function biasLineParts(
  v: StageValues,
  node: Node,
  [x, y]: readonly [number, number],
  names: SupplyNames,
): Part[] {
  const soft = isSoft(v);
  const end = soft ? `${node}s` : node;
  const supply: Part = {
    kind: 'supply',
    id: names.supply,
    nodes: [end, '0'],
    value: { knob: names.knob ?? SUPPLY },
    at: soft ? [x, y + 6] : [x, y],
    name: 'bias',
    edits: SUPPLY,
  };
  if (!soft) return [supply];
  return [
    supply,
    {
      kind: 'resistor',
      id: names.resistor,
      nodes: [node, end],
      value: { knob: RESISTANCE },
      at: [x, y],
      edits: RESISTANCE,
    },
    {
      kind: 'capacitor',
      id: names.bypass,
      nodes: ['0', node],
      value: numberOf(v, 'biasBypass'),
      at: [x + 6, y + 6],
      orientation: 180,
      edits: 'biasBypass',
    },
  ];
}

/** Knob of a resistor across every grid resistor in other sockets. */
export const SHORT_BESIDE = 'shortBeside';

/**
 * Grid resistors so short, and the supply so stiff, that no grid current lifts a grid: the healthy state, from which the others
 * are approached. What a circuit does not have is passed over.
 */
export const HEALTHY: Readonly<Record<string, number>> = {
  gridResistor: 1e3,
  [RESISTANCE]: 1,
  [SHORT_BESIDE]: 1e3,
};

/** Time in which the supply follows what its grids do to it, s. */
export const biasSettling_s = (v: StageValues): number =>
  isSoft(v) ? numberOf(v, RESISTANCE) * numberOf(v, 'biasBypass') : 0;

export const biasDoubts = (v: StageValues): string[] =>
  !hasFixedBias(v) && numberOf(v, RESISTANCE) > 0
    ? ['A resistance of the bias supply means nothing without fixed bias: it is not used.']
    : [];

/** What every stage on a bias line has in common. */
export const COMMON_BIAS = {
  values: [SUPPLY, RESISTANCE, 'biasBypass'],
  needs: [SUPPLY, RESISTANCE],
} as const;
