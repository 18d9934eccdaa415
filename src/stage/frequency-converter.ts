import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { leakPart } from './faults.ts';
import {
  FREQUENCY_CONVERTER_MEASURES,
  FREQUENCY_CONVERTER_STEPS,
} from './frequency-converter-measures.ts';
import { FREQUENCY_CONVERTER_VALUES, WINDING } from './frequency-converter-values.ts';
import { oscillatorDoubts, RAMP, RETURNED, RUNNING } from './oscillation.ts';
import { exactKnob, numberOf, numbersOf, partKnob, supplyKnob, textOf } from './values.ts';

/**
 * Pentagrid converter: cathode, first grid and screens are an oscillator, whose swing turns the plate's share of the current
 * on and off; the signal grid on the AGC line takes its part of that. Tuned circuits of signal and intermediate frequency are
 * shorts to the oscillator.
 *
 * Source: Radiotron Designer's Handbook ch. 25; Terman, "Radio Engineers' Handbook" (1943), sec. 8; receiving-tube handbooks
 * (all from memory): 20 to 22 kohm and 50 pF, 0.5 mA.
 */

/** What the grid capacitor and the grid's own capacitance, half to the cathode and half to the screens, leave of the swing. */
function gridShare(v: StageValues, tube: TubeModel, winding: boolean): number {
  const series = numberOf(v, 'gridCapacitor');
  const half = (tube.capacitances.oscillatorInput ?? 0) / 2;
  const share = numberOf(v, 'feedbackShare');
  return (series + half * (winding ? -share : share)) / (series + 2 * half);
}

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const tube = tubes[0]!;
  const share = numberOf(v, 'feedbackShare');
  const q = numberOf(v, 'tankQ');
  const winding = textOf(v, 'feedback') === WINDING;
  const cathode = winding ? '0' : 'k';
  /** Behind the feedback winding, where the screens are bypassed. */
  const screens = winding ? 'sb' : 's';
  const parts: Part[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [30, 3],
      name: 'B+',
      edits: 'supply',
    },
    {
      kind: 'supply',
      id: 'BS',
      nodes: ['bs', '0'],
      value: { knob: 'screenSupply' },
      at: winding ? [52, 37] : [45, 15],
      name: 'screen B+',
      edits: 'screenSupply',
    },
    {
      kind: 'supply',
      id: 'A',
      nodes: ['agc', '0'],
      value: { knob: 'agcVoltage' },
      at: [19, 43],
      name: 'AGC',
      edits: 'agcVoltages',
    },
    {
      kind: 'tank',
      id: 'T1',
      nodes: ['line', 'g3'],
      impedance: 100e3,
      loadedQ: 60,
      tunedTo_Hz: numberOf(v, 'oscillatorFrequency') - numberOf(v, 'intermediateFrequency'),
      at: [12, 29],
      orientation: 180,
      name: 'from the aerial',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['line', '0'],
      value: numberOf(v, 'lineCapacitor'),
      at: [3, 37],
      edits: 'lineCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['line', '0'],
      value: { knob: 'lineCapacitorLeakage' },
      at: [11, 37],
      edits: 'lineCapacitorLeakage',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['line', 'agc'],
      value: { knob: 'agcLineResistance' },
      at: [19, 37],
      edits: 'agcLineResistance',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: {
        plate: 'p',
        screen: 's',
        oscillatorGrid: 'g1',
        signalGrid: 'g3',
        cathode,
        heater: '0',
      },
      tube: 0,
      at: [30, 21],
    },
    {
      kind: 'tank',
      id: 'T2',
      nodes: ['b', 'p'],
      impedance: { knob: 'tunedImpedance' },
      loadedQ: 40,
      stray_F: tube.capacitances.output + tube.capacitances.gridPlate,
      tunedTo_Hz: numberOf(v, 'intermediateFrequency'),
      at: [30, 3],
      name: 'to the IF amplifier',
      edits: 'tunedImpedance',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['bs', screens],
      value: { knob: 'screenDropper' },
      at: winding ? [52, 37] : [45, 15],
      edits: 'screenDropper',
    },
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: [screens, '0'],
      value: numberOf(v, 'screenBypass'),
      at: winding ? [52, 43] : [45, 21],
      edits: 'screenBypass',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['g1', '0'],
      value: { knob: 'gridLeak' },
      at: [27, 35],
      edits: 'gridLeak',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['t', 'g1'],
      value: numberOf(v, 'gridCapacitor'),
      at: [36, 35],
      orientation: 90,
      edits: 'gridCapacitor',
    },
    {
      kind: 'oscillatorTank',
      id: 'T3',
      nodes: winding ? ['t', '0', 's', 'sb'] : ['t', 'k', '0'],
      feedback: winding ? 'winding' : 'tap',
      windings: [
        { nodes: ['t', '0'], share: 1, coupled: gridShare(v, tube, winding) },
        winding ? { nodes: ['s', 'sb'], share: -share } : { nodes: ['k', '0'], share },
      ],
      returned: RETURNED,
      impedance: { knob: 'tankImpedance' },
      loadedQ: q,
      at: [40, 39],
      edits: 'tankImpedance',
    },
    ...leakPart(v, 'windingLeakage', ['b', 'g3']),
  ];
  return {
    title: frequencyConverter.title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      screenSupply: supplyKnob(v, 'screenSupply'),
      screenDropper: partKnob(v, 'screenDropper'),
      gridLeak: partKnob(v, 'gridLeak'),
      tankImpedance: partKnob(v, 'tankImpedance'),
      agcVoltage: exactKnob(numbersOf(v, 'agcVoltages')[0]!, 'agcVoltage'),
      agcLineResistance: partKnob(v, 'agcLineResistance'),
      lineCapacitorLeakage: exactKnob(numberOf(v, 'lineCapacitorLeakage'), 'lineCapacitorLeakage'),
      tunedImpedance: partKnob(v, 'tunedImpedance'),
    },
    spine: {
      line: ['h', 37],
      g1: ['h', 35],
      k: ['v', 43],
      s: winding ? ['v', 43] : ['h', 21],
      sb: ['v', 47],
    },
    watch: ['b', 'p', 's', 'g1', 'g3', 'line', RETURNED, 't', ...(winding ? [] : ['k'])],
  };
}

const PRACTICE = 'common practice, no source';

export const frequencyConverter: Stage = {
  id: 'frequency-converter',
  title: 'Frequency converter',
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
  neverAtRest: true,
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
