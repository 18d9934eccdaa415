import type { ValueSpec } from '../types.ts';
import { gridInputValues } from './grid-input.ts';
import { HEATER_VALUES } from './heater-supply.ts';
import { lowestFrequency } from './low-loss.ts';
import { COMMON_VALUES } from './values.ts';

/** What a socket of this stage can be told, with its defaults: typical of published circuits (from memory). */
export const RC_AMPLIFIER_VALUES: Readonly<Record<string, ValueSpec>> = {
  supply: {
    title: 'plate supply',
    unit: 'V',
    default: 250,
    low: 5,
    high: 600,
    tolerance_percent: 0,
  },
  plateLoad: {
    title: 'plate load',
    unit: 'ohm',
    default: 100e3,
    low: 1e3,
    high: 5e6,
    tolerance_percent: 10,
  },
  cathodeResistor: {
    title: 'cathode resistor (0: grounded)',
    unit: 'ohm',
    default: 1500,
    low: 0,
    high: 100e3,
    tolerance_percent: 10,
  },
  cathodeBypass: {
    title: 'cathode bypass (0: none)',
    unit: 'F',
    default: 25e-6,
    low: 0,
    high: 1e-2,
    tolerance_percent: 0,
  },
  screenDropper: {
    title: 'screen resistor (pentode)',
    unit: 'ohm',
    default: 1e6,
    low: 100,
    high: 20e6,
    tolerance_percent: 10,
  },
  screenBypass: {
    title: 'screen bypass (pentode; 0: none)',
    unit: 'F',
    default: 0.1e-6,
    low: 0,
    high: 1e-3,
    tolerance_percent: 0,
  },
  ...gridInputValues({ gridResistor: 1e6, sourceResistance: 47e3, couplingFrom: 0 }),
  outputCapacitor: {
    title: 'coupling capacitor at the plate',
    unit: 'F',
    default: 22e-9,
    low: 1e-12,
    high: 1e-3,
    tolerance_percent: 0,
  },
  nextGridResistor: {
    title: 'grid resistor of the next stage',
    unit: 'ohm',
    default: 470e3,
    low: 1e3,
    high: 50e6,
    tolerance_percent: 10,
  },
  signalFrequency: {
    title: 'signal frequency',
    unit: 'Hz',
    default: 1000,
    low: 10,
    high: 20e3,
    tolerance_percent: 0,
  },
  lowestFrequency: lowestFrequency('lowest note', 50),
  usualSignal: {
    title: 'signal at the source in ordinary use, rms',
    unit: 'V',
    default: 0.5,
    low: 1e-4,
    high: 100,
    tolerance_percent: 0,
    help: 'What hum is compared with: 5 mV of a magnetic pickup, 0.5 V of a crystal pickup or a detector.',
  },
  ...HEATER_VALUES,
  ...COMMON_VALUES,
};
