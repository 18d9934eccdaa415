import type {
  Circuit,
  MeasureSpec,
  Measures,
  Part,
  Stage,
  StageValues,
  Step,
  Traces,
  TubeModel,
} from '../types.ts';
import { exactKnob, numberOf, partKnob, supplyKnob } from './values.ts';
import {
  distortionPercent,
  drives,
  fundamentalVolts,
  isNumber,
  meanVolts,
  noValue,
  numberOr,
  outputWhere,
  peakVolts,
} from './signals.ts';

import { RC_AMPLIFIER_VALUES } from './rc-amplifier-values.ts';

/**
 * Resistance-coupled voltage amplifier: triode or pentode, cathode bias, or with `cathodeResistor` 0 and a large grid
 * resistor the contact-biased first audio stage.
 *
 * Source: the resistance-coupled amplifier section of the receiving-tube handbooks and Radiotron Designer's Handbook
 * ch. 12 (from memory).
 */

const SMALL = 'small';
const LARGE = 'large';
/** Small against kT/q of a hot cathode (0.09 V), large against the engine's tolerance. */
const SMALL_DRIVE_V = 0.02;
/** Peak grid current that counts as "the onset", A: where the published "grid-current point" tables were read (common practice, no source). */
const ONSET_A = 1e-6;

const hasCathodeResistor = (v: StageValues): boolean => numberOf(v, 'cathodeResistor') > 0;

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const tube = tubes[0]!;
  const pentode = tube.family === 'pentode';
  const cathode = hasCathodeResistor(v) ? 'k' : '0';
  /** Row of the control grid in the drawing. */
  const gridRow = pentode ? 22 : 20;
  const parts: Part[] = [
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
      id: 'D',
      nodes: ['before', '0'],
      value: { knob: 'couplingFrom' },
      at: [13, gridRow - 5],
      name: 'before C1',
      edits: 'couplingFrom',
    },
    { kind: 'signal', id: 'S', nodes: ['in', '0'], at: [2, gridRow], name: 'signal' },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['in', 'a'],
      value: { knob: 'sourceResistance' },
      at: [4, gridRow],
      orientation: 270,
      edits: 'sourceResistance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['a', 'g'],
      value: numberOf(v, 'couplingCapacitor'),
      at: [11, gridRow],
      orientation: 270,
      edits: 'couplingCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['before', 'g'],
      value: { knob: 'couplingLeakage' },
      at: [13, gridRow - 5],
      orientation: 270,
      edits: 'couplingLeakage',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['g', '0'],
      value: { knob: 'gridResistor' },
      at: [19, gridRow],
      edits: 'gridResistor',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: { plate: 'p', grid: 'g', cathode, heater: '0', ...(pentode ? { screen: 's' } : {}) },
      tube: 0,
      at: [33, 20],
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['b', 'p'],
      value: { knob: 'plateLoad' },
      at: [33, 3],
      edits: 'plateLoad',
    },
    ...(hasCathodeResistor(v)
      ? ([
          {
            kind: 'resistor',
            id: 'R5',
            nodes: ['k', '0'],
            value: { knob: 'cathodeResistor' },
            at: [36, 28],
            edits: 'cathodeResistor',
          },
        ] as Part[])
      : []),
    ...(hasCathodeResistor(v) && numberOf(v, 'cathodeBypass') > 0
      ? ([
          {
            kind: 'capacitor',
            id: 'C2',
            nodes: ['k', '0'],
            value: numberOf(v, 'cathodeBypass'),
            at: [43, 28],
            edits: 'cathodeBypass',
          },
        ] as Part[])
      : []),
    ...(pentode
      ? ([
          {
            kind: 'resistor',
            id: 'R6',
            nodes: ['b', 's'],
            value: { knob: 'screenDropper' },
            at: [48, 14],
            edits: 'screenDropper',
          },
        ] as Part[])
      : []),
    ...(pentode && numberOf(v, 'screenBypass') > 0
      ? ([
          {
            kind: 'capacitor',
            id: 'C3',
            nodes: ['s', '0'],
            value: numberOf(v, 'screenBypass'),
            at: [48, 20],
            edits: 'screenBypass',
          },
        ] as Part[])
      : []),
    {
      kind: 'capacitor',
      id: 'C4',
      nodes: ['p', 'o'],
      value: numberOf(v, 'outputCapacitor'),
      at: [42, 9],
      orientation: 270,
      edits: 'outputCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R7',
      nodes: ['o', '0'],
      value: { knob: 'nextGridResistor' },
      at: [53, 9],
      edits: 'nextGridResistor',
    },
  ];
  return {
    title: rcAmplifier.title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      couplingFrom: supplyKnob(v, 'couplingFrom'),
      sourceResistance: {
        ...partKnob(v, 'sourceResistance'),
        nominal: Math.max(1, numberOf(v, 'sourceResistance')),
        toValue: (z) => Math.max(1, partKnob(v, 'sourceResistance').toValue(z)),
      },
      couplingLeakage: exactKnob(numberOf(v, 'couplingLeakage'), 'couplingLeakage'),
      gridResistor: partKnob(v, 'gridResistor'),
      plateLoad: partKnob(v, 'plateLoad'),
      ...(hasCathodeResistor(v) ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
      ...(pentode ? { screenDropper: partKnob(v, 'screenDropper') } : {}),
      nextGridResistor: partKnob(v, 'nextGridResistor'),
    },
    spine: { g: ['h', gridRow] },
    watch: ['b', 'p', 'g', 'o', ...(hasCathodeResistor(v) ? ['k'] : []), ...(pentode ? ['s'] : [])],
  };
}

