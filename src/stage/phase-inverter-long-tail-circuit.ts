import type { Circuit, Node, Part, StageValues, TubeModel, ValueSpec } from '../types.ts';
import { capacitorInput, gridInputKnobs, gridInputValues } from './grid-input.ts';
import { HEATER_VALUES, heaterKnobs, heaterNode, heaterParts } from './heater-supply.ts';
import { COMMON_VALUES, exactKnob, numberOf, partKnob, supplyKnob } from './values.ts';

/** The parts of a long-tailed pair, with values typical of guitar and hi-fi amplifiers (from memory). */

export const LONG_TAIL_VALUES: Readonly<Record<string, ValueSpec>> = {
  supply: {
    title: 'plate supply',
    unit: 'V',
    default: 300,
    low: 20,
    high: 600,
    tolerance_percent: 0,
  },
  plateLoad: {
    title: 'plate load of the first tube',
    unit: 'ohm',
    default: 82e3,
    low: 1e3,
    high: 1e6,
    tolerance_percent: 5,
    help: 'The tube that the signal reaches first; it gives a little more.',
  },
  plateLoad2: {
    title: 'plate load of the second tube',
    unit: 'ohm',
    default: 100e3,
    low: 1e3,
    high: 1e6,
    tolerance_percent: 5,
  },
  biasResistor: {
    title: 'bias resistor, from the cathodes to the tail',
    unit: 'ohm',
    default: 470,
    low: 1,
    high: 100e3,
    tolerance_percent: 10,
  },
  tailResistor: {
    title: 'tail resistor',
    unit: 'ohm',
    default: 10e3,
    low: 100,
    high: 1e6,
    tolerance_percent: 10,
  },
  tailReturn: {
    title: 'supply that the tail leads to (0: chassis)',
    unit: 'V',
    default: 0,
    low: -300,
    high: 0,
    tolerance_percent: 0,
  },
  ...gridInputValues({ gridResistor: 1e6, sourceResistance: 50e3, couplingFrom: 150 }),
  otherGridCapacitor: {
    title: 'capacitor from the second grid to chassis',
    unit: 'F',
    default: 0.1e-6,
    low: 1e-12,
    high: 1e-3,
    tolerance_percent: 0,
  },
  outputCapacitor: {
    title: 'coupling capacitor at each output',
    unit: 'F',
    default: 22e-9,
    low: 1e-12,
    high: 1e-3,
    tolerance_percent: 0,
  },
  nextGridResistor: {
    title: 'grid resistor of each tube that follows',
    unit: 'ohm',
    default: 220e3,
    low: 1e3,
    high: 50e6,
    tolerance_percent: 10,
  },
  signalFrequency: {
    title: 'signal frequency',
    unit: 'Hz',
    default: 1000,
    low: 10,
    high: 20e3,
    tolerance_percent: 0,
  },
  usualSignal: {
    title: 'signal at the source in ordinary use, rms',
    unit: 'V',
    default: 0.5,
    low: 1e-3,
    high: 50,
    tolerance_percent: 0,
    help: 'What hum is compared with.',
  },
  ...HEATER_VALUES,
  ...COMMON_VALUES,
};

/** Grid, plate and output of a place; both cathodes are node `k`, the top of the tail is `t`. */
export const nodesAt = (place: 0 | 1): Readonly<Record<'plate' | 'grid' | 'output', Node>> => ({
  plate: `p${place + 1}`,
  grid: place === 0 ? 'g' : 'g2',
  output: `o${place + 1}`,
});

const ROW = 30;
const CENTRES = [18, 45] as const;
const CATHODE_Y = 54;

const hasTailSupply = (v: StageValues): boolean => numberOf(v, 'tailReturn') < 0;

