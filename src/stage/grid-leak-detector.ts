import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { leakPart } from './faults.ts';
import {
  GRID_LEAK_DETECTOR_MEASURES,
  GRID_LEAK_DETECTOR_STEPS,
} from './grid-leak-detector-measures.ts';
import { GRID_LEAK_DETECTOR_VALUES } from './grid-leak-detector-values.ts';
import { exactKnob, numberOf, partKnob, supplyKnob } from './values.ts';

/**
 * Grid-leak detector: the grid rectifies the carrier into its own capacitor and leak, the plate amplifies what is left.
 *
 * The carrier is one set of phase copies at each of a few moments of an audio cycle; grid capacitor, plate bypass and
 * coupling capacitor charge from moment to moment with their real capacitances. So the lag of the grid capacitor behind
 * a falling envelope, and what the bypass takes off the audio, are in the answer and no correction is made afterwards.
 *
 * Source: Terman, "Radio Engineers' Handbook" (1943), sec. 7 "Detectors"; Radiotron Designer's Handbook ch. 27; receiving-
 * tube handbooks (all from memory): 250 pF with 1 to 5 Mohm for weak signals.
 */

/** Keeps the coil a pure tuned circuit: its own loss is the source's series resistance. */
const COIL_FACTOR = 100;
/** Of the coil alone, which has no loss here. With that loss: a hundredth, wide against the audio. */
const COIL_Q = 1000;
export const isPositiveReturn = (v: StageValues): boolean =>
  v['gridLeakReturn']?.value === 'positive point';

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const tube = tubes[0]!;
  const pentode = tube.family === 'pentode';
  const gridRow = pentode ? 22 : 20;
  /** Column of the tube. */
  const column = pentode ? 35 : 33;
  const coil = numberOf(v, 'sourceResistance');
  const parts: Part[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [column, 3],
      name: 'B+',
      edits: 'supply',
    },
    { kind: 'signal', id: 'S', nodes: ['in', '0'], at: [7, gridRow], drawn: false },
    {
      kind: 'resistor',
      id: 'RS',
      nodes: ['in', 'a'],
      value: coil,
      at: [7, gridRow],
      drawn: false,
    },
    {
      kind: 'tank',
      id: 'T1',
      nodes: ['0', 'a'],
      impedance: COIL_FACTOR * coil,
      loadedQ: COIL_Q,
      stray_F: tube.capacitances.input + tube.capacitances.gridPlate,
      at: [12, gridRow + 8],
      orientation: 180,
      name: 'carrier',
      edits: 'sourceResistance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['a', 'g'],
      value: numberOf(v, 'gridCapacitor'),
      at: [14, gridRow],
      orientation: 270,
      edits: 'gridCapacitor',
    },
    ...(isPositiveReturn(v)
      ? ([
          {
            kind: 'supply',
            id: 'A',
            nodes: ['ret', '0'],
            value: { knob: 'gridLeakVoltage' },
            at: [pentode ? 24 : 22, gridRow - 6],
            name: 'A+',
            edits: 'gridLeakVoltage',
          },
          {
            kind: 'resistor',
            id: 'R1',
            nodes: ['ret', 'g'],
            value: { knob: 'gridLeak' },
            at: [pentode ? 24 : 22, gridRow - 6],
            edits: 'gridLeak',
          },
        ] as Part[])
      : ([
          {
            kind: 'resistor',
            id: 'R1',
            nodes: ['g', '0'],
            value: { knob: 'gridLeak' },
            at: [pentode ? 24 : 22, gridRow],
            edits: 'gridLeak',
          },
        ] as Part[])),
    {
      kind: 'tube',
      id: 'V1',
      nodes: {
        plate: 'p',
        grid: 'g',
        cathode: '0',
        heater: '0',
        ...(pentode ? { screen: 's' } : {}),
      },
      tube: 0,
      at: [column, 20],
    },
    ...(pentode
      ? ([
          {
            kind: 'supply',
            id: 'BS',
            nodes: ['s', '0'],
            value: { knob: 'screenSupply' },
            at: [column + 5, 20],
            name: 'screen',
            edits: 'screenSupply',
          },
        ] as Part[])
      : []),
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['b', 'p'],
      value: { knob: 'plateLoad' },
      at: [column, 3],
      edits: 'plateLoad',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['p', '0'],
      value: numberOf(v, 'plateBypass'),
      // what is left of the carrier at the plate damps the grid: gm Cgp / Cbypass, at any frequency
      feeds: { node: 'g', farads: tube.capacitances.gridPlate },
      at: [column + 7, 9],
      edits: 'plateBypass',
    },
    ...leakPart(v, 'plateBypassLeakage', ['p', '0']),
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: ['p', 'o'],
      value: numberOf(v, 'outputCapacitor'),
      at: [46, 9],
      orientation: 270,
      edits: 'outputCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['o', '0'],
      value: { knob: 'nextGridResistor' },
      at: [54, 9],
      edits: 'nextGridResistor',
    },
  ];
  return {
    title: gridLeakDetector.title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      plateLoad: partKnob(v, 'plateLoad'),
      gridLeak: partKnob(v, 'gridLeak'),
      nextGridResistor: partKnob(v, 'nextGridResistor'),
      ...(isPositiveReturn(v)
        ? { gridLeakVoltage: exactKnob(numberOf(v, 'gridLeakVoltage'), 'gridLeakVoltage') }
        : {}),
      ...(pentode ? { screenSupply: supplyKnob(v, 'screenSupply') } : {}),
    },
    spine: { g: ['h', gridRow] },
    watch: ['b', 'p', 'g', 'a', 'o'],
  };
}

