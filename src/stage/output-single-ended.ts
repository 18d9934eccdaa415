import type { LimitSpec, Stage, StageValues } from '../types.ts';
import { biasDoubts, biasSettling_s, COMMON_BIAS, isSoft } from './bias-line.ts';
import {
  BIAS_NODE,
  hasCathodeResistor,
  outputSingleEndedCircuit,
} from './output-single-ended-circuit.ts';
import { CATHODE_BYPASS, HEATER_CHANGES } from './heater-changes.ts';
import { humAt, humMeasures } from './heater-supply.ts';
import { BASS_LIMIT, BASS_LOSS, lowLossMeasure } from './low-loss.ts';
import {
  DRIVEN,
  OUTPUT_SINGLE_ENDED_MEASURES,
  OUTPUT_SINGLE_ENDED_STEPS,
  REST,
} from './output-single-ended-measures.ts';
import { OUTPUT_SINGLE_ENDED_VALUES } from './output-single-ended-values.ts';
import { POWER_LIMIT } from './power-limit.ts';
import { numberOr } from './signals.ts';
import { numberOf } from './values.ts';

/**
 * Single-ended output stage: a power pentode, beam tube or triode with an output transformer, cathode or fixed bias.
 *
 * Source: class A amplifiers in the receiving-tube handbooks; Radiotron Designer's Handbook ch. 13 (from memory).
 */

const PRACTICE = 'common practice, no source';
const RATING =
  'maximum ratings of the type; design-centre ratings leave room for the line, so a tenth more than a new tube in the same set is let pass (common practice, no source)';

const LIMITS: readonly LimitSpec[] = [
  {
    measure: 'plateCurrent',
    formula: 'plateCurrent >= 0.7 * newTube.plateCurrent',
    reason: 'three tenths less than a new tube draws is the edge of its class',
    source: PRACTICE,
  },
  {
    measure: 'plateCurrent',
    formula: 'plateCurrent <= 1.3 * newTube.plateCurrent',
    reason: 'more than that points to a grid that is not where it should be',
    source: PRACTICE,
  },
  {
    measure: 'plateDissipation',
    formula: 'plateDissipation <= max(plateRating, 1.1 * newTube.plateDissipation)',
    reason: 'beyond its rating a plate glows and gives off gas',
    source: RATING,
    needs: ['plate_W'],
  },
  {
    measure: 'screenDissipation',
    formula: 'screenDissipation <= max(screenRating, 1.1 * newTube.screenDissipation)',
    reason: 'beyond its rating the screen sags or melts',
    source: RATING,
    needs: ['screen_W'],
  },
  {
    measure: 'drivenScreenDissipation',
    formula: 'drivenScreenDissipation <= max(screenRating, 1.4 * newTube.drivenScreenDissipation)',
    reason:
      'at full drive the screen takes most, music is not a steady tone, and a new tube may draw a third more than its type',
    source: PRACTICE,
    needs: ['screen_W'],
  },
  {
    measure: 'biasShift',
    formula: 'biasShift <= 0.1 * abs(newTube.gridBias)',
    reason: 'reverse grid current may move the bias by a tenth',
    source: PRACTICE,
  },
  POWER_LIMIT,
  {
    measure: 'distortion',
    formula: 'distortion <= newTube.distortion + 5',
    reason: 'five points more distortion at the same drive are heard',
    source: PRACTICE,
  },
  {
    measure: 'runawayMargin',
    formula: 'runawayMargin >= 3',
    reason:
      'reverse grid current grows as the tube and the cabinet warm, and from tube to tube of one reading',
    source: PRACTICE,
  },
  {
    measure: 'thermalLoopGain',
    formula: 'thermalLoopGain <= 0.33',
    reason: 'a third of what runs away by itself is comfortable',
    source: 'common practice, from memory',
    needs: ['plate_W'],
  },
  BASS_LIMIT,
  {
    measure: 'humLevel',
    formula: 'humLevel <= -50',
    reason: 'hum fifty decibels below full output is at the edge of hearing in a quiet room',
    source: PRACTICE,
  },
];

const HUM = humMeasures(
  DRIVEN,
  {
    of: (t) => {
      const load = t.knob('loadResistance');
      return (
        (humAt(t, outputSingleEndedCircuit('', t.values, t.models), REST, 'p') * load) /
        (load + t.knob('primaryResistance'))
      );
    },
    where: 'across the load, referred to the primary',
  },
  {
    of: (t, own) => Math.sqrt(numberOr(own, 'powerOutput', 0) * t.knob('loadResistance')),
    what: 'the output at the stated drive',
  },
);

const LOW = lowLossMeasure(BASS_LOSS, REST, (t) => ({
  t,
  rest: REST,
  circuit: outputSingleEndedCircuit('', t.values, t.models),
  output: ['p', 'core'],
}));

const reactance = (v: StageValues, farads: number): number =>
  1 / (2 * Math.PI * numberOf(v, 'signalFrequency') * farads);

function doubts(v: StageValues): string[] {
  const bypass = numberOf(v, 'cathodeBypass');
  const choke = 2 * Math.PI * numberOf(v, 'signalFrequency') * numberOf(v, 'primaryInductance');
  return [
    ...(hasCathodeResistor(v) &&
    bypass > 0 &&
    reactance(v, bypass) > 0.1 * numberOf(v, 'cathodeResistor')
      ? [
          'The cathode bypass is not a short at this signal frequency: the power shown is that of a larger one. Ask for --transient.',
        ]
      : []),
    ...(choke < 5 * numberOf(v, 'loadResistance')
      ? [
          'The primary inductance shunts the load at this signal frequency: the power shown is that of a larger one. Ask for --transient.',
        ]
      : []),
    ...biasDoubts(v),
  ];
}

export const outputSingleEnded: Stage = {
  id: 'output-single-ended',
  title: 'Single-ended output stage',
  does: 'Drives a loudspeaker through an output transformer, one tube in class A.',
  source:
    "receiving-tube handbooks, class A power amplifiers; Radiotron Designer's Handbook ch. 13 (from memory)",
  families: ['pentode', 'triode'],
  tubes: 1,
  values: OUTPUT_SINGLE_ENDED_VALUES,
  circuit: (v, tubes) => outputSingleEndedCircuit(outputSingleEnded.title, v, tubes),
  steps: OUTPUT_SINGLE_ENDED_STEPS,
  measures: [...OUTPUT_SINGLE_ENDED_MEASURES, LOW, ...HUM],
  limits: LIMITS,
  gridCircuit: ['gridResistor', 'biasSupplyResistance'],
  biasLine: {
    ...COMMON_BIAS,
    node: (v) => (isSoft(v) ? BIAS_NODE : undefined),
    step: REST,
    excludes: { ownBias: ['cathodeResistor'], eachTube: [] },
  },
  changeable: [
    { key: 'gridResistor', steps: 'E12', way: 'down' },
    { key: 'biasSupplyResistance', steps: 'E12', way: 'down' },
    { key: 'cathodeResistor', steps: 'E24' },
    { key: 'fixedBias', steps: 'volts' },
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
        hasCathodeResistor(v) ? numberOf(v, 'cathodeResistor') * numberOf(v, 'cathodeBypass') : 0,
        numberOf(v, 'screenDropper') * numberOf(v, 'screenBypass'),
        biasSettling_s(v),
        numberOf(v, 'primaryInductance') / numberOf(v, 'loadResistance'),
      ),
  }),
  doubts,
};
