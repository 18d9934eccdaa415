import { fundamental, meanOf } from '../numerics/harmonics.ts';
import type {
  Measures,
  MeasureSpec,
  MeasureValue,
  PinVolts,
  Setting,
  StageValues,
  Step,
  Traces,
} from '../types.ts';
import {
  atSwing,
  LARGE_VIEW,
  SMALL_V,
  SMALL_VIEW,
  startGain,
  steadySwing,
  swings,
  type Known,
  type Sweep,
} from './oscillation.ts';
import { gridShift, isNumber, meanVolts, noValue } from './signals.ts';
import { loadOf, pinVolts, type ElectrodeNodes } from './tube-currents.ts';
import { LOWEST_LINE, lineFactor, numberOf, numbersOf } from './values.ts';

/** What is simulated of a frequency converter, and what is measured of it. */

const START = 'start';
const LOOP = 'loop';
const RUNNING = 'running';
export const RETURNED = 'back';

/** Amplitudes are looked for up to here, or this share of the screen supply: grid current ends the growth long before. */
const MOST_SWING_V = 40;
const MOST_SWING = 0.4;
const mostSwing = (v: StageValues): number =>
  Math.min(MOST_SWING_V, MOST_SWING * numberOf(v, 'screenSupply'));

const lowEnd = (v: StageValues): number => numberOf(v, 'lowEndPercent') / 100;

/** The same swings at the lowest line voltage. */
function atLowLine(v: StageValues, settings: readonly Setting[]): Setting[] {
  const line = lineFactor(v, LOWEST_LINE);
  const knobs = {
    supply: line * numberOf(v, 'supply'),
    screenSupply: line * numberOf(v, 'screenSupply'),
  };
  return settings.map(({ drive }) => ({ drive, knobs, lowLine: true }));
}

export const FREQUENCY_CONVERTER_STEPS: readonly Step[] = [
  {
    id: START,
    view: () => SMALL_VIEW,
    settings: (v) => [{ drive: SMALL_V }, ...atLowLine(v, [{ drive: SMALL_V }])],
  },
  {
    id: LOOP,
    view: () => LARGE_VIEW,
    // up at the line voltage of the draw and down again at the lowest, so that neighbours are alike
    settings: (v, own, central) => [
      ...swings(mostSwing(v), knownOf(own, central, 'loopGain', 'oscillatorVoltage')),
      ...atLowLine(
        v,
        swings(mostSwing(v), knownOf(own, central, 'startMargin', 'oscillatorVoltageLow')),
      ).reverse(),
    ],
  },
  {
    id: RUNNING,
    view: () => LARGE_VIEW,
    // the signal grid hardly moves the current that oscillates: the swing is that of the first AGC voltage
    settings: (v, own) => {
      const drive = own['oscillatorVoltage'];
      return isNumber(drive)
        ? numbersOf(v, 'agcVoltages').map((agcVoltage) => ({ drive, knobs: { agcVoltage } }))
        : [];
    },
  },
];

const knownOf = (
  own: Measures,
  central: Measures | undefined,
  gain: string,
  swing: string,
): Known => ({
  own: own[gain],
  ...(central === undefined ? {} : { central: { gain: central[gain], swing: central[swing] } }),
});

function sweepOf(t: Traces, low: boolean): Sweep {
  const settings = t
    .settings(LOOP)
    .flatMap((setting, i) => ((setting.lowLine === true) === low ? [i] : []));
  return {
    small: { step: START, setting: low ? 1 : 0 },
    large: { step: LOOP, settings: low ? settings.reverse() : settings },
    returned: RETURNED,
    impedance: low ? lowEnd(t.values) : 1,
  };
}

const hasTap = (v: StageValues): boolean => v['feedback']?.value !== 'winding at the screens';

