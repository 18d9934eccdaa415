import type { Circuit, LimitSpec, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { capacitorInput, directInput, gridInputKnobs } from './grid-input.ts';
import { CATHODE_BYPASS, HEATER_CHANGES } from './heater-changes.ts';
import { heaterKnobs, heaterNode, heaterParts } from './heater-supply.ts';
import { lowLossLimit } from './low-loss.ts';
import { numberOf, partKnob, supplyKnob, textOf } from './values.ts';
import { VIDEO_OUTPUT_STEPS, videoOutputMeasures } from './video-output-measures.ts';
import { DIRECT, VIDEO_OUTPUT_VALUES } from './video-output-values.ts';

/**
 * Video output stage of a television receiver: a power pentode with a small plate load, peaking coils against the stray
 * capacitance, often without a coupling capacitor on either side.
 *
 * Source: video amplifiers in the receiving-tube handbooks; Valley and Wallman, "Vacuum Tube Amplifiers" (1948) ch. 2 for the
 * peaking (from memory).
 */

const TITLE = 'Video output stage';
const PRACTICE = 'common practice, no source';
const ROW = 28;

const has = (v: StageValues, key: string): boolean => numberOf(v, key) > 0;

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const direct = textOf(v, 'gridFeed') === DIRECT;
  const [cathode, dropper] = [has(v, 'cathodeResistor'), has(v, 'screenDropper')];
  const top = has(v, 'shuntPeaking') ? 'l' : 'p';
  const out = has(v, 'seriesPeaking') ? 'o' : 'p';
  const parts: (Part | false)[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [33, 3],
      name: 'B+',
      edits: 'supply',
    },
    {
      kind: 'supply',
      id: 'SB',
      nodes: ['sb', '0'],
      value: { knob: 'screenSupply' },
      at: [48, 20],
      name: 'screen supply',
      edits: 'screenSupply',
    },
    ...(direct ? directInput(ROW) : capacitorInput(v, ROW, '0')),
    {
      kind: 'tube',
      id: 'V1',
      nodes: {
        plate: 'p',
        screen: dropper ? 's' : 'sb',
        grid: 'g',
        cathode: cathode ? 'k' : '0',
        heater: heaterNode(v),
      },
      tube: 0,
      at: [33, 26],
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['b', top],
      value: { knob: 'plateLoad' },
      at: [33, 3],
      edits: 'plateLoad',
    },
    top === 'l' && {
      kind: 'inductor',
      id: 'L1',
      nodes: ['l', 'p'],
      value: numberOf(v, 'shuntPeaking'),
      fast: true,
      at: [33, 9],
      edits: 'shuntPeaking',
    },
    out === 'o' && {
      kind: 'inductor',
      id: 'L2',
      nodes: ['p', 'o'],
      value: numberOf(v, 'seriesPeaking'),
      fast: true,
      at: [41, 16],
      orientation: 270,
      edits: 'seriesPeaking',
    },
    has(v, 'strayCapacitance') && {
      kind: 'capacitor',
      id: 'C6',
      nodes: [out, '0'],
      value: numberOf(v, 'strayCapacitance'),
      fast: true,
      at: [53, 16],
      edits: 'strayCapacitance',
    },
    dropper && {
      kind: 'resistor',
      id: 'R6',
      nodes: ['sb', 's'],
      value: { knob: 'screenDropper' },
      at: [48, 20],
      edits: 'screenDropper',
    },
    dropper && {
      kind: 'capacitor',
      id: 'C3',
      nodes: ['s', '0'],
      value: numberOf(v, 'screenBypass'),
      at: [48, 26],
      edits: 'screenBypass',
    },
    cathode && {
      kind: 'resistor',
      id: 'R5',
      nodes: ['k', '0'],
      value: { knob: 'cathodeResistor' },
      at: [36, 34],
      edits: 'cathodeResistor',
    },
    cathode &&
      has(v, 'cathodeBypass') && {
        kind: 'capacitor',
        id: 'C2',
        nodes: ['k', '0'],
        value: numberOf(v, 'cathodeBypass'),
        at: [43, 34],
        edits: 'cathodeBypass',
      },
    ...heaterParts(v),
  ];
  return {
    title: TITLE,
    parts: parts.filter((part): part is Part => part !== false),
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      screenSupply: supplyKnob(v, 'screenSupply'),
      ...gridInputKnobs(v, direct ? 'direct' : 'capacitor'),
      plateLoad: partKnob(v, 'plateLoad'),
      ...(dropper ? { screenDropper: partKnob(v, 'screenDropper') } : {}),
      ...(cathode ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
      ...heaterKnobs(v),
    },
    spine: { g: ['h', ROW], p: ['h', 16] },
    watch: [
      'b',
      'p',
      'g',
      ...(cathode ? ['k'] : []),
      dropper ? 's' : 'sb',
      ...(out === 'o' ? ['o'] : []),
    ],
  };
}

