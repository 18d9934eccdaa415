import { newTubeState } from '../../models/cathode.ts';
import { diodeModel } from '../../models/model.ts';
import type { Circuit, Part, Stage, StageValues, TubeModel, Uncertain } from '../types.ts';
import {
  DIODE_DETECTOR_AGC_MEASURES,
  DIODE_DETECTOR_AGC_STEPS,
} from './diode-detector-agc-measures.ts';
import { DIODE_DETECTOR_AGC_VALUES } from './diode-detector-agc-values.ts';
import { leakPart } from './faults.ts';
import { exactKnob, numberOf, partKnob, supplyKnob } from './values.ts';

/**
 * Second detector, AGC line and contact-biased first audio stage of a receiver: one circuit, for a duo-diode triode. The
 * triode is the tube in question; its diode asks for so little current that it is taken as new.
 *
 * The carrier is a set of phase copies at each moment of an audio cycle, and every capacitor charges from moment to moment.
 * So the load of the coupling capacitor's branch and of the AGC filter on the detector is in the answer.
 *
 * Source: Radiotron Designer's Handbook ch. 27; receiving-tube handbooks, diode considerations (from memory).
 */

/**
 * A small detector diode: 1.1 mA at 5 V, and some tenths of a volt of its own into half a megohm. A prior from memory: diode
 * curves of such tubes are published, and differ.
 */
const DETECTOR_DIODE: TubeModel = diodeModel(
  'detector',
  { perveance: 0.1, vct: 0.2, ns: 2, isat_mA: 5 },
  { gridPlate: 0, input: 0, output: 1e-12 },
);

/** Keeps the coil a pure tuned circuit: its own loss is the source's series resistance. */
const COIL_FACTOR = 100;
/** Of the coil alone, which has no loss here. With that loss: a hundredth, wide against the audio. */
const COIL_Q = 1000;

function detectorParts(v: StageValues): Part[] {
  const coil = numberOf(v, 'sourceResistance');
  return [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [48, 16],
      name: 'B+',
      edits: 'supply',
    },
    { kind: 'signal', id: 'S', nodes: ['in', 'x'], at: [13, 12], drawn: false },
    {
      kind: 'resistor',
      id: 'RS',
      nodes: ['in', 'd'],
      value: coil,
      at: [13, 12],
      drawn: false,
    },
    {
      kind: 'tank',
      id: 'T1',
      nodes: ['x', 'd'],
      impedance: COIL_FACTOR * coil,
      loadedQ: COIL_Q,
      stray_F: DETECTOR_DIODE.capacitances.output,
      at: [13, 20],
      orientation: 180,
      name: 'IF',
      edits: 'sourceResistance',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: { plate: 'p', grid: 'g', cathode: '0', heater: '0' },
      tube: 0,
      at: [48, 40],
    },
    {
      kind: 'tube',
      id: 'V2',
      nodes: { plate: 'd', cathode: '0' },
      tube: 1,
      state: newTubeState(DETECTOR_DIODE),
      at: [29, 19],
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['x', '0'],
      value: numberOf(v, 'filterCapacitor'),
      at: [7, 34],
      edits: 'filterCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['x', 'v'],
      value: { knob: 'filterResistor' },
      at: [13, 34],
      orientation: 270,
      edits: 'filterResistor',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['v', '0'],
      value: numberOf(v, 'filterCapacitor'),
      at: [20, 34],
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['v', 'w'],
      value: { knob: 'volumeUpper' },
      at: [24, 34],
      edits: 'volumeControl',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['w', '0'],
      value: { knob: 'volumeLower' },
      at: [24, 40],
    },
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: ['w', 'g'],
      value: numberOf(v, 'couplingCapacitor'),
      at: [28, 40],
      orientation: 270,
      edits: 'couplingCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['g', '0'],
      value: { knob: 'gridResistor' },
      at: [37, 40],
      edits: 'gridResistor',
    },
    {
      kind: 'resistor',
      id: 'R5',
      nodes: ['b', 'p'],
      value: { knob: 'plateLoad' },
      at: [48, 16],
      edits: 'plateLoad',
    },
    {
      kind: 'capacitor',
      id: 'C4',
      nodes: ['p', 'o'],
      value: numberOf(v, 'outputCapacitor'),
      at: [49, 26],
      orientation: 270,
      edits: 'outputCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R6',
      nodes: ['o', '0'],
      value: { knob: 'nextGridResistor' },
      at: [58, 26],
      edits: 'nextGridResistor',
    },
    {
      kind: 'resistor',
      id: 'R7',
      nodes: ['v', 'l'],
      value: { knob: 'agcResistor' },
      at: [22, 46],
      orientation: 90,
      edits: 'agcResistor',
    },
    {
      kind: 'capacitor',
      id: 'C5',
      nodes: ['l', '0'],
      value: numberOf(v, 'agcCapacitor'),
      at: [11, 46],
      edits: 'agcCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R8',
      nodes: ['x', 'p'],
      value: { knob: 'diodeLeak' },
      at: [13, 12],
      drawn: false,
      edits: 'diodeLeak',
    },
    ...leakPart(v, 'couplingLeakage', ['w', 'g']),
    ...leakPart(v, 'agcCapacitorLeakage', ['l', '0']),
    ...leakPart(v, 'windingLeakage', ['b', 'x']),
  ];
}

