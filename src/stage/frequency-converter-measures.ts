import { fundamental, meanOf } from '../numerics/harmonics.ts';
import type { MeasureSpec, PinVolts, Step, Traces } from '../types.ts';
import { circuit, electrodesOf } from './frequency-converter-circuit.ts';
import { LINE, lineSettings, sourceBeside } from './frequency-converter-line.ts';
import {
  LARGE_VIEW,
  loopMeasures,
  loopSteps,
  RAMP,
  RUNNING,
  runningDrive,
  whileRunning,
  withRamp,
  type Oscillator,
} from './oscillation.ts';
import { gridShift, meanVolts, noValue } from './signals.ts';
import { loadOf, pinVolts } from './tube-currents.ts';
import { numberOf, numbersOf } from './values.ts';

/** What is simulated of a frequency converter, and what is measured of it. */

/** Grid current ends the growth long before: swings up to here, or this share of the screen supply, are looked at. */
const MOST_SWING_V = 40;
const MOST_SWING = 0.4;

const OSCILLATOR: Oscillator = {
  grid: 'g1',
  supplies: ['supply', 'screenSupply'],
  lowest: 'lowEndPercent',
  most_V: (v) => Math.min(MOST_SWING_V, MOST_SWING * numberOf(v, 'screenSupply')),
  circuit,
  bypass: 'screenBypass',
};

export const FREQUENCY_CONVERTER_STEPS: readonly Step[] = [
  ...loopSteps(OSCILLATOR),
  {
    id: LINE,
    view: () => LARGE_VIEW,
    settings: (_v, _own, _central, t) => lineSettings(runningDrive(t, OSCILLATOR), t),
  },
  {
    id: RUNNING,
    view: () => LARGE_VIEW,
    // the signal grid hardly moves the current that oscillates: the swing is that of the first AGC voltage
    settings: (v, _own, _central, traces) => {
      const drive = runningDrive(traces, OSCILLATOR);
      return drive === undefined
        ? []
        : withRamp(
            numbersOf(v, 'agcVoltages').map((agc_V) => ({
              drive,
              knobs: { agcVoltage: sourceBeside(traces, agc_V) },
            })),
          );
    },
  },
];

/** Pin volts over the oscillator's cycle with the signal at one of the AGC voltages. */
function pinsAt(t: Traces, setting: number): PinVolts[] {
  return pinVolts(t, RUNNING, setting, electrodesOf(t.values));
}

/** Plate current at each phase with one electrode moved, A. */
function movedPlate(
  t: Traces,
  pins: readonly PinVolts[],
  electrode: 'signalGrid' | 'plate',
  by_V: number,
): number[] {
  return pins.map(
    (pin) =>
      t.models[0]!.currents({ ...pin, [electrode]: pin[electrode]! + by_V }, t.states[0]!).plate ??
      0,
  );
}

/**
 * Conversion transconductance, S: half the fundamental of the signal grid's transconductance over the oscillator's phase.
 * All else stands still as the signal grid moves: the screens and the line are bypassed, the tap is a low impedance.
 */
function conversion_S(t: Traces, setting: number): number {
  const pins = pinsAt(t, setting);
  const d = 1e-3;
  const [up, down] = [movedPlate(t, pins, 'signalGrid', d), movedPlate(t, pins, 'signalGrid', -d)];
  return fundamental(up.map((amps, k) => (amps - down[k]!) / (2 * d))) / 2;
}

/** Plate conductance of the mean current, S. */
function plate_S(t: Traces, setting: number): number {
  const pins = pinsAt(t, setting);
  const d = 0.02 + 1e-3 * Math.abs(meanVolts(t, RUNNING, setting, 'p'));
  const [up, down] = [movedPlate(t, pins, 'plate', d), movedPlate(t, pins, 'plate', -d)];
  return (meanOf(up) - meanOf(down)) / (2 * d);
}

/** Index of the medium signal in the list of AGC voltages: where the line is told. */
const mediumOf = (t: Traces): number => Math.min(RAMP + 1, strongOf(t));
const strongOf = (t: Traces): number => t.settings(RUNNING).length - 1;

export const FREQUENCY_CONVERTER_MEASURES: readonly MeasureSpec[] = [
  ...loopMeasures(OSCILLATOR),
  {
    id: 'conversionTransconductance',
    title: 'Conversion transconductance',
    unit: 'S',
    step: RUNNING,
    what: 'Current at the intermediate frequency for a small signal, at the weakest AGC voltage.',
    of: whileRunning((t) => conversion_S(t, RAMP)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'conversionTransconductanceMedium',
    title: 'Conversion transconductance, medium signal',
    unit: 'S',
    step: RUNNING,
    what: 'The same at the second AGC voltage of the list.',
    of: whileRunning((t) => conversion_S(t, mediumOf(t))),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'conversionTransconductanceStrong',
    title: 'Conversion transconductance, strong signal',
    unit: 'S',
    step: RUNNING,
    what: 'The same at the last AGC voltage of the list.',
    of: whileRunning((t) => conversion_S(t, strongOf(t))),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'conversionGain',
    title: 'Conversion gain',
    unit: '×',
    step: RUNNING,
    what: 'Intermediate frequency at the plate over the signal at its grid, at the weakest AGC voltage.',
    of: whileRunning(
      (t) => conversion_S(t, RAMP) / (1 / t.knob('tunedImpedance') + plate_S(t, RAMP)),
    ),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gridVoltage',
    title: 'Signal grid voltage',
    unit: 'V',
    step: RUNNING,
    what: 'Signal grid to chassis at the second AGC voltage.',
    of: whileRunning((t) => meanVolts(t, RUNNING, mediumOf(t), 'g3')),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'biasShift',
    title: 'Signal grid bias shift',
    unit: 'V',
    step: RUNNING,
    what: 'How far the signal grid stands from where a new tube puts it, at the second AGC voltage.',
    of: whileRunning((_, own, newTube) => gridShift(own, newTube)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'agcDelivered',
    title: 'AGC delivered',
    unit: '%',
    step: RUNNING,
    what: 'Signal grid voltage over the second AGC voltage: what reaches the grid of what the detector makes.',
    of: whileRunning((t) => {
      const agc = numbersOf(t.values, 'agcVoltages')[mediumOf(t) - RAMP]!;
      return agc === 0
        ? noValue('the second AGC voltage is 0')
        : (100 * meanVolts(t, RUNNING, mediumOf(t), 'g3')) / agc;
    }),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Plate and screen current',
    unit: 'A',
    step: RUNNING,
    what: 'Means over the oscillator’s cycle, together, at the weakest AGC voltage.',
    of: whileRunning((t) => {
      const { plate_A, screen_A } = loadOf(t, pinsAt(t, RAMP));
      return plate_A + screen_A;
    }),
    readings: ['emission', 'leakage'],
  },
];
