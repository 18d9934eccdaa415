import type { Stage } from '../types.ts';
import { circuit, TITLE } from './frequency-converter-circuit.ts';
import {
  FREQUENCY_CONVERTER_MEASURES,
  FREQUENCY_CONVERTER_STEPS,
} from './frequency-converter-measures.ts';
import { LINE, lineCurve } from './frequency-converter-line.ts';
import { FREQUENCY_CONVERTER_VALUES } from './frequency-converter-values.ts';
import { oscillatorDoubts, RAMP, RUNNING } from './oscillation.ts';
import { numberOf, numbersOf } from './values.ts';

/**
 * Pentagrid converter: cathode, first grid and screens are an oscillator, whose swing turns the plate's share of the current
 * on and off; the signal grid on the AGC line takes its part of that. Tuned circuits of signal and intermediate frequency are
 * shorts to the oscillator.
 *
 * Source: Radiotron Designer's Handbook ch. 25; Terman, "Radio Engineers' Handbook" (1943), sec. 8; receiving-tube handbooks
 * (all from memory): 20 to 22 kohm and 50 pF, 0.5 mA.
 */

const PRACTICE = 'common practice, no source';

export const frequencyConverter: Stage = {
  id: 'frequency-converter',
  title: TITLE,
  does: 'Makes the intermediate frequency out of the signal and an oscillation of its own, in one tube.',
  source:
    "Radiotron Designer's Handbook ch. 25; Terman, Radio Engineers' Handbook (1943), sec. 8; receiving-tube handbooks (from memory)",
  families: ['pentagrid'],
  tubes: 1,
  values: FREQUENCY_CONVERTER_VALUES,
  circuit,
  steps: FREQUENCY_CONVERTER_STEPS,
  shown: { step: RUNNING, setting: RAMP },
  measures: FREQUENCY_CONVERTER_MEASURES,
  limits: [
    {
      measure: 'startMargin',
      formula: 'startMargin >= 1.2',
      reason:
        'it must start when the line sags at the low end of the band, with something left for a damp coil',
      source: PRACTICE,
    },
    {
      measure: 'oscillatorGridVoltage',
      formula: 'oscillatorGridVoltage <= 0.6 * newTube.oscillatorGridVoltage',
      reason: 'with less than 50 to 60 % of its normal bias the oscillator is near stopping',
      source: PRACTICE,
    },
    {
      measure: 'oscillatorGridVoltageLow',
      formula: 'oscillatorGridVoltageLow <= 0.5 * newTube.oscillatorGridVoltageLow',
      reason:
        'half the bias of a new tube in the same place: dead spots at the low end when the line sags',
      source: PRACTICE,
    },
    {
      measure: 'conversionTransconductance',
      formula: 'conversionTransconductance >= 0.65 * newTube.conversionTransconductance',
      reason: 'converters are called worn out at 60 to 65 % of their conversion transconductance',
      source: PRACTICE,
    },
    {
      measure: 'biasShift',
      formula: 'biasShift <= 0.5',
      reason: 'half a volt on the line is where every controlled stage leaves its place',
      source: PRACTICE,
    },
    {
      measure: 'agcDelivered',
      formula: 'agcDelivered >= 80',
      reason: 'strong stations must still be held',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['agcLineResistance'],
  agcLine: {
    step: LINE,
    curve: lineCurve,
    values: ['agcVoltages', 'agcLineResistance', 'lineCapacitorLeakage'],
  },
  neverAtRest: true,
  noTransient: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'oscillatorFrequency'),
    settling_s: 5 * numberOf(v, 'agcLineResistance') * numberOf(v, 'lineCapacitor'),
  }),
  doubts: (v) => [
    ...oscillatorDoubts(v),
    ...(numbersOf(v, 'agcVoltages').some((volts, i, all) => i > 0 && volts >= all[i - 1]!)
      ? [
          'The AGC voltages do not go from weak to strong: the measures take the first as no signal and the last as the strongest.',
        ]
      : []),
  ],
};