function placeParts(v: StageValues, place: 0 | 1): Part[] {
  const x = CENTRES[place];
  const { plate, grid, output } = nodesAt(place);
  const n = place * 2;
  return [
    {
      kind: 'tube',
      id: `V${place + 1}`,
      nodes: { plate, grid, cathode: 'k', heater: heaterNode(v) },
      tube: place,
      at: [x, ROW],
    },
    {
      kind: 'resistor',
      id: `R${4 + n}`,
      nodes: ['b', plate],
      value: { knob: place === 0 ? 'plateLoad' : 'plateLoad2' },
      at: [x, 9],
      edits: place === 0 ? 'plateLoad' : 'plateLoad2',
    },
    {
      kind: 'capacitor',
      id: `C${3 + place}`,
      nodes: [plate, output],
      value: numberOf(v, 'outputCapacitor'),
      at: [x + 4, 18],
      orientation: 270,
      edits: 'outputCapacitor',
    },
    {
      kind: 'resistor',
      id: `R${5 + n}`,
      nodes: [output, '0'],
      value: { knob: 'nextGridResistor' },
      at: [x + 11, 18],
      edits: 'nextGridResistor',
    },
  ];
}

/** The way of the signal to the grid, folded below it: two tubes stand side by side. The leak of its capacitor finds no room. */
function folded(part: Part): Part {
  switch (part.id) {
    case 'S':
      return { ...part, at: [2, ROW + 14] };
    case 'R1':
      return { ...part, at: [2, ROW + 14], orientation: 180 };
    case 'C1':
      return { ...part, at: [2, ROW + 8] };
    case 'R3':
      return { ...part, at: [9, ROW + 10] };
    default:
      return { ...part, drawn: false };
  }
}

export function longTailCircuit(
  title: string,
  v: StageValues,
  tubes: readonly TubeModel[],
): Circuit {
  const tail: Node = hasTailSupply(v) ? 'n' : '0';
  const parts: Part[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [CENTRES[0], 9],
      name: 'B+',
      edits: 'supply',
    },
    ...(hasTailSupply(v)
      ? ([
          {
            kind: 'supply',
            id: 'N',
            nodes: ['n', '0'],
            value: { knob: 'tailReturn' },
            at: [34, CATHODE_Y + 12],
            name: 'tail supply',
            edits: 'tailReturn',
          },
        ] as const)
      : []),
    ...capacitorInput(v, ROW, 't').map(folded),
    ...placeParts(v, 0),
    ...placeParts(v, 1),
    {
      kind: 'resistor',
      id: 'R8',
      nodes: ['g2', 't'],
      value: { knob: 'gridResistor2' },
      at: [36, ROW + 10],
      edits: 'gridResistor',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['g2', '0'],
      value: numberOf(v, 'otherGridCapacitor'),
      at: [30, ROW + 8],
      edits: 'otherGridCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R9',
      nodes: ['k', 't'],
      value: { knob: 'biasResistor' },
      at: [34, CATHODE_Y],
      edits: 'biasResistor',
    },
    {
      kind: 'resistor',
      id: 'R10',
      nodes: ['t', tail],
      value: { knob: 'tailResistor' },
      at: [34, CATHODE_Y + 6],
      edits: 'tailResistor',
    },
    ...heaterParts(v),
  ];
  const gridResistor = partKnob(v, 'gridResistor');
  return {
    title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      ...gridInputKnobs(v),
      gridResistor2: { ...gridResistor, unknown: 'gridResistor2' },
      plateLoad: partKnob(v, 'plateLoad'),
      plateLoad2: partKnob(v, 'plateLoad2'),
      biasResistor: partKnob(v, 'biasResistor'),
      tailResistor: partKnob(v, 'tailResistor'),
      ...(hasTailSupply(v)
        ? { tailReturn: exactKnob(numberOf(v, 'tailReturn'), 'tailReturn') }
        : {}),
      nextGridResistor: partKnob(v, 'nextGridResistor'),
      ...heaterKnobs(v),
    },
    spine: { g: ['v', 9], g2: ['v', 36], k: ['h', CATHODE_Y] },
    named: { t: 'tail' },
    watch: ['b', 'g', 'g2', 'k', 't', 'p1', 'p2', 'o1', 'o2'],
  };
}
