import { responseAt, smallSignal } from '../circuit/small-signal.ts';
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
 * Cathode follower: no gain, a low output impedance, the cathode far above the heater.
 *
 * Source: Radiotron Designer's Handbook, 4th ed., ch. 7 section 2 (from memory).
 */

const TITLE = 'Cathode follower';
const PRACTICE = 'common practice, no source';

const circuit = (v: StageValues, tubes: readonly TubeModel[]) =>
  cathodeLoadedCircuit(TITLE, v, tubes);

const MEASURES: readonly MeasureSpec[] = [
  {
    id: 'gain',
    title: 'Gain',
    unit: '×',
    step: SMALL,
    what: 'Output over source signal, small signal, below 1.',
    of: (t) => gainTo(t, 'o'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputImpedance',
    title: 'Output impedance',
    unit: 'ohm',
    step: SMALL,
    what: 'What a load sees at the cathode at the signal frequency, the load itself left out.',
    of: (t) => {
      const linear = smallSignal(circuit(t.values, t.models), {
        ...t,
        rest: (node) => (node === '0' ? 0 : meanVolts(t, SMALL, 0, node)),
      });
      const loaded = responseAt(linear, numberOf(t.values, 'signalFrequency'))({ into: 'k' }, 'k');
      const siemens = 1 / loaded - 1 / t.knob('nextGridResistor');
      return siemens > 0 ? 1 / siemens : noValue('the load is all there is');
    },
    readings: ['emission', 'leakage'],
  },
  {
    id: 'outputAt5PercentDistortion',
    title: 'Output at 5 % distortion',
    unit: 'V',
    step: LARGE,
    what: 'Peak output at which the harmonics reach 5 % of the fundamental.',
    of: (t) => whereDistorted(t, ['o'], (i) => fundamentalVolts(t, LARGE, i, 'o')),
    readings: ['emission', 'leakage'],
  },
];

export const cathodeFollower: Stage = {
  id: 'cathode-follower',
  title: TITLE,
  does: 'Drives a cable, a tone control or a grid that draws current from a low impedance.',
  source: "Radiotron Designer's Handbook, 4th ed., ch. 7 (from memory)",
  families: ['triode'],
  tubes: 1,
  values: cathodeLoadedValues({
    supply: 250,
    biasResistor: 2200,
    nextGridResistor: 100e3,
    usualSignal: 1,
  }),
  circuit,
  steps: cathodeLoadedSteps(['outputAt5PercentDistortion']),
  measures: [
    ...CATHODE_LOADED_MEASURES,
    ...MEASURES,
    ...humMeasures(
      SMALL,
      { of: (t) => humAt(t, circuit(t.values, t.models), SMALL, 'o'), where: 'at the output' },
      {
        of: (t, own) => numberOr(own, 'gain', 0) * numberOf(t.values, 'usualSignal'),
        what: 'the signal in ordinary use',
      },
    ),
  ],
  limits: [
    {
      measure: 'gain',
      formula: 'gain >= 0.9 * newTube.gain',
      reason: 'a follower gives nearly all of its signal, worn or not',
      source: PRACTICE,
    },
    {
      measure: 'outputImpedance',
      formula: 'outputImpedance <= 1.4 * newTube.outputImpedance',
      reason: 'its low output impedance is what it is there for',
      source: PRACTICE,
    },
    {
      measure: 'outputAt5PercentDistortion',
      formula: 'outputAt5PercentDistortion >= 0.6 * newTube.outputAt5PercentDistortion',
      reason: 'it must still drive what follows without audible distortion',
      source: PRACTICE,
    },
    {
      measure: 'cathodeVoltage',
      formula: 'cathodeVoltage >= 0.8 * newTube.cathodeVoltage',
      reason: 'a cathode that stands a fifth lower clips early',
      source: PRACTICE,
    },
    {
      measure: 'cathodeVoltage',
      formula: 'cathodeVoltage <= 1.2 * newTube.cathodeVoltage',
      reason: 'a cathode that stands a fifth higher has a grid that something lifts',
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
      reason: 'hum forty decibels below the signal is lost in it',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['gridResistor'],
  changeable: [{ key: 'gridResistor', steps: 'E12', way: 'down' }, ...HEATER_CHANGES],
  transient: cathodeLoadedTransient,
  doubts: cathodeLoadedDoubts,
};