const PRACTICE = 'common practice, no source';

export const gridLeakDetector: Stage = {
  id: 'grid-leak-detector',
  title: 'Grid-leak detector',
  does: 'Takes the audio off a modulated carrier by grid current and amplifies it in the same tube.',
  source:
    "Terman, Radio Engineers' Handbook (1943), sec. 7; Radiotron Designer's Handbook ch. 27; receiving-tube handbooks (from memory)",
  families: ['triode', 'pentode'],
  tubes: 1,
  values: GRID_LEAK_DETECTOR_VALUES,
  circuit,
  steps: GRID_LEAK_DETECTOR_STEPS,
  measures: GRID_LEAK_DETECTOR_MEASURES,
  limits: [
    {
      measure: 'audioOutput',
      formula: 'audioOutput >= 0.7 * newTube.audioOutput',
      reason: 'three decibels less audio is where a listener turns the control up',
      source: PRACTICE,
    },
    {
      measure: 'distortion',
      formula: 'distortion <= newTube.distortion + 5',
      reason: 'five points on top of what the detector makes anyway are heard',
      source: PRACTICE,
    },
    {
      measure: 'overloadCarrier',
      formula: 'overloadCarrier >= 0.6 * newTube.overloadCarrier',
      reason: 'the local station must still come through clean',
      source: PRACTICE,
    },
    {
      measure: 'biasShift',
      formula: 'biasShift <= max(0.15, 0.25 * abs(newTube.gridVoltage))',
      reason:
        'a grid held up by reverse current conducts all the time, loads the tuned circuit and blunts the selectivity',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridLeak'],
  noTransient: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'carrierFrequency'),
    settling_s:
      5 *
      Math.max(
        numberOf(v, 'gridLeak') * numberOf(v, 'gridCapacitor'),
        (numberOf(v, 'nextGridResistor') + numberOf(v, 'plateLoad')) *
          numberOf(v, 'outputCapacitor'),
      ),
  }),
  doubts: (v) => {
    const reactance = (farads: number): number =>
      1 / (2 * Math.PI * numberOf(v, 'carrierFrequency') * farads);
    return [
      ...(reactance(numberOf(v, 'plateBypass')) > 0.2 * numberOf(v, 'plateLoad')
        ? [
            'The plate bypass is no short at this carrier frequency: what the plate feeds back to the grid is not in the answer.',
          ]
        : []),
      ...(reactance(numberOf(v, 'gridCapacitor')) > 0.1 * numberOf(v, 'gridLeak')
        ? [
            'The grid capacitor is no short at this carrier frequency: less carrier reaches the grid than is shown.',
          ]
        : []),
    ];
  },
};