const cathodeVolts = (t: Traces, step: string, i: number): number =>
  hasCathodeResistor(t.values) ? meanVolts(t, step, i, 'k') : 0;

/** Largest drive worth trying: the grid well into current, or the plate past both ends of its swing. */
function largestDrive(v: StageValues, own: Measures): number {
  const supply = numberOf(v, 'supply');
  const gain = Math.max(0.1, numberOr(own, 'gain', 1));
  const bias = Math.abs(numberOr(own, 'gridBias', 1));
  return Math.min(2.5 * bias + 2, (1.2 * supply) / gain + 0.5);
}

const steps: readonly Step[] = [
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: () => [{ drive: SMALL_DRIVE_V }],
  },
  {
    id: LARGE,
    view: () => ({ as: 'phases', count: 8, substeps: 2 }),
    settings: (v, own, central) => {
      const largest = largestDrive(v, own);
      if (central === undefined) return drives(0.015 * largest, largest, 12);
      // near the central answers only: their outputs over the gain are the drives that matter
      const gain = Math.max(0.1, numberOr(own, 'gain', 1));
      const targets = LARGE_MEASURES.map((id) => central[id])
        .filter(isNumber)
        .map((output) => output / gain);
      if (targets.length === 0) return drives(0.05 * largest, largest, 6);
      return drives(
        Math.max(0.01 * largest, 0.45 * Math.min(...targets)),
        Math.min(1.5 * largest, 1.9 * Math.max(...targets)),
        6,
      );
    },
  },
];

const LARGE_MEASURES = ['outputAt5PercentDistortion', 'outputAtBiasMove', 'outputAtGridCurrent'];

const output =
  (t: Traces) =>
  (i: number): number =>
    fundamentalVolts(t, LARGE, i, 'o');

/** Electron current into the grid at the positive peak of the drive, without gas or leakage. */
function peakGridCurrent(t: Traces, i: number): number {
  const model = t.models[0]!;
  const at = (node: string): number => peakVolts(t, LARGE, i, node);
  const cathode = hasCathodeResistor(t.values) ? at('k') : 0;
  const currents = model.currents(
    {
      plate: at('p'),
      grid: at('g'),
      cathode,
      ...(model.family === 'pentode' ? { screen: at('s') } : {}),
    },
    { ...t.states[0]!, gasRatio: 0, gridEmission_A: 0 },
  );
  return currents.grid ?? 0;
}

