import type { Circuit, Part, Stage, StageValues, TubeModel } from '../types.ts';
import { BY_CAPACITORS, leakPart } from './faults.ts';
import { KEYED_AGC_MEASURES, KEYED_AGC_STEPS, KEYED_LEVELS } from './keyed-agc-measures.ts';
import { KEYED_AGC_VALUES } from './keyed-agc-values.ts';
import { numberOf, partKnob, supplyKnob } from './values.ts';

/**
 * Keyed AGC of a television set: the plate is fed by flyback pulses alone, so that only the sync tips that come with them
 * draw current; the charge they take off the plate capacitor is the control voltage.
 *
 * One line of the picture is a few levels with their shares of its time, video and flyback pulse in step. The loop through
 * tuner and IF is not closed: a worn tube shows as the video that it asks for.
 *
 * Source: D. Fink, "Television Engineering Handbook" (1957), automatic gain control; receiving-tube handbooks (from memory).
 */

function keyedParts(v: StageValues, tube: TubeModel): Part[] {
  const pentode = tube.family === 'pentode';
  const gridRow = row(pentode);
  const parts: (Part | false)[] = [
    {
      kind: 'supply',
      id: 'K',
      nodes: ['ks', '0'],
      value: { knob: 'cathodeSupply' },
      at: [37, 39],
      name: 'tap',
      edits: 'cathodeVoltage',
    },
    pentode && {
      kind: 'supply',
      id: 'BS',
      nodes: ['s', '0'],
      value: { knob: 'screenSupply' },
      at: [43, 24],
      name: 'screen',
      edits: 'screenSupply',
    },
    {
      kind: 'supply',
      id: 'T',
      nodes: ['top', '0'],
      value: { knob: 'tipVoltage' },
      at: [6, gridRow + 6],
      name: 'tips',
      edits: 'tipVoltage',
    },
    {
      kind: 'signal',
      id: 'S1',
      nodes: ['vid', 'top'],
      amplitude: { knob: 'syncAmplitude' },
      levels: KEYED_LEVELS.map(({ video }) => video),
      at: [6, gridRow],
      edits: 'syncAmplitude',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['vid', 'g'],
      value: { knob: 'gridResistor' },
      at: [12, gridRow],
      orientation: 270,
      edits: 'gridResistor',
    },
    {
      kind: 'signal',
      id: 'S2',
      nodes: ['fly', '0'],
      amplitude: { knob: 'flybackPulse' },
      levels: KEYED_LEVELS.map(({ flyback }) => flyback),
      at: [20, 7],
      edits: 'flybackPulse',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['fly', 'p'],
      value: numberOf(v, 'plateCapacitor'),
      at: [24, 7],
      orientation: 270,
      edits: 'plateCapacitor',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: {
        plate: 'p',
        grid: 'g',
        cathode: 'k',
        heater: '0',
        ...(pentode ? { screen: 's' } : {}),
      },
      tube: 0,
      at: [34, 24],
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['p', 'm'],
      value: { knob: 'plateResistor' },
      at: [36, 7],
      orientation: 270,
      edits: 'plateResistor',
    },
    {
      kind: 'capacitor',
      id: 'C2',
      nodes: ['m', '0'],
      value: numberOf(v, 'filterCapacitor'),
      at: [44, 7],
      edits: 'filterCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R3',
      nodes: ['m', 'l'],
      value: { knob: 'dividerUpper' },
      at: [47, 7],
      orientation: 270,
      edits: 'dividerUpper',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['l', '0'],
      value: { knob: 'dividerLower' },
      at: [56, 7],
      edits: 'dividerLower',
    },
    {
      kind: 'resistor',
      id: 'R5',
      nodes: ['k', 'ks'],
      value: { knob: 'tapResistance' },
      at: [37, 33],
      edits: 'tapResistance',
    },
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: ['k', '0'],
      value: numberOf(v, 'cathodeBypass'),
      at: [46, 33],
      edits: 'cathodeBypass',
    },
    ...leakPart(v, 'filterCapacitorLeakage', ['m', '0']),
  ];
  return parts.filter((part): part is Part => part !== false);
}

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const tube = tubes[0]!;
  const pentode = tube.family === 'pentode';
  const exact = (key: string): { nominal: number; unknown: string; toValue: () => number } => {
    const nominal = numberOf(v, key);
    return { nominal, unknown: key, toValue: () => nominal };
  };
  return {
    title: keyedAgc.title,
    parts: keyedParts(v, tube),
    tubes,
    knobs: {
      // tap and tips hang on one supply: the set's own control keeps their difference
      cathodeSupply: exact('cathodeVoltage'),
      tipVoltage: exact('tipVoltage'),
      ...(pentode ? { screenSupply: supplyKnob(v, 'screenSupply') } : {}),
      syncAmplitude: exact('syncAmplitude'),
      flybackPulse: supplyKnob(v, 'flybackPulse'),
      tapResistance: partKnob(v, 'tapResistance'),
      gridResistor: partKnob(v, 'gridResistor'),
      plateResistor: partKnob(v, 'plateResistor'),
      dividerUpper: partKnob(v, 'dividerUpper'),
      dividerLower: partKnob(v, 'dividerLower'),
    },
    spine: { p: ['h', 7], g: ['h', row(pentode)], k: ['h', 33] },
    watch: ['p', 'g', 'k', 'm', 'l'],
  };
}

