import type { Measures, MeasureValue, NoValue, Setting, Traces } from '../types.ts';
import { fundamental, meanOf, thdPercent, valueAtPeak } from '../numerics/harmonics.ts';
import { firstCrossing } from '../numerics/crossings.ts';
import { firstSummit } from '../numerics/summit.ts';
import { interpolateLinear } from '../numerics/interpolate.ts';

/** What stages share when they look at phase samples. Samples are at theta_k = (k + 1/2) pi / K. */

export const isNumber = (value: MeasureValue | undefined): value is number =>
  typeof value === 'number';

export const noValue = (text: string, atLeast?: number): NoValue =>
  atLeast === undefined ? { noValue: text } : { noValue: text, atLeast };

/** Mean over the cycle, V. */
export const meanVolts = (t: Traces, step: string, setting: number, node: string): number =>
  meanOf(t.volts(step, setting, node));

/** Fundamental amplitude, V peak, unsigned. */
export const fundamentalVolts = (t: Traces, step: string, setting: number, node: string): number =>
  Math.abs(fundamental(t.volts(step, setting, node)));

/** A quantity at each setting of a step. */
export function along(t: Traces, step: string, of: (setting: number) => number): number[] {
  return t.settings(step).map((_, i) => of(i));
}

/**
 * Output (V peak) at the drive where `quantity` first reaches `level`. Quantities that grow like powers of the drive
 * are interpolated in logarithms. One that turns back at the level between two drives has reached it.
 *
 * When the level is not reached within the drives tried, the answer is "at least" the largest output seen; when it is
 * already exceeded at the smallest, there is no number.
 */
export function outputWhere(
  t: Traces,
  step: string,
  output: (setting: number) => number,
  quantity: (setting: number) => number,
  level: number,
  what: string,
): MeasureValue {
  const logDrive = t.settings(step).map((s) => Math.log(s.drive));
  const tiny = level * 1e-9;
  const logQuantity = along(t, step, (i) => Math.log(Math.max(quantity(i), tiny)));
  const outputs = along(t, step, output);
  if (logQuantity[0]! >= Math.log(level))
    return noValue(`${what} already at the smallest signal tried`);
  const at =
    firstSummit(logDrive, logQuantity, Math.log(level)) ??
    firstCrossing(logDrive, logQuantity, Math.log(level));
  if (at === undefined) {
    const largest = Math.max(...outputs);
    return noValue(`${what} not reached at the largest signal tried`, largest);
  }
  return (
    interpolateLinear(logDrive, outputs, at) ?? noValue(`${what} lies outside the signals tried`)
  );
}

/** Distortion of a node, percent of the fundamental. */
export const distortionPercent = (t: Traces, step: string, setting: number, node: string): number =>
  thdPercent(t.volts(step, setting, node));

/** The node's voltage at the positive peak of the drive: the harmonics summed at theta = 0. */
export const peakVolts = (t: Traces, step: string, setting: number, node: string): number =>
  valueAtPeak(t.volts(step, setting, node));

/** Settings without those whose drive does not rise: where a tube is ruined, what is near the central answer may not exist. */
export const rising = (settings: readonly Setting[]): Setting[] =>
  settings.filter(({ drive }, i) => settings.slice(0, i).every((before) => drive > before.drive));

/** Drives from `low` to `high`, evenly spaced in logarithm, as settings. */
export function drives(
  low: number,
  high: number,
  count: number,
  knobs?: Setting['knobs'],
): Setting[] {
  return Array.from({ length: count }, (_, i) => ({
    drive: low * (high / low) ** (i / (count - 1)),
    ...(knobs === undefined ? {} : { knobs }),
  }));
}

/** A measure as a number, or a fallback. */
export const numberOr = (measures: Measures | undefined, id: string, fallback: number): number => {
  const found = measures?.[id];
  return isNumber(found) ? found : fallback;
};

/** How far the grid stands from where a new tube puts it, V; 0 for the new tube itself. Needs the measure `gridVoltage`. */
export function gridShift(own: Measures, newTube: Measures | undefined): MeasureValue {
  if (newTube === undefined) return 0;
  const [mine, reference] = [own['gridVoltage'], newTube['gridVoltage']];
  return isNumber(mine) && isNumber(reference)
    ? Math.abs(mine - reference)
    : noValue('the new tube has no grid voltage to compare with');
}
