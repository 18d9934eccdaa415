import type { ValueSpec } from '../types.ts';
import { leakValue } from './faults.ts';
import { COMMON_VALUES } from './values.ts';

/** A choice of `feedback`. */
export const CAPACITORS = 'two capacitors, cathode grounded';

/** What a socket of this stage can be told, with its defaults: typical of published circuits (from memory). */
export const LOCAL_OSCILLATOR_VALUES: Readonly<Record<string, ValueSpec>> = {
  supply: {
    title: 'plate supply',
    unit: 'V',
    default: 150,
    low: 5,
    high: 400,
    tolerance_percent: 0,
  },
  plateLoad: {
    title: 'plate resistor',
    unit: 'ohm',
    default: 10e3,
    low: 100,
    high: 220e3,
    tolerance_percent: 10,
  },
  plateCapacitor: {
    title: 'plate capacitor',
    unit: 'F',
    default: 1e-9,
    low: 10e-12,
    high: 1e-6,
    tolerance_percent: 0,
    help: 'To chassis with a tapped coil, to the tuned circuit with two capacitors.',
  },
  plateCapacitorLeakage: leakValue(
    'leakage of the plate capacitor',
    'It pulls the plate down through its resistor.',
  ),
  feedback: {
    title: 'oscillator feedback',
    unit: '',
    default: 'coil tap at the cathode',
    low: 0,
    high: 0,
    tolerance_percent: 0,
    choices: ['coil tap at the cathode', CAPACITORS],
  },
  feedbackShare: {
    title: 'swing between plate and cathode, of the whole',
    unit: '',
    default: 0.25,
    low: 0.01,
    high: 0.95,
    tolerance_percent: 0,
    help: 'Turns up to the tap over all turns; with two capacitors, the grid’s over the sum of both.',
  },
  gridLeak: {
    title: 'grid leak',
    unit: 'ohm',
    default: 22e3,
    low: 1e3,
    high: 2e6,
    tolerance_percent: 10,
  },
  gridCapacitor: {
    title: 'grid capacitor',
    unit: 'F',
    default: 50e-12,
    low: 5e-12,
    high: 10e-9,
    tolerance_percent: 0,
  },
  oscillatorFrequency: {
    title: 'frequency, middle of the band',
    unit: 'Hz',
    default: 20e6,
    low: 50e3,
    high: 1e9,
    tolerance_percent: 0,
  },
  tankImpedance: {
    title: 'impedance of the tuned circuit, middle of the band',
    unit: 'ohm',
    default: 14e3,
    low: 100,
    high: 2e6,
    tolerance_percent: 10,
    help: 'At resonance, without the tube: 2 pi frequency times inductance times Q.',
  },
  worstEndPercent: {
    title: 'that impedance at the end of the band where it is lowest, of the middle',
    unit: '%',
    default: 60,
    low: 10,
    high: 100,
    tolerance_percent: 0,
    help: 'The low end with a tuning capacitor; the high end where a switch or slug takes turns off.',
  },
  tankQ: {
    title: 'Q of the tuned circuit, without the tube',
    unit: '',
    default: 50,
    low: 5,
    high: 500,
    tolerance_percent: 0,
  },
  ...COMMON_VALUES,
};
