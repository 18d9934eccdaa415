import type { ValueSpec } from '../types.ts';
import { gridInputValues } from './grid-input.ts';
import { HEATER_VALUES } from './heater-supply.ts';
import { lowestFrequency } from './low-loss.ts';
import { COMMON_VALUES } from './values.ts';

export const CAPACITOR = 'through a capacitor';
export const DIRECT = 'directly';

/** What a socket of this stage can be told, with its defaults: a receiver's video output with a frame of 4 Mc (from memory). */
export const VIDEO_OUTPUT_VALUES: Readonly<Record<string, ValueSpec>> = {
  supply: {
    title: 'plate supply',
    unit: 'V',
    default: 250,
    low: 20,
    high: 500,
    tolerance_percent: 0,
  },
  plateLoad: {
    title: 'plate load',
    unit: 'ohm',
    default: 3900,
    low: 200,
    high: 50e3,
    tolerance_percent: 10,
  },
  shuntPeaking: {
    title: 'peaking coil in series with the load (0: none)',
    unit: 'H',
    default: 120e-6,
    low: 0,
    high: 10e-3,
    tolerance_percent: 0,
  },
  seriesPeaking: {
    title: 'peaking coil to the picture tube (0: none)',
    unit: 'H',
    default: 0,
    low: 0,
    high: 10e-3,
    tolerance_percent: 0,
  },
  strayCapacitance: {
    title: 'capacitance of the picture tube and the wiring',
    unit: 'F',
    default: 15e-12,
    low: 0,
    high: 1e-9,
    tolerance_percent: 0,
    help: "Beside the tube's own output capacitance, which is known.",
  },
  screenSupply: {
    title: 'screen supply',
    unit: 'V',
    default: 180,
    low: 10,
    high: 500,
    tolerance_percent: 0,
  },
  screenDropper: {
    title: 'screen resistor (0: none)',
    unit: 'ohm',
    default: 0,
    low: 0,
    high: 1e6,
    tolerance_percent: 10,
  },
  screenBypass: {
    title: 'screen bypass (with a screen resistor)',
    unit: 'F',
    default: 10e-6,
    low: 1e-9,
    high: 1e-3,
    tolerance_percent: 0,
  },
  cathodeResistor: {
    title: 'cathode resistor (0: grounded)',
    unit: 'ohm',
    default: 100,
    low: 0,
    high: 10e3,
    tolerance_percent: 10,
  },
  cathodeBypass: {
    title: 'cathode bypass (0: none)',
    unit: 'F',
    default: 0,
    low: 0,
    high: 1e-2,
    tolerance_percent: 0,
  },
  gridFeed: {
    title: 'how the video comes to the grid',
    unit: '',
    default: CAPACITOR,
    low: 0,
    high: 0,
    tolerance_percent: 0,
    choices: [CAPACITOR, DIRECT],
    help: 'Directly from the detector or a plate: its direct voltage and its resistance are the grid’s.',
  },
  ...gridInputValues({ gridResistor: 470e3, sourceResistance: 3900, couplingFrom: 0 }),
  drive: {
    title: 'video at the source, peak to peak',
    unit: 'V',
    default: 4,
    low: 0.01,
    high: 100,
    tolerance_percent: 0,
  },
  signalFrequency: {
    title: 'frequency of the middle of the band',
    unit: 'Hz',
    default: 20e3,
    low: 1e3,
    high: 1e6,
    tolerance_percent: 0,
    help: 'Where couplings and bypasses are shorts, and stray capacitance and coils do not act yet.',
  },
  lowestFrequency: lowestFrequency('field frequency', 60),
  ...HEATER_VALUES,
  ...COMMON_VALUES,
};
