import type { ValueSpec } from '../types.ts';
import { gridInputValues } from './grid-input.ts';
import { HEATER_VALUES } from './heater-supply.ts';
import { COMMON_VALUES } from './values.ts';

/** What a socket of a stage with its load in the cathode can be told: typical of published circuits (from memory). */

export const TAP = 'tap of the cathode resistor';
export const CHASSIS = 'chassis';
export const DIRECT = 'plate of the stage before';

export function cathodeLoadedValues(defaults: {
  readonly supply: number;
  readonly plateLoad?: number;
  readonly biasResistor: number;
  readonly nextGridResistor: number;
  readonly usualSignal: number;
}): Readonly<Record<string, ValueSpec>> {
  return {
    supply: {
      title: 'plate supply',
      unit: 'V',
      default: defaults.supply,
      low: 20,
      high: 600,
      tolerance_percent: 0,
    },
    ...(defaults.plateLoad === undefined
      ? {}
      : {
          plateLoad: {
            title: 'plate load',
            unit: 'ohm',
            default: defaults.plateLoad,
            low: 100,
            high: 1e6,
            tolerance_percent: 5,
          } as const,
        }),
    biasResistor: {
      title: 'bias resistor, from the cathode to the tap (0: none)',
      unit: 'ohm',
      default: defaults.biasResistor,
      low: 0,
      high: 100e3,
      tolerance_percent: 10,
    },
    cathodeResistor: {
      title: 'cathode load, from the tap to chassis',
      unit: 'ohm',
      default: 47e3,
      low: 100,
      high: 1e6,
      tolerance_percent: 5,
    },
    gridFeed: {
      title: 'where the grid takes its direct voltage from',
      unit: '',
      default: TAP,
      low: 0,
      high: 0,
      tolerance_percent: 0,
      choices: [TAP, CHASSIS, DIRECT],
      help: 'Through the grid resistor from the tap or from chassis, or without a coupling capacitor from the plate of the stage before.',
    },
    ...gridInputValues({ gridResistor: 1e6, sourceResistance: 50e3, couplingFrom: 90 }),
    outputCapacitor: {
      title: 'coupling capacitor at the output',
      unit: 'F',
      default: 0.1e-6,
      low: 1e-12,
      high: 1e-3,
      tolerance_percent: 0,
    },
    nextGridResistor: {
      title: 'load after it',
      unit: 'ohm',
      default: defaults.nextGridResistor,
      low: 500,
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
    usualSignal: {
      title: 'signal at the source in ordinary use, rms',
      unit: 'V',
      default: defaults.usualSignal,
      low: 1e-3,
      high: 200,
      tolerance_percent: 0,
      help: 'What hum is compared with.',
    },
    ...HEATER_VALUES,
    ...COMMON_VALUES,
  };
}
