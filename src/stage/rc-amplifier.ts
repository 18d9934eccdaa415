import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { capacitorInput, gridInputKnobs } from './grid-input.ts';
import { CATHODE_BYPASS, HEATER_CHANGES } from './heater-changes.ts';
import { heaterKnobs, heaterNode, heaterParts, humAt, humMeasures } from './heater-supply.ts';
import { BASS_LIMIT, BASS_LOSS, lowLossMeasure } from './low-loss.ts';
import { numberOf, partKnob, supplyKnob } from './values.ts';
import {
  hasCathodeResistor,
  RC_AMPLIFIER_MEASURES,
  RC_AMPLIFIER_STEPS,
  SMALL,
} from './rc-amplifier-measures.ts';
import { numberOr } from './signals.ts';
import { RC_AMPLIFIER_VALUES } from './rc-amplifier-values.ts';

/**
 * Resistance-coupled voltage amplifier: triode or pentode, cathode bias, or with `cathodeResistor` 0 and a large grid
 * resistor the contact-biased first audio stage.
 *
 * Source: the resistance-coupled amplifier section of the receiving-tube handbooks and Radiotron Designer's Handbook
 * ch. 12 (from memory).
 */

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
    ...capacitorInput(v, gridRow, '0'),
    {
      kind: 'tube',
      id: 'V1',
      nodes: {
        plate: 'p',
        grid: 'g',
        cathode,
        heater: heaterNode(v),
        ...(pentode ? { screen: 's' } : {}),
      },
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
    ...heaterParts(v),
  ];
  return {
    title: rcAmplifier.title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      ...gridInputKnobs(v),
      plateLoad: partKnob(v, 'plateLoad'),
      ...(hasCathodeResistor(v) ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
      ...(pentode ? { screenDropper: partKnob(v, 'screenDropper') } : {}),
      nextGridResistor: partKnob(v, 'nextGridResistor'),
      ...heaterKnobs(v),
    },
    spine: { g: ['h', gridRow] },
    watch: ['b', 'p', 'g', 'o', ...(hasCathodeResistor(v) ? ['k'] : []), ...(pentode ? ['s'] : [])],
  };
}

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
  steps: RC_AMPLIFIER_STEPS,
  measures: [
    ...RC_AMPLIFIER_MEASURES,
    lowLossMeasure(BASS_LOSS, SMALL, (t) => ({
      t,
      rest: SMALL,
      circuit: circuit(t.values, t.models),
      output: ['o'],
    })),
    ...humMeasures(
      SMALL,
      {
        of: (t) => humAt(t, circuit(t.values, t.models), SMALL, 'o'),
        where: 'at the grid of the next stage',
      },
      {
        of: (t, own) => numberOr(own, 'gain', 0) * numberOf(t.values, 'usualSignal'),
        what: 'the signal in ordinary use',
      },
    ),
  ],
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
    BASS_LIMIT,
    {
      measure: 'humLevel',
      formula: 'humLevel <= -40',
      reason:
        'hum forty decibels below the signal is lost in it; careful sound reproduction asks for sixty',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridResistor'],
  changeable: [
    { key: 'gridResistor', steps: 'E12', way: 'down' },
    { key: 'cathodeResistor', steps: 'E24' },
    { key: 'screenDropper', steps: 'E24' },
    CATHODE_BYPASS,
    ...HEATER_CHANGES,
  ],
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