const measures: readonly MeasureSpec[] = [
  {
    id: 'gain',
    title: 'Gain',
    unit: '×',
    step: SMALL,
    what: 'Output over source signal, small signal, all capacitors as shorts for it.',
    of: (t) => fundamentalVolts(t, SMALL, 0, 'o') / t.settings(SMALL)[0]!.drive,
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateVoltage',
    title: 'Plate voltage',
    unit: 'V',
    step: SMALL,
    what: 'Plate to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'p'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Plate current',
    unit: 'A',
    step: SMALL,
    what: 'Through the plate load, no signal.',
    of: (t) => (meanVolts(t, SMALL, 0, 'b') - meanVolts(t, SMALL, 0, 'p')) / t.knob('plateLoad'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gridVoltage',
    title: 'Grid voltage',
    unit: 'V',
    step: SMALL,
    what: 'Grid to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'g'),
    readings: ['leakage'],
  },
  {
    id: 'gridBias',
    title: 'Grid bias',
    unit: 'V',
    step: SMALL,
    what: 'Grid to cathode, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'g') - cathodeVolts(t, SMALL, 0),
    readings: ['leakage', 'emission'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: SMALL,
    what: 'How far the grid (to chassis) stands from where a new tube puts it.',
    of: (t, own, newTube) => {
      const reference = newTube?.['gridVoltage'];
      const mine = own['gridVoltage'];
      if (newTube === undefined) return 0;
      return isNumber(mine) && isNumber(reference)
        ? Math.abs(mine - reference)
        : noValue('the new tube has no grid voltage to compare with');
    },
    readings: ['leakage'],
  },
  {
    id: 'outputAt5PercentDistortion',
    title: 'Output at 5 % distortion',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at which the harmonics reach 5 % of the fundamental.',
    of: (t) =>
      outputWhere(
        t,
        LARGE,
        output(t),
        (i) => distortionPercent(t, LARGE, i, 'o'),
        5,
        '5 % distortion',
      ),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputAtBiasMove',
    title: 'Output when the bias moves',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at which mean grid current has moved the bias by 10 %.',
    of: (t, own) => {
      const bias = Math.abs(numberOr(own, 'gridBias', 0));
      const rest = numberOr(own, 'gridVoltage', 0);
      return outputWhere(
        t,
        LARGE,
        output(t),
        (i) => rest - meanVolts(t, LARGE, i, 'g'),
        0.1 * bias,
        'a bias move of 10 %',
      );
    },
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputAtGridCurrent',
    title: 'Output at grid current',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at the onset of grid current (1 µA at the positive peaks), as handbook tables have it.',
    of: (t) =>
      outputWhere(t, LARGE, output(t), (i) => peakGridCurrent(t, i), ONSET_A, 'grid current'),
    readings: ['leakage'],
  },
];

const PRACTICE = 'common practice, no source';

export const rcAmplifier: Stage = {
  id: 'rc-amplifier',
  title: 'Resistance-coupled amplifier',
  does: 'Amplifies an audio voltage: first stages, drivers, phonograph inputs.',
  source:
    "receiving-tube handbooks, resistance-coupled amplifiers; Radiotron Designer's Handbook ch. 12 (from memory)",
  families: ['triode', 'pentode'],
  tubes: 1,
  values: RC_AMPLIFIER_VALUES,
  circuit,
  steps,
  measures,
  limits: [
    {
      measure: 'gain',
      formula: 'gain >= 0.7 * newTube.gain',
      reason: 'three decibels less gain is where a listener turns the control up',
      source: PRACTICE,
    },
    {
      measure: 'plateVoltage',
      formula: 'plateVoltage >= 0.75 * newTube.plateVoltage',
      reason:
        'a plate pulled further down clips early and points to a grid that is not where it should be',
      source: PRACTICE,
    },
    {
      measure: 'biasShift',
      formula: 'biasShift <= max(0.3, 0.1 * abs(newTube.gridBias))',
      reason:
        'reverse grid current may move the bias by a tenth, or by 0.3 V where the bias is small',
      source: PRACTICE,
    },
    {
      measure: 'outputAt5PercentDistortion',
      formula: 'outputAt5PercentDistortion >= 0.6 * newTube.outputAt5PercentDistortion',
      reason: 'the stage must still drive what follows without audible distortion',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridResistor'],
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'signalFrequency'),
    settling_s:
      5 *
      Math.max(
        (numberOf(v, 'gridResistor') + numberOf(v, 'sourceResistance')) *
          numberOf(v, 'couplingCapacitor'),
        numberOf(v, 'cathodeResistor') * numberOf(v, 'cathodeBypass'),
        numberOf(v, 'nextGridResistor') * numberOf(v, 'outputCapacitor'),
        numberOf(v, 'screenDropper') * numberOf(v, 'screenBypass'),
      ),
  }),
  doubts: (v) => {
    const reactance = (farads: number): number =>
      1 / (2 * Math.PI * numberOf(v, 'signalFrequency') * farads);
    const bypass = numberOf(v, 'cathodeBypass');
    const cathode = numberOf(v, 'cathodeResistor');
    return bypass > 0 && cathode > 0 && reactance(bypass) > 0.1 * cathode
      ? [
          'The cathode bypass is not a short at this signal frequency: the gain shown is that of a larger one. Ask for --transient.',
        ]
      : [];
  },
};