const row = (pentode: boolean): number => (pentode ? 26 : 24);

/** A pentode's grid with its socket and wiring (from memory). Three time constants lead from black nearly to the tip. */
const GRID_F = 8e-12;
const TIP_SHARE = KEYED_LEVELS[0]!.share;

const PRACTICE = 'common practice, no source';

export const keyedAgc: Stage = {
  id: 'keyed-agc',
  title: 'Keyed AGC',
  does: 'Makes a television set’s control voltage out of the sync tips, while the flyback pulse stands.',
  source:
    'Fink, Television Engineering Handbook (1957), automatic gain control; receiving-tube handbooks (from memory)',
  families: ['pentode', 'triode'],
  tubes: 1,
  values: KEYED_AGC_VALUES,
  circuit,
  steps: KEYED_AGC_STEPS,
  measures: KEYED_AGC_MEASURES,
  limits: [
    {
      measure: 'contrastShift',
      formula: 'contrastShift <= 10',
      reason: 'a tenth more or less contrast is what the control makes up for',
      source: PRACTICE,
    },
    {
      measure: BY_CAPACITORS,
      formula: `${BY_CAPACITORS} <= 10`,
      reason: 'a tenth more contrast is what the control makes up for',
      source: PRACTICE,
    },
    {
      measure: 'agcMost',
      formula: 'agcMost >= 0.5 * newTube.agcMost',
      reason:
        'the strongest station must still be turned down, or the picture overloads and turns negative',
      source: PRACTICE,
    },
    {
      measure: 'agcAtRest',
      formula: 'agcAtRest <= 0.5',
      reason:
        'half a volt without a signal takes the set’s sensitivity, or with the other sign its control',
      source: PRACTICE,
    },
    {
      measure: 'cathodeVoltage',
      formula: 'cathodeVoltage <= max(heaterCathodeRating, 1.02 * newTube.cathodeVoltage)',
      reason:
        'beyond its rating the insulation between heater and cathode breaks down sooner or later',
      source:
        'maximum ratings of the type; where the set itself is beyond it that is the set’s doing (common practice, no source)',
      needs: ['heaterCathode_V'],
    },
  ],
  gridCircuit: ['gridResistor'],
  neverAtRest: true,
  noTransient: true,
  transient: (v) => ({
    frequency_Hz: numberOf(v, 'lineRate'),
    settling_s:
      5 *
      Math.max(
        (numberOf(v, 'plateResistor') + numberOf(v, 'dividerUpper')) *
          numberOf(v, 'filterCapacitor'),
        numberOf(v, 'tapResistance') * numberOf(v, 'cathodeBypass'),
        numberOf(v, 'plateResistor') * numberOf(v, 'plateCapacitor'),
      ),
  }),
  doubts: (v) =>
    3 * numberOf(v, 'gridResistor') * GRID_F > 0.1 * TIP_SHARE * (1 / numberOf(v, 'lineRate'))
      ? [
          'Behind so much resistance the grid is late on the sync tips: there is less AGC voltage than is shown, for a new tube too.',
        ]
      : [],
};
