import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { isFullWave, RECTIFIER_MEASURES, RECTIFIER_STEPS } from './rectifier-measures.ts';
import { RECTIFIER_VALUES } from './rectifier-values.ts';
import { lineFactor, LINE, numberOf, partKnob } from './values.ts';

/**
 * Vacuum rectifier with capacitor or choke input, one plate or two like ones.
 *
 * The whole line cycle is solved at once, settled: between moments capacitors and chokes charge by what flows. So the
 * ripple, which in small sets is a fifth of the voltage, is in the answer, and peaks are what the plate has to give. A
 * transformer is its open voltage behind a resistance; its leakage inductance is left out.
 *
 * Source: O. Schade, "Analysis of Rectifier Operation", Proc. IRE 31 (1943); receiving-tube handbooks, rectifier operation
 * characteristics (both from memory).
 */

function rectifierParts(v: StageValues): Part[] {
  const full = isFullWave(v);
  const choke = numberOf(v, 'filterChoke') > 0;
  const plate = (n: 1 | 2, row: number): Part[] => [
    {
      kind: 'signal',
      id: `S${n}`,
      nodes: [`a${n}`, '0'],
      amplitude: { knob: 'windingPeak' },
      ...(n === 2 ? { factor: -1 } : {}),
      at: [3, row],
      ...(n === 1 ? { edits: 'windingVoltage' } : {}),
    },
    {
      kind: 'resistor',
      id: `R${n}`,
      nodes: [`a${n}`, `p${n}`],
      value: { knob: 'sourceResistance' },
      at: [10, row],
      orientation: 270,
      ...(n === 1 ? { edits: 'sourceResistance' } : {}),
    },
    {
      kind: 'tube',
      id: `V${n}`,
      nodes: { plate: `p${n}`, cathode: 'k', heater: '0' },
      tube: 0,
      at: [26, row + 9],
    },
  ];
  const parts: (Part | false)[] = [
    ...plate(1, 11),
    ...(full ? plate(2, 35) : []),
    numberOf(v, 'reservoir') > 0 && {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['k', '0'],
      value: numberOf(v, 'reservoir'),
      at: [34, 29],
      edits: 'reservoir',
    },
    choke && {
      kind: 'inductor',
      id: 'L1',
      nodes: ['k', 'f'],
      value: numberOf(v, 'filterChoke'),
      at: [36, 29],
      orientation: 270,
      edits: 'filterChoke',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: [choke ? 'f' : 'k', 'o'],
      value: { knob: 'filterResistance' },
      at: [42, 29],
      orientation: 270,
      edits: 'filterResistance',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['o', '0'],
      value: numberOf(v, 'filterCapacitor'),
      at: [49, 29],
      edits: 'filterCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['o', '0'],
      value: { knob: 'loadResistance' },
      at: [55, 29],
      edits: 'loadResistance',
    },
  ];
  return parts.filter((part): part is Part => part !== false);
}

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const peak = Math.SQRT2 * numberOf(v, 'windingVoltage');
  return {
    title: rectifier.title,
    parts: rectifierParts(v),
    tubes,
    knobs: {
      windingPeak: { nominal: peak, unknown: LINE, toValue: (z) => peak * lineFactor(v, z) },
      sourceResistance: partKnob(v, 'sourceResistance'),
      filterResistance: partKnob(v, 'filterResistance'),
      loadResistance: partKnob(v, 'loadResistance'),
    },
    spine: { k: ['v', 32], o: ['h', 29] },
    watch: ['a1', 'p1', 'k', 'o'],
  };
}

const PRACTICE = 'common practice, no source';

/** Least inductance of a choke input that keeps the current from stopping: R/(6 pi f), R/1130 at 60 Hz (Terman, from memory). */
const criticalChoke_H = (v: StageValues): number =>
  (numberOf(v, 'loadResistance') + numberOf(v, 'filterResistance')) /
  (6 * Math.PI * numberOf(v, 'lineFrequency'));

export const rectifier: Stage = {
  id: 'rectifier',
  title: 'Rectifier',
  does: 'Makes the set’s B+ from the alternating voltage of a winding or of the line.',
  source:
    'Schade, Analysis of Rectifier Operation, Proc. IRE 31 (1943); receiving-tube handbooks, rectifiers (from memory)',
  families: ['diode'],
  tubes: 1,
  values: RECTIFIER_VALUES,
  circuit,
  steps: RECTIFIER_STEPS,
  measures: RECTIFIER_MEASURES,
  limits: [
    {
      measure: 'supplyVoltage',
      formula: 'supplyVoltage >= 0.9 * newTube.supplyVoltage',
      reason:
        'a tenth less B+ is what the set has at the low end of the line voltage: more on top starves it',
      source: PRACTICE,
    },
    {
      measure: 'ripple',
      formula: 'ripple <= 1.5 * newTube.ripple',
      reason: 'half as much hum again is heard',
      source: PRACTICE,
    },
    {
      measure: 'peakPlateCurrent',
      formula: 'peakPlateCurrent <= max(peakPlateCurrentRating, 1.2 * newTube.peakPlateCurrent)',
      reason: 'peaks beyond the rating strip the cathode',
      source:
        'maximum ratings of the type; a fifth more than a new tube in the same set is let pass (common practice, no source)',
      needs: ['platePeak_A'],
    },
    {
      measure: 'inverseVoltage',
      formula: 'inverseVoltage <= max(inverseVoltageRating, 1.1 * newTube.inverseVoltage)',
      reason:
        'beyond its rated inverse voltage a tube may arc over, and takes the transformer with it',
      source:
        'maximum ratings of the type; where the set itself is beyond it that is the set’s doing (common practice, no source)',
      needs: ['inverse_V'],
    },
  ],
  gridCircuit: [],
  neverAtRest: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'lineFrequency'),
    settling_s:
      5 *
      Math.max(
        numberOf(v, 'loadResistance') * (numberOf(v, 'reservoir') + numberOf(v, 'filterCapacitor')),
        numberOf(v, 'filterChoke') / numberOf(v, 'filterResistance') / 5,
      ),
  }),
  doubts: (v) =>
    numberOf(v, 'reservoir') === 0 && numberOf(v, 'filterChoke') < criticalChoke_H(v)
      ? [
          'With so little inductance before the first capacitor the current stops between peaks: the voltage rises above that of a choke input.',
        ]
      : [],
};
