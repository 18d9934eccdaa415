import type { ValueSpec } from '../types.ts';
import { BIAS_LINE_VALUES } from './bias-line.ts';
import { gridInputValues } from './grid-input.ts';
import { HEATER_VALUES } from './heater-supply.ts';
import { lowestFrequency } from './low-loss.ts';
import { COMMON_VALUES } from './values.ts';

/** What a socket of this stage can be told, with its defaults: a radio's output stage with a small beam tube (from memory). */
export const OUTPUT_SINGLE_ENDED_VALUES: Readonly<Record<string, ValueSpec>> = {
  plateSupply: {
    title: 'plate supply',
    unit: 'V',
    default: 250,
    low: 5,
    high: 800,
    tolerance_percent: 0,
  },
  screenSupply: {
    title: 'screen supply (pentode)',
    unit: 'V',
    default: 250,
    low: 5,
    high: 600,
    tolerance_percent: 0,
  },
  screenDropper: {
    title: 'screen resistor (pentode; 0: none)',
    unit: 'ohm',
    default: 0,
    low: 0,
    high: 1e6,
    tolerance_percent: 10,
  },
  screenBypass: {
    title: 'screen bypass (pentode, with a screen resistor; 0: none)',
    unit: 'F',
    default: 10e-6,
    low: 0,
    high: 1e-3,
    tolerance_percent: 0,
  },
  fixedBias: {
    title: 'grid bias from a supply (fixed bias)',
    unit: 'V',
    default: null,
    low: -200,
    high: 0,
    tolerance_percent: 0,
    help: 'Where it is given the cathode is grounded and the cathode resistor is not used.',
  },
  ...BIAS_LINE_VALUES,
  cathodeResistor: {
    title: 'cathode resistor (without fixed bias; 0: grounded)',
    unit: 'ohm',
    default: 270,
    low: 0,
    high: 20e3,
    tolerance_percent: 10,
  },
  cathodeBypass: {
    title: 'cathode bypass (0: none)',
    unit: 'F',
    default: 50e-6,
    low: 0,
    high: 1e-2,
    tolerance_percent: 0,
  },
  ...gridInputValues({ gridResistor: 470e3, sourceResistance: 50e3, couplingFrom: 120 }),
  loadResistance: {
    title: 'load, referred to the primary',
    unit: 'ohm',
    default: 5e3,
    low: 50,
    high: 200e3,
    tolerance_percent: 10,
  },
  primaryResistance: {
    title: 'DC resistance of the primary',
    unit: 'ohm',
    default: 250,
    low: 1,
    high: 20e3,
    tolerance_percent: 10,
  },
  primaryInductance: {
    title: 'primary inductance',
    unit: 'H',
    default: 10,
    low: 0.01,
    high: 1e3,
    tolerance_percent: 0,
    help: 'A short for DC, next to nothing for the signal: only hum, the loss at the lowest note and --transient look at its value.',
  },
  drive: {
    title: 'drive at the source, peak',
    unit: 'V',
    default: 12,
    low: 0.01,
    high: 300,
    tolerance_percent: 0,
    help: 'What the stage before gives at full output, before its own resistance.',
  },
  signalFrequency: {
    title: 'signal frequency',
    unit: 'Hz',
    default: 1000,
    low: 20,
    high: 20e3,
    tolerance_percent: 0,
  },
  lowestFrequency: lowestFrequency('lowest note', 50),
  ...HEATER_VALUES,
  ...COMMON_VALUES,
};
