import type {
  LimitSpec,
  MeasureSpec,
  Measures,
  Stage,
  StageValues,
  Step,
  Traces,
} from '../types.ts';
import { HEATER_CHANGES } from './heater-changes.ts';
import { humAt, humMeasures, USUAL_HEATER_RATING_V, usualHeaterRating_V } from './heater-supply.ts';
import { LONG_TAIL_VALUES, longTailCircuit, nodesAt } from './phase-inverter-long-tail-circuit.ts';
import {
  distortionPercent,
  drives,
  fundamentalVolts,
  isNumber,
  meanVolts,
  noValue,
  numberOr,
  outputWhere,
} from './signals.ts';
import { numberOf, textOf } from './values.ts';

/**
 * Long-tailed pair as a phase inverter: two triodes that share their cathodes' current, the second driven by the first
 * through the common cathode, its grid at rest for the signal.
 *
 * Source: Radiotron Designer's Handbook, 4th ed., ch. 12 section 6, cathode-coupled phase inverter (from memory).
 */

const TITLE = 'Long-tailed-pair phase inverter';
const PRACTICE = 'common practice, no source';
const SMALL = 'small';
const LARGE = 'large';
const SMALL_DRIVE_V = 0.05;

type Place = 0 | 1;
const ofPlace = (name: string, place: Place): string => (place === 0 ? name : `${name}2`);

const gainTo = (t: Traces, place: Place): number =>
  fundamentalVolts(t, SMALL, 0, nodesAt(place).output) / SMALL_DRIVE_V;

/** Largest signal worth trying: the tail's current all on one side, and the grid into current. */
const largestDrive = (own: Measures): number => 4 * Math.abs(numberOr(own, 'gridBias', 2)) + 3;

const STEPS: readonly Step[] = [
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: () => [{ drive: SMALL_DRIVE_V }],
  },
  {
    id: LARGE,
    view: () => ({ as: 'phases', count: 8 }),
    settings: (_, own, central) => {
      const largest = largestDrive(own);
      const near = central?.['driveAt5PercentDistortion'];
      return isNumber(near)
        ? drives(0.6 * near, Math.min(1.7 * near, 1.5 * largest), 5)
        : drives(0.03 * largest, largest, central === undefined ? 12 : 6);
    },
  },
];

function measuresOf(place: Place): MeasureSpec[] {
  const n = place + 1;
  const { plate, grid } = nodesAt(place);
  const id = (name: string): string => ofPlace(name, place);
  return [
    {
      id: id('plateVoltage'),
      title: `Plate voltage ${n}`,
      unit: 'V',
      step: SMALL,
      what: 'Plate to chassis, no signal.',
      of: (t) => meanVolts(t, SMALL, 0, plate),
      readings: ['emission', 'leakage'],
    },
    {
      id: id('plateCurrent'),
      title: `Plate current ${n}`,
      unit: 'A',
      step: SMALL,
      what: 'Through the plate load, no signal.',
      of: (t) =>
        (meanVolts(t, SMALL, 0, 'b') - meanVolts(t, SMALL, 0, plate)) / t.knob(id('plateLoad')),
      readings: ['emission', 'leakage'],
    },
    {
      id: id('gridVoltage'),
      title: `Grid voltage ${n}`,
      unit: 'V',
      step: SMALL,
      what: 'Grid to chassis, no signal.',
      of: (t) => meanVolts(t, SMALL, 0, grid),
      readings: ['leakage'],
    },
    {
      id: id('gridBias'),
      title: `Grid bias ${n}`,
      unit: 'V',
      step: SMALL,
      what: 'Grid to cathode, no signal.',
      of: (t) => meanVolts(t, SMALL, 0, grid) - meanVolts(t, SMALL, 0, 'k'),
      readings: ['emission', 'leakage'],
    },
    {
      id: id('biasShift'),
      title: `Grid bias shift ${n}`,
      unit: 'V',
      step: SMALL,
      what: 'How far grid current and leakage lift the grid from the top of the tail.',
      of: (t) => Math.abs(meanVolts(t, SMALL, 0, grid) - meanVolts(t, SMALL, 0, 't')),
      readings: ['leakage'],
    },
    {
      id: id('gain'),
      title: `Gain to output ${n}`,
      unit: '×',
      step: SMALL,
      what: `Output of plate ${n} over source signal, small signal, all capacitors as shorts for it.`,
      of: (t) => gainTo(t, place),
      readings: ['emission', 'leakage'],
    },
  ];
}

const worst = (t: Traces, i: number): number =>
  Math.max(...([0, 1] as const).map((p) => distortionPercent(t, LARGE, i, nodesAt(p).output)));

const smaller = (t: Traces, i: number): number =>
  Math.min(...([0, 1] as const).map((p) => fundamentalVolts(t, LARGE, i, nodesAt(p).output)));

const atDistortion = (t: Traces, answer: (i: number) => number) =>
  outputWhere(t, LARGE, answer, (i) => worst(t, i), 5, '5 % distortion');