/** Pin volts over the oscillator's cycle with the signal at one of the AGC voltages. */
function pinsAt(t: Traces, setting: number): PinVolts[] {
  const nodes: ElectrodeNodes = {
    plate: 'p',
    screen: 's',
    oscillatorGrid: 'g1',
    signalGrid: 'g3',
    cathode: hasTap(t.values) ? 'k' : '0',
  };
  return pinVolts(t, RUNNING, setting, nodes);
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

/** A measure of the running oscillator: no number, and why, where it does not run. */
const whileRunning =
  (of: (t: Traces, own: Measures, newTube: Measures | undefined) => MeasureValue) =>
  (t: Traces, own: Measures, newTube: Measures | undefined): MeasureValue => {
    if (t.settings(RUNNING).length > 0) return of(t, own, newTube);
    const why = own['oscillatorVoltage'];
    return noValue(typeof why === 'object' ? why.noValue : 'it does not oscillate');
  };

/** Index of the medium signal in the list of AGC voltages: where the line is told. */
const mediumOf = (t: Traces): number => Math.min(1, t.settings(RUNNING).length - 1);
const strongOf = (t: Traces): number => t.settings(RUNNING).length - 1;

export const FREQUENCY_CONVERTER_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'loopGain',
    title: 'Loop gain at the start',
    unit: '×',
    step: START,
    what: 'What a small swing of the oscillator circuit returns, of itself, in the middle of the band.',
    of: (t) => startGain(t, sweepOf(t, false)),
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'startMargin',
    title: 'Start margin',
    unit: '×',
    step: START,
    what: 'The same at the lowest line voltage and the low end of the band: below 1 the oscillator does not start there.',
    of: (t) => startGain(t, sweepOf(t, true)),
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'oscillatorVoltage',
    title: 'Oscillator voltage',
    unit: 'V',
    step: LOOP,
    what: 'Peak across the oscillator circuit, in the middle of the band.',
    of: (t) => steadySwing(t, sweepOf(t, false)),
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'oscillatorVoltageLow',
    title: 'Oscillator voltage, low end and low line',
    unit: 'V',
    step: LOOP,
    what: 'The same at the lowest line voltage and the low end of the band.',
    of: (t) => steadySwing(t, sweepOf(t, true)),
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'oscillatorGridVoltageLow',
    title: 'Oscillator grid voltage, low end and low line',
    unit: 'V',
    step: LOOP,
    what: 'Mean of the oscillator grid to the cathode at the lowest line voltage and the low end of the band.',
    of: (t, own) => {
      const swing = own['oscillatorVoltageLow'];
      if (!isNumber(swing)) return noValue(swing?.noValue ?? 'it does not oscillate');
      return atSwing(t, sweepOf(t, true), swing, (step, i) => meanVolts(t, step, i, 'g1'));
    },
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'oscillatorGridVoltage',
    title: 'Oscillator grid voltage',
    unit: 'V',
    step: RUNNING,
    what: 'Mean of the oscillator grid to the cathode, in the middle of the band: what a meter with a resistor at its tip reads.',
    of: whileRunning((t) => meanVolts(t, RUNNING, 0, 'g1')),
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'oscillatorGridCurrent',
    title: 'Oscillator grid current',
    unit: 'A',
    step: RUNNING,
    what: 'Mean through the grid leak: what handbooks state of a converter.',
    of: whileRunning((t) => -meanVolts(t, RUNNING, 0, 'g1') / t.knob('gridLeak')),
    readings: ['emission', 'starvedHeater'],
  },
  {
    id: 'conversionTransconductance',
    title: 'Conversion transconductance',
    unit: 'S',
    step: RUNNING,
    what: 'Current at the intermediate frequency for a small signal, at the weakest AGC voltage.',
    of: whileRunning((t) => conversion_S(t, 0)),
    readings: ['emission', 'starvedHeater', 'leakage'],
  },
  {
    id: 'conversionTransconductanceMedium',
    title: 'Conversion transconductance, medium signal',
    unit: 'S',
    step: RUNNING,
    what: 'The same at the second AGC voltage of the list.',
    of: whileRunning((t) => conversion_S(t, mediumOf(t))),
    readings: ['emission', 'starvedHeater', 'leakage'],
  },
  {
    id: 'conversionTransconductanceStrong',
    title: 'Conversion transconductance, strong signal',
    unit: 'S',
    step: RUNNING,
    what: 'The same at the last AGC voltage of the list.',
    of: whileRunning((t) => conversion_S(t, strongOf(t))),
    readings: ['emission', 'starvedHeater', 'leakage'],
  },
  {
    id: 'conversionGain',
    title: 'Conversion gain',
    unit: '×',
    step: RUNNING,
    what: 'Intermediate frequency at the plate over the signal at its grid, at the weakest AGC voltage.',
    of: whileRunning((t) => conversion_S(t, 0) / (1 / t.knob('tunedImpedance') + plate_S(t, 0))),
    readings: ['emission', 'starvedHeater', 'leakage'],
  },
  {
    id: 'gridVoltage',
    title: 'Signal grid voltage',
    unit: 'V',
    step: RUNNING,
    what: 'Signal grid to chassis at the second AGC voltage.',
    of: whileRunning((t) => meanVolts(t, RUNNING, mediumOf(t), 'g3')),
    readings: ['leakage'],
  },
  {
    id: 'biasShift',
    title: 'Signal grid bias shift',
    unit: 'V',
    step: RUNNING,
    what: 'How far the signal grid stands from where a new tube puts it, at the second AGC voltage.',
    of: whileRunning((_, own, newTube) => gridShift(own, newTube)),
    readings: ['leakage'],
  },
  {
    id: 'agcDelivered',
    title: 'AGC delivered',
    unit: '%',
    step: RUNNING,
    what: 'Signal grid voltage over the second AGC voltage: what reaches the grid of what the detector makes.',
    of: whileRunning((t) => {
      const agc = t.settings(RUNNING)[mediumOf(t)]!.knobs!['agcVoltage']!;
      return agc === 0
        ? noValue('the second AGC voltage is 0')
        : (100 * meanVolts(t, RUNNING, mediumOf(t), 'g3')) / agc;
    }),
    readings: ['leakage'],
  },
  {
    id: 'plateCurrent',
    title: 'Plate and screen current',
    unit: 'A',
    step: RUNNING,
    what: 'Means over the oscillator’s cycle, together, at the weakest AGC voltage.',
    of: whileRunning((t) => {
      const { plate_A, screen_A } = loadOf(t, pinsAt(t, 0));
      return plate_A + screen_A;
    }),
    readings: ['emission', 'leakage'],
  },
];
