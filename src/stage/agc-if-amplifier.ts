import type {
  Circuit,
  MeasureSpec,
  Part,
  Stage,
  StageValues,
  Step,
  Traces,
  TubeModel,
} from '../types.ts';
import { exactKnob, numberOf, numbersOf, partKnob, supplyKnob } from './values.ts';
import {
  drives,
  fundamentalVolts,
  isNumber,
  meanVolts,
  noValue,
  outputWhere,
  gridShift,
} from './signals.ts';

import { AGC_IF_AMPLIFIER_VALUES } from './agc-if-amplifier-values.ts';

/**
 * IF amplifier on an AGC line, at given AGC voltages (the line's source is held). Signal enters through the tuned grid
 * circuit and leaves across the tuned plate circuit: both carry only the fundamental.
 *
 * Source: Radiotron Designer's Handbook ch. 26-27 and receiving-tube handbooks (from memory); line values 1 to 3.3 Mohm
 * with 0.05 to 0.1 uF from receiver practice (from memory).
 */

const SMALL = 'small';
const LARGE = 'large';
const SMALL_DRIVE_V = 0.005;
/** Change of the carrier gain that counts as overload, dB: the envelope is then visibly bent (common practice, no source). */
const OVERLOAD_dB = 1;

const hasCathodeResistor = (v: StageValues): boolean => numberOf(v, 'cathodeResistor') > 0;
/** Keeps the grid coil a pure tuned circuit: its own loss is in the source's series resistance. */
const COIL_FACTOR = 100;

function circuit(v: StageValues, tubes: readonly TubeModel[]): Circuit {
  const cathode = hasCathodeResistor(v) ? 'k' : '0';
  const gridTank = numberOf(v, 'gridTankImpedance');
  const q = numberOf(v, 'loadedQ');
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
      at: [45, 15],
      name: 'screen B+',
      edits: 'screenSupply',
    },
    {
      kind: 'supply',
      id: 'A',
      nodes: ['agc', '0'],
      value: { knob: 'agcVoltage' },
      at: [42, 41],
      name: 'AGC',
      edits: 'agcVoltages',
    },
    { kind: 'signal', id: 'S', nodes: ['in', '0'], at: [7, 23], drawn: false },
    { kind: 'resistor', id: 'RS', nodes: ['in', 'a'], value: gridTank, at: [7, 23], drawn: false },
    { kind: 'capacitor', id: 'CS', nodes: ['a', 'g'], value: 1e-9, at: [7, 23], drawn: false },
    {
      kind: 'tank',
      id: 'T1',
      nodes: ['line', 'g'],
      impedance: COIL_FACTOR * gridTank,
      loadedQ: COIL_FACTOR * q,
      stray_F: tubes[0]!.capacitances.input + tubes[0]!.capacitances.gridPlate,
      at: [12, 31],
      orientation: 180,
      name: 'from the mixer',
      edits: 'gridTankImpedance',
    },
    {
      kind: 'capacitor',
      id: 'C1',
      nodes: ['line', '0'],
      value: numberOf(v, 'lineCapacitor'),
      at: [18, 31],
      edits: 'lineCapacitor',
    },
    {
      kind: 'resistor',
      id: 'R4',
      nodes: ['line', '0'],
      value: { knob: 'lineCapacitorLeakage' },
      at: [26, 31],
      edits: 'lineCapacitorLeakage',
    },
    {
      kind: 'resistor',
      id: 'R1',
      nodes: ['agc', 'line'],
      value: { knob: 'agcLineResistance' },
      at: [42, 41],
      orientation: 90,
      edits: 'agcLineResistance',
    },
    {
      kind: 'tube',
      id: 'V1',
      nodes: { plate: 'p', screen: 's', grid: 'g', cathode, heater: '0' },
      tube: 0,
      at: [30, 21],
    },
    {
      kind: 'tank',
      id: 'T2',
      nodes: ['b', 'p'],
      impedance: { knob: 'tunedImpedance' },
      loadedQ: q,
      stray_F: tubes[0]!.capacitances.output + tubes[0]!.capacitances.gridPlate,
      at: [30, 3],
      name: 'to the detector',
      edits: 'tunedImpedance',
    },
    {
      kind: 'resistor',
      id: 'R2',
      nodes: ['bs', 's'],
      value: { knob: 'screenDropper' },
      at: [45, 15],
      edits: 'screenDropper',
    },
    {
      kind: 'capacitor',
      id: 'C3',
      nodes: ['s', '0'],
      value: numberOf(v, 'screenBypass'),
      at: [45, 21],
      edits: 'screenBypass',
    },
    ...(hasCathodeResistor(v)
      ? ([
          {
            kind: 'resistor',
            id: 'R3',
            nodes: ['k', '0'],
            value: { knob: 'cathodeResistor' },
            at: [33, 28],
            edits: 'cathodeResistor',
          },
          {
            kind: 'capacitor',
            id: 'C2',
            nodes: ['k', '0'],
            value: numberOf(v, 'cathodeBypass'),
            at: [40, 28],
            edits: 'cathodeBypass',
          },
        ] as Part[])
      : []),
  ];
  return {
    title: agcIfAmplifier.title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      screenSupply: supplyKnob(v, 'screenSupply'),
      agcVoltage: exactKnob(numbersOf(v, 'agcVoltages')[0]!, 'agcVoltage'),
      agcLineResistance: partKnob(v, 'agcLineResistance'),
      lineCapacitorLeakage: exactKnob(numberOf(v, 'lineCapacitorLeakage'), 'lineCapacitorLeakage'),
      screenDropper: partKnob(v, 'screenDropper'),
      tunedImpedance: partKnob(v, 'tunedImpedance'),
      ...(hasCathodeResistor(v) ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
    },
    spine: { line: ['v', 12] },
    watch: ['b', 'p', 's', 'g', 'line', ...(hasCathodeResistor(v) ? ['k'] : [])],
  };
}

