import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { leakPart } from './faults.ts';
import { CAPACITORS, LOCAL_OSCILLATOR_VALUES } from './local-oscillator-values.ts';
import {
  LARGE_VIEW,
  loopMeasures,
  loopSteps,
  oscillatorDoubts,
  RAMP,
  RUNNING,
  runningDrive,
  whileRunning,
  withRamp,
  type Oscillator,
} from './oscillation.ts';
import { meanVolts } from './signals.ts';
import { numberOf, partKnob, supplyKnob, textOf } from './values.ts';

/**
 * Triode oscillator with a grid leak: a tapped coil with the plate grounded for the swing, or two capacitors with the cathode
 * grounded. Between grid, cathode and plate both are the same circuit.
 *
 * Source: Terman, "Radio Engineers' Handbook" (1943), sec. 6; receiving-tube handbooks (from memory): 10 to 47 kohm and 50
 * to 100 pF, 3 to 8 V at the grid.
 */

/** Swings are looked for up to this share of the supply: a plate has no more to give. */
const MOST_SWING = 0.8;

const OSCILLATOR: Oscillator = {
  grid: 'g',
  supplies: ['supply'],
  lowest: 'worstEndPercent',
  most_V: (v) => MOST_SWING * numberOf(v, 'supply'),
  circuit,
  bypass: 'plateCapacitor',
};

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const { gridPlate, input } = tubes[0]!.capacitances;
  const share = numberOf(v, 'feedbackShare');
  const capacitors = textOf(v, 'feedback') === CAPACITORS;
  const series = numberOf(v, 'gridCapacitor');
  const grid = capacitors ? 1 - share : 1;
  const [cathode, plate] = capacitors ? [0, -share] : [share, 0];
  // the grid capacitor and the grid's own capacitances divide the swing
  const coupled =
    (series * grid + input * cathode + gridPlate * plate) / (series + input + gridPlate);
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
      kind: 'oscillatorTank',
      id: 'T1',
      nodes: capacitors ? ['t', '0', 'u'] : ['t', 'k', '0'],
      feedback: capacitors ? 'capacitors' : 'tap',
      windings: [
        { nodes: ['t', '0'], share: grid, coupled },
        capacitors ? { nodes: ['u', '0'], share: plate } : { nodes: ['k', '0'], share: cathode },
      ],
      impedance: { knob: 'tankImpedance' },
      loadedQ: numberOf(v, 'tankQ'),
      at: [10, 22],
      edits: 'tankImpedance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['t', 'g'],
      value: series,
      at: [13, 20],
      orientation: 270,
      edits: 'gridCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['g', '0'],
      value: { knob: 'gridLeak' },
      at: [22, 20],
      edits: 'gridLeak',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: { plate: 'p', grid: 'g', cathode: capacitors ? '0' : 'k', heater: '0' },
      tube: 0,
      at: [33, 20],
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['b', 'p'],
      value: { knob: 'plateLoad' },
      at: [33, 3],
      edits: 'plateLoad',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['p', capacitors ? 'u' : '0'],
      value: numberOf(v, 'plateCapacitor'),
      at: [42, 9],
      edits: 'plateCapacitor',
    },
    ...leakPart(v, 'plateCapacitorLeakage', ['p', capacitors ? 'u' : '0']),
  ];
  return {
    title: localOscillator.title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      plateLoad: partKnob(v, 'plateLoad'),
      gridLeak: partKnob(v, 'gridLeak'),
      tankImpedance: partKnob(v, 'tankImpedance'),
    },
    spine: { k: ['h', 31], u: ['h', 33] },
    watch: ['b', 'p', 'g', 't', ...(capacitors ? [] : ['k'])],
  };
}

const PRACTICE = 'common practice, no source';

export const localOscillator: Stage = {
  id: 'local-oscillator',
  title: 'Local oscillator',
  does: 'Makes the oscillation that a mixer needs to turn the signal into the intermediate frequency.',
  source:
    "Terman, Radio Engineers' Handbook (1943), sec. 6; receiving-tube handbooks (from memory)",
  families: ['triode'],
  tubes: 1,
  values: LOCAL_OSCILLATOR_VALUES,
  circuit,
  steps: [
    ...loopSteps(OSCILLATOR),
    {
      id: RUNNING,
      view: () => LARGE_VIEW,
      settings: (_v, _own, _central, t) => {
        const drive = runningDrive(t, OSCILLATOR);
        return drive === undefined ? [] : withRamp([{ drive }]);
      },
    },
  ],
  shown: { step: RUNNING, setting: RAMP },
  measures: [
    ...loopMeasures(OSCILLATOR),
    {
      id: 'plateVoltage',
      title: 'Plate voltage',
      unit: 'V',
      step: RUNNING,
      what: 'Mean of plate to chassis.',
      of: whileRunning((t) => meanVolts(t, RUNNING, RAMP, 'p')),
      readings: ['emission'],
    },
    {
      id: 'plateCurrent',
      title: 'Plate current',
      unit: 'A',
      step: RUNNING,
      what: 'Mean through the plate resistor.',
      of: whileRunning(
        (t) =>
          (meanVolts(t, RUNNING, RAMP, 'b') - meanVolts(t, RUNNING, RAMP, 'p')) /
          t.knob('plateLoad'),
      ),
      readings: ['emission'],
    },
  ],
  limits: [
    {
      measure: 'startMargin',
      formula: 'startMargin >= 1.2',
      reason:
        'it must start when the line sags at the worse end of the band, with something left for a damp coil',
      source: PRACTICE,
    },
    {
      measure: 'oscillatorGridVoltage',
      formula: 'oscillatorGridVoltage <= 0.6 * newTube.oscillatorGridVoltage',
      reason: 'with less than 50 to 60 % of its normal bias an oscillator is near stopping',
      source: PRACTICE,
    },
    {
      measure: 'oscillatorGridVoltageLow',
      formula: 'oscillatorGridVoltageLow <= 0.5 * newTube.oscillatorGridVoltageLow',
      reason: 'half of what a new tube makes in the same place: the mixer starves there',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridLeak'],
  neverAtRest: true,
  noTransient: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'oscillatorFrequency'),
    settling_s: 5 * numberOf(v, 'gridLeak') * numberOf(v, 'gridCapacitor'),
  }),
  doubts: oscillatorDoubts,
};