/** The two parts of the track, which share its tolerance. */
function trackKnob(v: StageValues, share: number): Uncertain {
  const whole = partKnob(v, 'volumeControl');
  return {
    ...whole,
    nominal: share * whole.nominal,
    toValue: (z) => share * whole.toValue(z),
  };
}

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const volume = numberOf(v, 'volume') / 100;
  return {
    title: diodeDetectorAgc.title,
    parts: detectorParts(v),
    tubes: [tubes[0]!, DETECTOR_DIODE],
    knobs: {
      supply: supplyKnob(v, 'supply'),
      plateLoad: partKnob(v, 'plateLoad'),
      gridResistor: partKnob(v, 'gridResistor'),
      nextGridResistor: partKnob(v, 'nextGridResistor'),
      filterResistor: partKnob(v, 'filterResistor'),
      volumeUpper: trackKnob(v, 1 - volume),
      volumeLower: trackKnob(v, volume),
      agcResistor: partKnob(v, 'agcResistor'),
      diodeLeak: exactKnob(numberOf(v, 'diodeLeak'), 'diodeLeak'),
    },
    spine: { x: ['h', 34], v: ['h', 34], g: ['h', 40], l: ['h', 46] },
    watch: ['b', 'p', 'g', 'v', 'w', 'l', 'o'],
  };
}

const PRACTICE = 'common practice, no source';

export const diodeDetectorAgc: Stage = {
  id: 'diode-detector-agc',
  title: 'Diode detector, AGC and first audio',
  does: 'Takes audio and control voltage off the IF carrier and amplifies the audio, in one duo-diode triode.',
  source:
    "Radiotron Designer's Handbook ch. 27; receiving-tube handbooks, diode considerations (from memory)",
  families: ['triode'],
  tubes: 1,
  values: DIODE_DETECTOR_AGC_VALUES,
  circuit,
  steps: DIODE_DETECTOR_AGC_STEPS,
  measures: DIODE_DETECTOR_AGC_MEASURES,
  limits: [
    {
      measure: 'audioOutput',
      formula: 'audioOutput >= 0.7 * newTube.audioOutput',
      reason: 'three decibels less audio is where a listener turns the control up',
      source: PRACTICE,
    },
    {
      measure: 'plateVoltage',
      formula: 'plateVoltage >= 0.7 * newTube.plateVoltage',
      reason: 'a plate pulled further down clips early: the contact bias is gone',
      source: PRACTICE,
    },
    {
      measure: 'biasShift',
      formula: 'biasShift <= 0.3',
      reason: 'the whole contact bias is half a volt to one',
      source: PRACTICE,
    },
    {
      measure: 'distortion',
      formula: 'distortion <= newTube.distortion + 5',
      reason: 'five points on top of what detector and triode make anyway are heard',
      source: PRACTICE,
    },
    {
      measure: 'agcAtRest',
      formula: 'agcAtRest <= 0.1',
      reason: 'a line lifted above chassis drives the controlled tubes into grid current',
      source: PRACTICE,
    },
    {
      measure: 'agcDelivered',
      formula: 'agcDelivered >= 50',
      reason:
        'with half of the carrier’s peak missing from the line, strong signals overload the IF',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridResistor'],
  noTransient: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'carrierFrequency'),
    settling_s:
      5 *
      Math.max(
        numberOf(v, 'gridResistor') * numberOf(v, 'couplingCapacitor'),
        numberOf(v, 'agcResistor') * numberOf(v, 'agcCapacitor'),
        (numberOf(v, 'nextGridResistor') + numberOf(v, 'plateLoad')) *
          numberOf(v, 'outputCapacitor'),
      ),
  }),
  doubts: (v) => {
    const reactance =
      1 / (2 * Math.PI * numberOf(v, 'carrierFrequency') * numberOf(v, 'filterCapacitor'));
    return reactance > 0.1 * numberOf(v, 'volumeControl')
      ? [
          'The filter capacitors are no short at this carrier frequency: less carrier reaches the diode than is shown.',
        ]
      : [];
  },
};