const LIMITS: readonly LimitSpec[] = [
  {
    measure: 'gain',
    formula: 'gain >= 0.65 * newTube.gain',
    reason: 'a third less contrast is more than the contrast control has left',
    source: PRACTICE,
  },
  {
    measure: 'outputSwing',
    formula: 'outputSwing >= 0.65 * newTube.outputSwing',
    reason: 'the picture tube needs its full drive from black to white',
    source: PRACTICE,
  },
  {
    measure: 'whiteCompression',
    formula: 'whiteCompression <= newTube.whiteCompression + 20',
    reason: 'a fifth less gain in the whites than in the greys is seen as a chalky picture',
    source: PRACTICE,
  },
  {
    measure: 'riseTime',
    formula: 'riseTime <= 1.3 * newTube.riseTime',
    reason: 'edges that take a third longer are seen as smear',
    source: PRACTICE,
  },
  {
    measure: 'brightnessShift',
    formula: 'brightnessShift <= max(25, 0.4 * newTube.outputSwing)',
    reason:
      'coupled directly to the picture tube, two fifths of the swing are about what the brightness control covers',
    source: PRACTICE,
  },
  {
    measure: 'biasShift',
    formula: 'biasShift <= max(0.3, 0.15 * abs(newTube.gridBias))',
    reason: 'reverse grid current may move the bias a little, and grows as the tube warms',
    source: PRACTICE,
  },
  {
    measure: 'plateDissipation',
    formula: 'plateDissipation <= max(plateRating, 1.15 * newTube.plateDissipation)',
    reason: 'beyond its rating a plate glows and gives off gas',
    source:
      'maximum rating of the type; where the set itself runs new tubes at it, some more than those (common practice, no source)',
    needs: ['plate_W'],
  },
  lowLossLimit(
    2,
    'a fifth less contrast in large areas than in what is small is seen as shading and streaks',
  ),
  {
    measure: 'humLevel',
    formula: 'humLevel <= -40',
    reason: 'a hum bar of a hundredth of the contrast is seen',
    source: PRACTICE,
  },
];

export const videoOutput: Stage = {
  id: 'video-output',
  title: TITLE,
  does: 'Drives the picture tube of a television receiver.',
  source:
    'receiving-tube handbooks, video amplifiers; Valley and Wallman, "Vacuum Tube Amplifiers" (1948) ch. 2 (from memory)',
  families: ['pentode'],
  tubes: 1,
  values: VIDEO_OUTPUT_VALUES,
  circuit,
  steps: VIDEO_OUTPUT_STEPS,
  measures: videoOutputMeasures(circuit),
  limits: LIMITS,
  gridCircuit: ['gridResistor'],
  changeable: [
    { key: 'gridResistor', steps: 'E12', way: 'down' },
    CATHODE_BYPASS,
    ...HEATER_CHANGES,
  ],
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'signalFrequency'),
    settling_s:
      5 *
      Math.max(
        textOf(v, 'gridFeed') === DIRECT
          ? 0
          : (numberOf(v, 'gridResistor') + numberOf(v, 'sourceResistance')) *
              numberOf(v, 'couplingCapacitor'),
        numberOf(v, 'cathodeResistor') * numberOf(v, 'cathodeBypass'),
        numberOf(v, 'screenDropper') * numberOf(v, 'screenBypass'),
      ),
  }),
  doubts: (v) => {
    const bypass = numberOf(v, 'cathodeBypass');
    const reactance = 1 / (2 * Math.PI * numberOf(v, 'signalFrequency') * bypass);
    return bypass > 0 && reactance > 0.1 * numberOf(v, 'cathodeResistor')
      ? [
          'The cathode bypass is not a short in the middle of the band (a peaking capacitor): the gain shown is that of a larger one; the rise time counts it as it is.',
        ]
      : [];
  },
};
