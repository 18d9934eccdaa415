import type { Stage, Step } from '../types.ts';
import { circuit, TITLE } from './agc-if-amplifier-circuit.ts';
import { LINE, lineCurve, lineSettings, loopOf, sourceBeside } from './agc-if-amplifier-loop.ts';
import { AGC_IF_AMPLIFIER_MEASURES, LARGE, SMALL } from './agc-if-amplifier-measures.ts';
import { AGC_IF_AMPLIFIER_VALUES } from './agc-if-amplifier-values.ts';
import { CARRIER_LIMITS } from './carrier-loss.ts';
import { LOW_NOTES } from './faults.ts';
import { drives, isNumber } from './signals.ts';
import { numberOf, numbersOf } from './values.ts';

/**
 * IF amplifier on an AGC line. Signal enters through the tuned grid circuit and leaves across the tuned plate circuit: both
 * carry only the fundamental. Told twice: at given AGC voltages, the line's source held; and at given signal levels, with
 * the loop through the detector closed.
 *
 * Source: Radiotron Designer's Handbook ch. 26-27 and receiving-tube handbooks (from memory); line values 1 to 3.3 Mohm
 * with 0.05 to 0.1 uF from receiver practice (from memory).
 */

const SMALL_DRIVE_V = 0.005;

const steps: readonly Step[] = [
  { id: LINE, view: () => ({ as: 'quiescent' }), settings: lineSettings },
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: (v, _own, _central, traces) =>
      numbersOf(v, 'agcVoltages').map((agcVoltage) => ({
        drive: SMALL_DRIVE_V,
        knobs: { agcVoltage: sourceBeside(traces, agcVoltage) },
      })),
  },
  {
    id: LARGE,
    // the tank leaves only the fundamental: four phases carry it exactly up to the sixth harmonic of the current
    view: () => ({ as: 'phases', count: 4, substeps: 4 }),
    settings: (v, _own, central, traces) => {
      const held = loopOf(traces).levels.at(-1);
      const line_V = held?.line_V ?? 0;
      const agcVoltage = held?.source_V ?? numbersOf(v, 'agcVoltages').at(-1)!;
      const around = central?.['overload'];
      const centralLine = central?.['lineStrong'];
      if (isNumber(around) && isNumber(centralLine)) {
        // a line that is held further down takes about that much more
        const here = (around * (1 + Math.abs(line_V))) / (1 + Math.abs(centralLine));
        return drives(0.5 * here, 1.7 * here, 3, { agcVoltage });
      }
      // a draw of a tube without a central answer has a coarse look
      if (central !== undefined) return drives(0.1, 1.5 * Math.abs(line_V) + 4, 5, { agcVoltage });
      // beyond this the grid is deep in current and nothing is left of the envelope
      return drives(0.1, 1.5 * Math.abs(line_V) + 4, 12, { agcVoltage });
    },
  },
];

const PRACTICE = 'common practice, no source';

export const agcIfAmplifier: Stage = {
  id: 'agc-if-amplifier',
  title: TITLE,
  does: 'Amplifies the intermediate frequency under automatic gain control.',
  source: "Radiotron Designer's Handbook ch. 26-27; receiving-tube handbooks (from memory)",
  families: ['pentode'],
  tubes: 1,
  values: AGC_IF_AMPLIFIER_VALUES,
  circuit,
  steps,
  shown: { step: SMALL, setting: 0 },
  measures: AGC_IF_AMPLIFIER_MEASURES,
  limits: [
    {
      measure: 'gain',
      formula: 'gain >= 0.65 * newTube.gain',
      reason: 'receiving tubes are called worn out at 65 to 70 % of their transconductance',
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
    {
      measure: 'controlRange',
      formula: 'controlRange >= 0.75 * newTube.controlRange',
      reason: 'a quarter less range lets strong stations overload the next stage',
      source: PRACTICE,
    },
    {
      measure: 'audioChange',
      formula: 'audioChange <= 3',
      reason: 'with AGC, 3 dB in one stage pass unnoticed',
      source: PRACTICE,
    },
    {
      measure: 'weakSignalLoss',
      formula: 'weakSignalLoss <= 6',
      reason: '6 dB are heard on weak stations, where the AGC has nothing to give',
      source: PRACTICE,
    },
    {
      measure: 'overloadMargin',
      formula: 'overloadMargin >= min(2, 0.7 * newTube.overloadMargin)',
      reason:
        'the peaks of full modulation are twice the carrier; where a new tube has less than that to spare, at least most of what it has',
      source: PRACTICE,
    },
    {
      measure: 'overload',
      formula: 'overload >= 0.5 * newTube.overload',
      reason: 'half the carrier that a new tube takes before it bends the envelope',
      source: PRACTICE,
    },
    {
      measure: LOW_NOTES,
      formula: `${LOW_NOTES} <= newTube.${LOW_NOTES} + 3`,
      reason: 'three decibels less at the lowest note are heard as a thin bass',
      source: PRACTICE,
    },
    ...CARRIER_LIMITS,
  ],
  gridCircuit: ['agcLineResistance'],
  changeable: [
    { key: 'agcLineResistance', steps: 'E12', way: 'down' },
    { key: 'cathodeResistor', steps: 'E24' },
    { key: 'screenDropper', steps: 'E24' },
  ],
  agcLine: {
    step: LINE,
    curve: lineCurve,
    values: [
      'agcVoltages',
      'agcLineResistance',
      'lineCapacitorLeakage',
      'signalLevels',
      'agcDelay',
      'detectorContact',
      'lineClamp',
    ],
  },
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'intermediateFrequency'),
    settling_s:
      5 *
      Math.max(
        numberOf(v, 'agcLineResistance') * numberOf(v, 'lineCapacitor'),
        numberOf(v, 'cathodeResistor') * numberOf(v, 'cathodeBypass'),
        numberOf(v, 'screenDropper') * numberOf(v, 'screenBypass'),
        numberOf(v, 'loadedQ') / numberOf(v, 'intermediateFrequency'),
      ),
  }),
  doubts: (v) =>
    numbersOf(v, 'agcVoltages').some((volts, i, all) => i > 0 && volts >= all[i - 1]!)
      ? [
          'The AGC voltages do not go from weak to strong: the measures take the first as no signal and the last as the strongest.',
        ]
      : [],
};
