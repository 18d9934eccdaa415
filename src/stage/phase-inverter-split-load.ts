import type { MeasureSpec, Stage, StageValues, TubeModel } from '../types.ts';
import {
  CATHODE_LOADED_MEASURES,
  cathodeLoadedCircuit,
  cathodeLoadedDoubts,
  cathodeLoadedSteps,
  cathodeLoadedTransient,
  gainTo,
  LARGE,
  SMALL,
  whereDistorted,
} from './cathode-loaded.ts';
import { cathodeLoadedValues } from './cathode-loaded-values.ts';
import { HEATER_CHANGES } from './heater-changes.ts';
import { humAt, humMeasures } from './heater-supply.ts';
import { fundamentalVolts, meanVolts, noValue, numberOr } from './signals.ts';
import { numberOf } from './values.ts';

/**
 * Split-load phase inverter: one triode with equal loads at plate and cathode, two outputs of opposite phase.
 *
 * Source: Radiotron Designer's Handbook, 4th ed., ch. 12 section 6 (from memory).
 */

const TITLE = 'Split-load phase inverter';
const PRACTICE = 'common practice, no source';

const circuit = (v: StageValues, tubes: readonly TubeModel[]) =>
  cathodeLoadedCircuit(TITLE, v, tubes);

const MEASURES: readonly MeasureSpec[] = [
  {
    id: 'plateVoltage',
    title: 'Plate voltage',
    unit: 'V',
    step: SMALL,
    what: 'Plate to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'p'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gain',
    title: 'Gain to the cathode output',
    unit: '×',
    step: SMALL,
    what: 'Output at the cathode over source signal, small signal.',
    of: (t) => gainTo(t, 'o'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateGain',
    title: 'Gain to the plate output',
    unit: '×',
    step: SMALL,
    what: 'Output at the plate over source signal, small signal.',
    of: (t) => gainTo(t, 'op'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'unbalance',
    title: 'Unbalance',
    unit: '%',
    step: SMALL,
    what: 'Difference of the two outputs over their mean, small signal.',
    of: (t, own) => {
      const [a, b] = [numberOr(own, 'gain', 0), numberOr(own, 'plateGain', 0)];
      return a + b > 0 ? (200 * Math.abs(a - b)) / (a + b) : noValue('there is no output');
    },
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputAt5PercentDistortion',
    title: 'Output at 5 % distortion',
    unit: 'V',
    step: LARGE,
    what: 'Peak output, of the smaller of the two, at which the worse of them reaches 5 % distortion.',
    of: (t) =>
      whereDistorted(t, ['o', 'op'], (i) =>
        Math.min(fundamentalVolts(t, LARGE, i, 'o'), fundamentalVolts(t, LARGE, i, 'op')),
      ),
    readings: ['emission', 'leakage'],
  },
];

export const phaseInverterSplitLoad: Stage = {
  id: 'phase-inverter-split-load',
  title: TITLE,
  does: 'Makes two signals of opposite phase for a push-pull output stage, with one triode.',
  source: "Radiotron Designer's Handbook, 4th ed., ch. 12 (from memory)",
  families: ['triode'],
  tubes: 1,
  values: cathodeLoadedValues({
    supply: 300,
    plateLoad: 47e3,
    biasResistor: 2200,
    nextGridResistor: 470e3,
    usualSignal: 3,
  }),
  circuit,
  steps: cathodeLoadedSteps(['outputAt5PercentDistortion']),
  measures: [
    ...MEASURES.slice(0, 1),
    ...CATHODE_LOADED_MEASURES,
    ...MEASURES.slice(1),
    ...humMeasures(
      SMALL,
      {
        of: (t) => humAt(t, circuit(t.values, t.models), SMALL, 'o'),
        where: 'at the output of the cathode',
      },
      {
        of: (t, own) => numberOr(own, 'gain', 0) * numberOf(t.values, 'usualSignal'),
        what: 'the signal in ordinary use',
      },
    ),
  ],
  limits: [
    {
      measure: 'gain',
      formula: 'gain >= 0.85 * newTube.gain',
      reason: 'both outputs are nearly the signal itself, worn or not',
      source: PRACTICE,
    },
    {
      measure: 'unbalance',
      formula: 'unbalance <= newTube.unbalance + 5',
      reason: 'the output stage wants halves that are equal within a tenth or so',
      source: PRACTICE,
    },
    {
      measure: 'outputAt5PercentDistortion',
      formula: 'outputAt5PercentDistortion >= 0.7 * newTube.outputAt5PercentDistortion',
      reason: 'the output tubes need their full drive',
      source: PRACTICE,
    },
    {
      measure: 'cathodeVoltage',
      formula: 'cathodeVoltage >= 0.75 * newTube.cathodeVoltage',
      reason: 'a quarter less current is a quarter less swing',
      source: PRACTICE,
    },
    {
      measure: 'cathodeVoltage',
      formula: 'cathodeVoltage <= 1.15 * newTube.cathodeVoltage',
      reason: 'cathode and plate close in on each other, and something lifts the grid',
      source: PRACTICE,
    },
    {
      measure: 'heaterCathodeVoltage',
      formula:
        'heaterCathodeVoltage <= max(heaterCathodeRating, 1.1 * newTube.heaterCathodeVoltage)',
      reason: 'beyond its rating the insulation of the heater breaks down',
      source:
        'maximum rating of the type; where the set itself runs new tubes beyond it, a tenth more than those (common practice, no source)',
    },
    {
      measure: 'humLevel',
      formula: 'humLevel <= -40',
      reason: 'hum on one output only is not balanced out by the other',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridResistor'],
  changeable: [{ key: 'gridResistor', steps: 'E12', way: 'down' }, ...HEATER_CHANGES],
  transient: cathodeLoadedTransient,
  doubts: cathodeLoadedDoubts,
};
