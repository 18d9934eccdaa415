import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { leakPart, statedLeak } from './faults.ts';
import {
  LINE_LEVELS,
  SYNC_SEPARATOR_MEASURES,
  SYNC_SEPARATOR_STEPS,
} from './sync-separator-measures.ts';
import { SYNC_SEPARATOR_VALUES } from './sync-separator-values.ts';
import { numberOf, partKnob, supplyKnob } from './values.ts';

/**
 * Sync separator: the grid clamps the sync tips by its own current, and what lies below is beyond cutoff.
 *
 * One line of the picture is a few levels with their shares of its time. The coupling capacitor holds its charge over a
 * line: its voltage is the one at which charge and discharge balance. Noise and the field pulses are left out.
 *
 * Source: D. Fink, "Television Engineering Handbook" (1957), sync circuits; receiving-tube handbooks (from memory).
 */

function separatorParts(v: StageValues, tube: TubeModel): Part[] {
  const pentode = tube.family === 'pentode';
  const row = pentode ? 22 : 20;
  const parts: (Part | false)[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [38, 5],
      name: 'B+',
      edits: 'supply',
    },
    pentode && {
      kind: 'supply',
      id: 'BS',
      nodes: ['s', '0'],
      value: { knob: 'screenSupply' },
      at: [47, 20],
      name: 'screen',
      edits: 'screenSupply',
    },
    {
      kind: 'signal',
      id: 'S',
      nodes: ['in', '0'],
      levels: LINE_LEVELS.map(({ level }) => level),
      at: [3, row],
      edits: 'syncAmplitude',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['in', 'a'],
      value: { knob: 'sourceResistance' },
      at: [8, row],
      orientation: 270,
      edits: 'sourceResistance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['a', 'g'],
      value: numberOf(v, 'gridCapacitor'),
      at: [16, row],
      orientation: 270,
      edits: 'gridCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['g', '0'],
      value: { knob: 'gridLeak' },
      at: [25, row],
      edits: 'gridLeak',
    },
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
      at: [38, 20],
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['b', 'p'],
      value: { knob: 'plateLoad' },
      at: [38, 5],
      edits: 'plateLoad',
    },
    ...couplingLeak(v),
  ];
  return parts.filter((part): part is Part => part !== false);
}

/** From the direct voltage of the stage before. */
const couplingLeak = (v: StageValues): Part[] =>
  statedLeak(v, 'couplingLeakage') === undefined
    ? []
    : [
        {
          kind: 'supply',
          id: 'D',
          nodes: ['before', '0'],
          value: { knob: 'couplingFrom' },
          at: [0, 0],
          drawn: false,
          edits: 'couplingFrom',
        },
        ...leakPart(v, 'couplingLeakage', ['before', 'g']),
      ];

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const tube = tubes[0]!;
  const pentode = tube.family === 'pentode';
  return {
    title: syncSeparator.title,
    parts: separatorParts(v, tube),
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      ...(pentode ? { screenSupply: supplyKnob(v, 'screenSupply') } : {}),
      plateLoad: partKnob(v, 'plateLoad'),
      gridLeak: partKnob(v, 'gridLeak'),
      sourceResistance: partKnob(v, 'sourceResistance'),
      ...(statedLeak(v, 'couplingLeakage') === undefined
        ? {}
        : { couplingFrom: supplyKnob(v, 'couplingFrom') }),
    },
    spine: { g: ['h', pentode ? 22 : 20] },
    watch: ['b', 'p', 'g', 'a'],
  };
}

const PRACTICE = 'common practice, no source';

export const syncSeparator: Stage = {
  id: 'sync-separator',
  title: 'Sync separator',
  does: 'Cuts the sync pulses off the video, to lock the picture.',
  source:
    'Fink, Television Engineering Handbook (1957), sync circuits; receiving-tube handbooks (from memory)',
  families: ['pentode', 'triode'],
  tubes: 1,
  values: SYNC_SEPARATOR_VALUES,
  circuit,
  steps: SYNC_SEPARATOR_STEPS,
  measures: SYNC_SEPARATOR_MEASURES,
  limits: [
    {
      measure: 'pulse',
      formula: 'pulse >= 0.6 * newTube.pulse',
      reason: 'with less than that the vertical hold is the first to go',
      source: PRACTICE,
    },
    {
      measure: 'weakPulse',
      formula: 'weakPulse >= 0.5 * newTube.weakPulse',
      reason: 'a weak station must still lock',
      source: PRACTICE,
    },
    {
      measure: 'picture',
      formula: 'picture <= newTube.picture + 5',
      reason: 'picture in the sync pulls the lines at every bright edge',
      source: PRACTICE,
    },
    {
      measure: 'weakPicture',
      formula: 'weakPicture <= newTube.weakPicture + 15',
      reason: 'a weak station may pull a little, and must not tear',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridLeak'],
  neverAtRest: true,
  noTransient: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'lineRate'),
    settling_s: 5 * numberOf(v, 'gridLeak') * numberOf(v, 'gridCapacitor'),
  }),
  doubts: (v) =>
    numberOf(v, 'gridLeak') * numberOf(v, 'gridCapacitor') * numberOf(v, 'lineRate') < 10
      ? [
          'The coupling capacitor discharges visibly within a line: the levels shown are those of a larger one.',
        ]
      : [],
};