/** Index of the medium signal in the list of AGC voltages: where bias and its shift are told. */
const MEDIUM = 1;
const mediumOf = (t: Traces): number => Math.min(MEDIUM, t.settings(SMALL).length - 1);
const strongOf = (t: Traces): number => t.settings(SMALL).length - 1;

const gainAt = (t: Traces, setting: number): number =>
  fundamentalVolts(t, SMALL, setting, 'p') / t.settings(SMALL)[setting]!.drive;

const steps: readonly Step[] = [
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: (v) =>
      numbersOf(v, 'agcVoltages').map((agcVoltage) => ({
        drive: SMALL_DRIVE_V,
        knobs: { agcVoltage },
      })),
  },
  {
    id: LARGE,
    // the tank leaves only the fundamental: four phases carry it exactly up to the sixth harmonic of the current
    view: () => ({ as: 'phases', count: 4, substeps: 4 }),
    settings: (v, _own, central) => {
      const agcVoltage = numbersOf(v, 'agcVoltages').at(-1)!;
      const around = central?.['overload'];
      if (isNumber(around)) return drives(0.5 * around, 1.7 * around, 3, { agcVoltage });
      // beyond this the grid is deep in current and nothing is left of the envelope
      return drives(0.1, 1.5 * Math.abs(agcVoltage) + 4, 12, { agcVoltage });
    },
  },
];

const measures: readonly MeasureSpec[] = [
  {
    id: 'gain',
    title: 'Gain, no signal',
    unit: '×',
    step: SMALL,
    what: 'Plate circuit over grid circuit voltage at the weakest AGC voltage.',
    of: (t) => gainAt(t, 0),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gainMedium',
    title: 'Gain, medium signal',
    unit: '×',
    step: SMALL,
    what: 'The same at the second AGC voltage of the list.',
    of: (t) => gainAt(t, mediumOf(t)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gainStrong',
    title: 'Gain, strong signal',
    unit: '×',
    step: SMALL,
    what: 'The same at the last AGC voltage of the list.',
    of: (t) => gainAt(t, strongOf(t)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gridVoltage',
    title: 'Grid voltage',
    unit: 'V',
    step: SMALL,
    what: 'Grid to chassis at the second AGC voltage.',
    of: (t) => meanVolts(t, SMALL, mediumOf(t), 'g'),
    readings: ['leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Cathode current, no signal',
    unit: 'A',
    step: SMALL,
    what: 'Plate and screen together, at the weakest AGC voltage.',
    of: (t) => {
      if (hasCathodeResistor(t.values))
        return meanVolts(t, SMALL, 0, 'k') / t.knob('cathodeResistor');
      return noValue('the cathode is grounded: no resistor to tell it by');
    },
    readings: ['emission', 'leakage'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: SMALL,
    what: 'How far the grid stands from where a new tube puts it, at the second AGC voltage.',
    of: (_, own, newTube) => gridShift(own, newTube),
    readings: ['leakage'],
  },
  {
    id: 'agcDelivered',
    title: 'AGC delivered',
    unit: '%',
    step: SMALL,
    what: 'Grid voltage over the second AGC voltage: what reaches the grid of what the detector makes.',
    of: (t) => {
      const agc = t.settings(SMALL)[mediumOf(t)]!.knobs!['agcVoltage']!;
      return agc === 0
        ? noValue('the second AGC voltage is 0')
        : (100 * meanVolts(t, SMALL, mediumOf(t), 'g')) / agc;
    },
    readings: ['leakage'],
  },
  {
    id: 'controlRange',
    title: 'Control range',
    unit: 'dB',
    step: SMALL,
    what: 'Gain at the weakest over gain at the strongest AGC voltage.',
    of: (t) => 20 * Math.log10(gainAt(t, 0) / gainAt(t, strongOf(t))),
    readings: ['leakage', 'emission'],
  },
  {
    id: 'overload',
    title: 'Overload at the grid',
    unit: 'V',
    step: LARGE,
    what: 'Peak carrier at the grid circuit, at the strongest AGC voltage, at which the gain has changed by 1 dB.',
    of: (t) => {
      const small = gainAt(t, strongOf(t));
      const drive = (i: number): number => t.settings(LARGE)[i]!.drive;
      const change = (i: number): number =>
        Math.abs(20 * Math.log10(fundamentalVolts(t, LARGE, i, 'p') / drive(i) / small));
      return outputWhere(t, LARGE, drive, change, OVERLOAD_dB, 'overload');
    },
    readings: ['leakage', 'emission'],
  },
];

const PRACTICE = 'common practice, no source';

export const agcIfAmplifier: Stage = {
  id: 'agc-if-amplifier',
  title: 'IF amplifier on an AGC line',
  does: 'Amplifies the intermediate frequency under automatic gain control.',
  source: "Radiotron Designer's Handbook ch. 26-27; receiving-tube handbooks (from memory)",
  families: ['pentode'],
  tubes: 1,
  values: AGC_IF_AMPLIFIER_VALUES,
  circuit,
  steps,
  measures,
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
      measure: 'overload',
      formula: 'overload >= 0.5 * newTube.overload',
      reason: 'half the carrier that a new tube takes before it bends the envelope',
      source: PRACTICE,
    },
  ],
  gridCircuit: ['agcLineResistance'],
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