const OF_BOTH: readonly MeasureSpec[] = [
  {
    id: 'unbalance',
    title: 'Unbalance',
    unit: '%',
    step: SMALL,
    what: 'Difference of the two outputs over their mean, small signal.',
    of: (_, own) => {
      const [a, b] = [numberOr(own, 'gain', 0), numberOr(own, 'gain2', 0)];
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
    of: (t) => atDistortion(t, (i) => smaller(t, i)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'driveAt5PercentDistortion',
    title: 'Signal at 5 % distortion',
    unit: 'V',
    step: LARGE,
    what: 'Peak signal at the source that gives it.',
    of: (t) => atDistortion(t, (i) => t.settings(LARGE)[i]!.drive),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gridReturn',
    title: 'Top of the tail',
    unit: 'V',
    step: SMALL,
    what: 'Where the grids’ resistors lead, to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 't'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'cathodeVoltage',
    title: 'Cathode voltage',
    unit: 'V',
    step: SMALL,
    what: 'Both cathodes to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'k'),
    readings: ['emission', 'leakage', 'heaterCathode'],
  },
  {
    id: 'heaterCathodeVoltage',
    title: 'Heater to cathode voltage',
    unit: 'V',
    step: SMALL,
    what: 'Direct voltage between the cathodes and the heater’s supply, either way, with the peak of the heater’s own beside it.',
    of: (t) => {
      const { values } = t;
      const string =
        textOf(values, 'heaterSupply') === 'series string'
          ? numberOf(values, 'heaterStringVolts')
          : 0;
      const own = Math.SQRT2 * (numberOf(values, 'heaterVolts') + string);
      const direct = meanVolts(t, SMALL, 0, 'k') - numberOf(values, 'heaterRaisedBy');
      return Math.abs(direct) + (textOf(values, 'heaterSupply') === 'DC' ? 0 : own);
    },
    readings: [],
  },
  {
    id: 'heaterCathodeRating',
    title: 'Rated heater to cathode voltage',
    unit: 'V',
    step: SMALL,
    what: `The type's published maximum, the smaller of the two; ${USUAL_HEATER_RATING_V} V, common practice, where it is not known.`,
    of: (t) => Math.min(...t.models.map(usualHeaterRating_V)),
    readings: [],
  },
];

const circuitOf = (t: Traces) => longTailCircuit(TITLE, t.values, t.models);

/** By the leakage of both tubes, at the output where it is larger. */
const hum = (t: Traces): number =>
  Math.max(
    ...([0, 1] as const).map((at) => humAt(t, circuitOf(t), SMALL, nodesAt(at).output, [0, 1])),
  );

const limitsOf = (place: Place): LimitSpec[] => {
  const $ = (name: string): string => ofPlace(name, place);
  return [
    {
      measure: $('gain'),
      formula: `${$('gain')} >= 0.7 * newTube.${$('gain')}`,
      reason: 'three decibels less gain is where a listener turns the control up',
      source: PRACTICE,
    },
    {
      measure: $('plateVoltage'),
      formula: `${$('plateVoltage')} >= 0.8 * newTube.${$('plateVoltage')}`,
      reason:
        'a plate pulled further down clips early and points to a grid that is not where it should be',
      source: PRACTICE,
    },
    {
      measure: $('biasShift'),
      formula: `${$('biasShift')} <= max(0.3, 0.1 * abs(newTube.${$('gridBias')}))`,
      reason:
        'reverse grid current may move the bias by a tenth, or by 0.3 V where the bias is small',
      source: PRACTICE,
    },
  ];
};

const LIMITS: readonly LimitSpec[] = [
  ...limitsOf(0),
  ...limitsOf(1),
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
    measure: 'heaterCathodeVoltage',
    formula: 'heaterCathodeVoltage <= max(heaterCathodeRating, 1.1 * newTube.heaterCathodeVoltage)',
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
];

const transient = (v: StageValues) => ({
  frequency_Hz: numberOf(v, 'signalFrequency'),
  settling_s:
    5 *
    Math.max(
      (numberOf(v, 'gridResistor') + numberOf(v, 'sourceResistance')) *
        numberOf(v, 'couplingCapacitor'),
      numberOf(v, 'gridResistor') * numberOf(v, 'otherGridCapacitor'),
      (numberOf(v, 'nextGridResistor') + numberOf(v, 'plateLoad')) * numberOf(v, 'outputCapacitor'),
    ),
});

export const phaseInverterLongTail: Stage = {
  id: 'phase-inverter-long-tail',
  title: TITLE,
  does: 'Makes two signals of opposite phase for a push-pull output stage, with two triodes and gain.',
  source: "Radiotron Designer's Handbook, 4th ed., ch. 12 (from memory)",
  families: ['triode'],
  tubes: 2,
  values: LONG_TAIL_VALUES,
  circuit: (v, tubes) => longTailCircuit(TITLE, v, tubes),
  steps: STEPS,
  measures: [
    ...measuresOf(0),
    ...measuresOf(1),
    ...OF_BOTH,
    ...humMeasures(
      SMALL,
      { of: hum, where: 'at the output that has more of it' },
      {
        of: (t, own) => numberOr(own, 'gain', 0) * numberOf(t.values, 'usualSignal'),
        what: 'the signal in ordinary use',
      },
    ),
  ],
  limits: LIMITS,
  gridCircuit: ['gridResistor'],
  changeable: [
    { key: 'gridResistor', steps: 'E12', way: 'down' },
    { key: 'biasResistor', steps: 'E24' },
    ...HEATER_CHANGES,
  ],
  transient,
};
