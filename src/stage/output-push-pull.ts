import type { LimitSpec, Stage, StageValues } from '../types.ts';
import { CATHODE_BYPASS, HEATER_CHANGES } from './heater-changes.ts';
import { biasDoubts, biasSettling_s, COMMON_BIAS } from './bias-line.ts';
import {
  BIAS_NODE,
  hasCathodeResistor,
  hasCommonSupply,
  outputPushPullCircuit,
  ofPlace,
  PLACES,
} from './output-push-pull-circuit.ts';
import { BASS_LIMIT } from './low-loss.ts';
import { OUTPUT_PUSH_PULL_MEASURES } from './output-push-pull-measures.ts';
import { OUTPUT_PUSH_PULL_STEPS, REST } from './output-push-pull-steps.ts';
import { OUTPUT_PUSH_PULL_VALUES } from './output-push-pull-values.ts';
import { POWER_LIMIT } from './power-limit.ts';
import { numberOf } from './values.ts';

/**
 * Push-pull output stage: two power pentodes, beam tubes or triodes on a centre-tapped output transformer, class A to AB;
 * screens on a supply, on taps, or on the plates; cathode, fixed or adjusted bias.
 *
 * Source: push-pull amplifiers in the receiving-tube handbooks; Radiotron Designer's Handbook ch. 13 (from memory).
 */

const PRACTICE = 'common practice, no source';
const RATING =
  'maximum ratings of the type; design-centre ratings leave room for the line, so a tenth more than a new tube in the same set is let pass (common practice, no source)';

/** The limits of each tube: those of a single-ended stage. */
function limitsOf(place: 0 | 1): LimitSpec[] {
  const $ = (name: string): string => ofPlace(name, place);
  return [
    {
      measure: $('plateCurrent'),
      formula: `${$('plateCurrent')} >= 0.7 * newTube.${$('plateCurrent')}`,
      reason: 'three tenths less than a new tube draws is the edge of its class',
      source: PRACTICE,
    },
    {
      measure: $('plateCurrent'),
      formula: `${$('plateCurrent')} <= 1.3 * newTube.${$('plateCurrent')}`,
      reason: 'more than that points to a grid that is not where it should be',
      source: PRACTICE,
    },
    {
      measure: $('plateDissipation'),
      formula: `${$('plateDissipation')} <= max(${$('plateRating')}, 1.1 * newTube.${$('plateDissipation')})`,
      reason: 'beyond its rating a plate glows and gives off gas',
      source: RATING,
      needs: ['plate_W'],
    },
    {
      measure: $('screenDissipation'),
      formula: `${$('screenDissipation')} <= max(${$('screenRating')}, 1.1 * newTube.${$('screenDissipation')})`,
      reason: 'beyond its rating the screen sags or melts',
      source: RATING,
      needs: ['screen_W'],
    },
    {
      measure: $('drivenPlateDissipation'),
      formula: `${$('drivenPlateDissipation')} <= max(${$('plateRating')}, 1.2 * newTube.${$('drivenPlateDissipation')})`,
      reason: 'in class AB the plate takes most when driven; music is not a steady tone',
      source: PRACTICE,
      needs: ['plate_W'],
    },
    {
      measure: $('drivenScreenDissipation'),
      formula: `${$('drivenScreenDissipation')} <= max(${$('screenRating')}, 1.4 * newTube.${$('drivenScreenDissipation')})`,
      reason:
        'at full drive the screen takes most, music is not a steady tone, and a new tube may draw a third more than its type',
      source: PRACTICE,
      needs: ['screen_W'],
    },
    {
      measure: $('biasShift'),
      formula: `${$('biasShift')} <= 0.1 * abs(newTube.${$('gridBias')})`,
      reason: 'reverse grid current may move the bias by a tenth',
      source: PRACTICE,
    },
    {
      measure: $('runawayMargin'),
      formula: `${$('runawayMargin')} >= 3`,
      reason:
        'reverse grid current grows as the tube and the cabinet warm, and from tube to tube of one reading',
      source: PRACTICE,
    },
    {
      measure: $('thermalLoopGain'),
      formula: `${$('thermalLoopGain')} <= 0.33`,
      reason: 'a third of what runs away by itself is comfortable',
      source: 'common practice, from memory',
      needs: ['plate_W'],
    },
  ];
}

const LIMITS: readonly LimitSpec[] = [
  {
    measure: 'balance',
    formula: 'balance <= 20',
    reason:
      'more direct current in a core without a gap costs bass; unmatched new tubes differ by half of that',
    source: PRACTICE,
  },
  POWER_LIMIT,
  {
    measure: 'distortion',
    formula: 'distortion <= newTube.distortion + 7.5',
    reason:
      'new tubes that are no matched pair add two or three points by themselves, and five more are heard',
    source: PRACTICE,
  },
  BASS_LIMIT,
  {
    measure: 'humLevel',
    formula: 'humLevel <= -50',
    reason: 'hum fifty decibels below full output is at the edge of hearing in a quiet room',
    source: PRACTICE,
  },
  ...PLACES.flatMap(limitsOf),
];

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
    ...(choke < 5 * numberOf(v, 'loadPlateToPlate')
      ? [
          'The primary inductance shunts the load at this signal frequency: the power shown is that of a larger one. Ask for --transient.',
        ]
      : []),
    ...(v['idleCurrent']!.value !== null && v['fixedBias']!.value === null
      ? ['A current to set the bias to means nothing without fixed bias: it is not used.']
      : []),
    ...biasDoubts(v),
  ];
}

export const outputPushPull: Stage = {
  id: 'output-push-pull',
  title: 'Push-pull output stage',
  does: 'Drives a loudspeaker through a centre-tapped output transformer, two tubes in opposite phase.',
  source:
    "receiving-tube handbooks, push-pull power amplifiers; Radiotron Designer's Handbook ch. 13 (from memory)",
  families: ['pentode', 'triode'],
  tubes: 2,
  values: OUTPUT_PUSH_PULL_VALUES,
  circuit: (v, tubes) => outputPushPullCircuit(outputPushPull.title, v, tubes),
  steps: OUTPUT_PUSH_PULL_STEPS,
  measures: OUTPUT_PUSH_PULL_MEASURES,
  limits: LIMITS,
  shown: { step: REST, setting: 0 },
  gridCircuit: ['gridResistor', 'biasSupplyResistance'],
  biasLine: {
    ...COMMON_BIAS,
    node: (v) => (hasCommonSupply(v) ? BIAS_NODE : undefined),
    step: REST,
    excludes: { ownBias: ['cathodeResistor'], eachTube: ['idleCurrent'] },
  },
  changeable: [
    { key: 'gridResistor', steps: 'E12', way: 'down' },
    { key: 'biasSupplyResistance', steps: 'E12', way: 'down' },
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
        numberOf(v, 'primaryInductance') / numberOf(v, 'loadPlateToPlate'),
        biasSettling_s(v),
      ),
  }),
  doubts,
};
