import { firstCrossing } from '../numerics/crossings.ts';
import type { MeasureSpec, MeasureValue, Traces } from '../types.ts';
import { circuit, hasCathodeResistor } from './agc-if-amplifier-circuit.ts';
import { LINE, loopOf, type Held } from './agc-if-amplifier-loop.ts';
import { modulationLoss_dB } from './agc-line-audio.ts';
import { carrierMeasures } from './carrier-loss.ts';
import { LOW_NOTES } from './faults.ts';
import { fundamentalVolts, gridShift, isNumber, meanVolts, noValue } from './signals.ts';
import { numberOf, numbersOf } from './values.ts';

export const SMALL = 'small';
export const LARGE = 'large';
/** Change of the carrier gain that counts as overload, dB: the envelope is then visibly bent (common practice, no source). */
const OVERLOAD_dB = 1;

/** Index of the medium signal in the list of AGC voltages: where bias and its shift are told. */
const MEDIUM = 1;
const mediumOf = (t: Traces): number => Math.min(MEDIUM, t.settings(SMALL).length - 1);
const strongOf = (t: Traces): number => t.settings(SMALL).length - 1;

const gainAt = (t: Traces, setting: number): number =>
  fundamentalVolts(t, SMALL, setting, 'p') / t.settings(SMALL)[setting]!.drive;

const BEYOND = noValue('the line is lifted beyond anything that the grids could hold');

const strongest = (t: Traces): number => loopOf(t).levels.length - 1;

function heldNumber(t: Traces, level: number, of: (held: Held) => number): MeasureValue {
  const held = loopOf(t).levels[level];
  return held === undefined ? BEYOND : of(held);
}

/** Carrier at the detector with a new tube over that with this one, dB; 0 for the new tube itself. */
function loss_dB(t: Traces, level: number): MeasureValue {
  if (t.newTube === undefined) return heldNumber(t, level, () => 0);
  const fresh = loopOf(t.newTube).levels[level];
  return fresh === undefined
    ? BEYOND
    : heldNumber(t, level, (held) => 20 * Math.log10(fresh.detector_V / held.detector_V));
}

/** At the signal level where it is largest. */
function lowNotesLoss_dB(t: Traces): MeasureValue {
  const { line, levels } = loopOf(t);
  const losses = levels.map((held) =>
    held === undefined
      ? undefined
      : modulationLoss_dB(
          {
            line,
            line_V: held.line_V,
            detector_V: held.detector_V,
            contact_V: t.knob('detectorContact'),
            delay_V: numberOf(t.values, 'agcDelay'),
          },
          numberOf(t.values, 'lineCapacitor'),
          numberOf(t.values, 'lowestFrequency'),
        ),
  );
  const known = losses.filter((loss) => loss !== undefined);
  return known.length < losses.length ? BEYOND : Math.max(...known);
}

/** Drive at which the gain first leaves the small-signal gain, up or down. It often rises a little before it falls. */
function overload_V(t: Traces, small: number): MeasureValue {
  const settings = t.settings(LARGE);
  const change_dB = settings.map(
    ({ drive }, i) => 20 * Math.log10(fundamentalVolts(t, LARGE, i, 'p') / drive / small),
  );
  if (Math.abs(change_dB[0]!) >= OVERLOAD_dB)
    return noValue('overload already at the smallest signal tried');
  const logs = settings.map(({ drive }) => Math.log(drive));
  const found = [OVERLOAD_dB, -OVERLOAD_dB]
    .map((level) => firstCrossing(logs, change_dB, level, { method: 'monotoneCubic' }))
    .filter((log) => log !== undefined);
  return found.length > 0
    ? Math.exp(Math.min(...found))
    : noValue('overload not reached at the largest signal tried', settings.at(-1)!.drive);
}

export const AGC_IF_AMPLIFIER_MEASURES: readonly MeasureSpec[] = [
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
      const agc = numbersOf(t.values, 'agcVoltages')[mediumOf(t)]!;
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
    id: 'lineStrong',
    title: 'AGC line, strong signal',
    unit: 'V',
    step: LINE,
    what: 'Where the loop through the detector puts the line at the strongest signal level.',
    of: (t) => heldNumber(t, strongest(t), (held) => held.line_V),
    readings: ['leakage', 'emission'],
  },
  {
    id: 'audioChange',
    title: 'Audio change, loop closed',
    unit: 'dB',
    step: LINE,
    what: 'How far the carrier at the detector is from what a new tube gives, louder or weaker, at the signal level where it is farthest; the weakest level is told by the weak-signal loss.',
    of: (t) => {
      const all = loopOf(t).levels.map((_, i) => loss_dB(t, i));
      const told = all.length > 1 ? all.slice(1) : all;
      return (
        told.find((each) => !isNumber(each)) ?? Math.max(...told.map((x) => Math.abs(Number(x))))
      );
    },
    readings: ['leakage', 'emission'],
  },
  {
    id: 'weakSignalLoss',
    title: 'Weak-signal loss',
    unit: 'dB',
    step: LINE,
    what: 'How much less carrier than with a new tube the detector has at the weakest signal level, loop closed: by transconductance, and by grids that conduct and load their tuned circuits.',
    of: (t) => loss_dB(t, 0),
    readings: ['emission', 'leakage'],
  },
  {
    id: LOW_NOTES,
    title: 'Low notes taken by the AGC',
    unit: 'dB',
    step: LINE,
    what: 'How much less shallow modulation by the lowest note the detector has than with a line that does not follow it, loop closed, at the signal level where that is most.',
    of: lowNotesLoss_dB,
    readings: ['leakage', 'emission'],
  },
  ...carrierMeasures(SMALL, 'intermediate frequency', (t) => ({
    rest: SMALL,
    circuit: circuit(t.values, t.models),
    carrier_Hz: numberOf(t.values, 'intermediateFrequency'),
    grid: 'g',
    plate: 'p',
  })),
  {
    id: 'overload',
    title: 'Overload at the grid',
    unit: 'V',
    alternating: true,
    step: LARGE,
    what: 'Peak carrier at the grid circuit at which the gain has changed by 1 dB, with the line where the loop holds it at the strongest signal level.',
    of: (t) => {
      const held = loopOf(t).levels.at(-1);
      return held === undefined ? BEYOND : overload_V(t, loopOf(t).own.gain(held.line_V));
    },
    readings: ['leakage', 'emission'],
  },
  {
    id: 'overloadMargin',
    title: 'Overload margin',
    unit: '×',
    step: LARGE,
    what: 'Overload at the grid over the carrier that stands there at the strongest signal level, loop closed.',
    of: (t, own) => {
      const overload = own['overload'];
      const held = loopOf(t).levels.at(-1);
      if (held === undefined || overload === undefined) return BEYOND;
      if (isNumber(overload)) return overload / held.grid_V;
      return overload.atLeast === undefined
        ? overload
        : noValue(overload.noValue, overload.atLeast / held.grid_V);
    },
    readings: ['leakage', 'emission'],
  },
];
