import { firstCrossing } from '../numerics/crossings.ts';
import { sampledCurve } from '../numerics/interpolate.ts';
import { meanOf } from '../numerics/harmonics.ts';
import type { MeasureValue, NoValue, Setting, Traces, View } from '../types.ts';
import { drives, isNumber, noValue } from './signals.ts';

/**
 * What oscillators share: quasi-static harmonic balance. The tuned circuit is held at a few amplitudes; at each of them the
 * grid leak finds its bias and the fundamental of the tube's currents returns an amplitude of its own. Returned over held is
 * the loop gain. The oscillator starts where that of a small swing is above 1; the swing grows, the bias grows with it, and
 * it stays where the loop gain has fallen to 1.
 *
 * Source: B. van der Pol, "The nonlinear theory of electric oscillations", Proc. IRE 22 (1934) 1051; Terman, "Radio
 * Engineers' Handbook" (1943), sec. 6 (both from memory).
 */

/** Swing that counts as small, V peak: far below kT/q of a hot cathode. */
export const SMALL_V = 0.02;
/** Two copies carry a small swing, and these a large one: amplitudes to half a percent, tested against four times as many. */
export const SMALL_VIEW: View = { as: 'phases', count: 2 };
export const LARGE_VIEW: View = { as: 'phases', count: 8 };

/** Amplitudes tried where nothing is known. */
const TRY_FROM_V = 0.2;
const TRY_COUNT = 14;
/** For draws, about the central case's amplitude: one that is hardly started varies more. */
const STRONG_GAIN = 3;
const NEAR = [0.7, 1, 1.35];
const NEAR_WEAK = [0.4, 0.7, 1, 1.4, 2];

/** Swings at which to look, rising. */
export interface Known {
  /** This subject's loop gain of a small swing. */
  readonly own: MeasureValue | undefined;
  /** The central case's amplitude and loop gain, where there is one. */
  readonly central?: {
    readonly swing: MeasureValue | undefined;
    readonly gain: MeasureValue | undefined;
  };
}

/**
 * Near the central case's amplitude where that is known, else up to `most_V`. A draw that does not start has none; a
 * central case that does not start has all, to say whether it would go on.
 */
export function swings(most_V: number, { own, central }: Known): Setting[] {
  if (central !== undefined && !(isNumber(own) && own > 1)) return [];
  const around = central?.swing;
  if (!isNumber(around)) return drives(TRY_FROM_V, most_V, TRY_COUNT);
  const strong = isNumber(central?.gain) && central.gain >= STRONG_GAIN;
  return (strong ? NEAR : NEAR_WEAK).map((share) => ({ drive: share * around }));
}

/** A small swing and larger ones of the same circuit, in two steps: which settings of them belong together. */
export interface Sweep {
  readonly small: { readonly step: string; readonly setting: number };
  readonly large: { readonly step: string; readonly settings: readonly number[] };
  /** Node at which the tuned circuit returns what the tube makes of the swing. */
  readonly returned: string;
  /** Impedance of the tuned circuit over the simulated one: what comes back is proportional to it. */
  readonly impedance: number;
}

/** Loop gain of a small swing. */
export const startGain = (t: Traces, { small, returned, impedance }: Sweep): number =>
  (impedance * meanOf(t.volts(small.step, small.setting, returned))) / SMALL_V;

/** Where the swing stays, V peak. No number where it does not start, or still grows at the largest that was tried. */
export function steadySwing(t: Traces, sweep: Sweep): number | NoValue {
  const first = startGain(t, sweep);
  const { step, settings } = sweep.large;
  const held = settings.map((i) => t.settings(step)[i]!.drive);
  const gains = settings.map(
    (i, k) => (sweep.impedance * meanOf(t.volts(step, i, sweep.returned))) / held[k]!,
  );
  if (first <= 1)
    return noValue(
      `it does not oscillate: a small swing returns ${first.toFixed(2)} of itself, and more than 1 is needed${Math.max(...gains) > 1 ? ' (a large one would go on, once there)' : ''}`,
    );
  const found = firstCrossing([SMALL_V, ...held].map(Math.log), [first, ...gains], 1, {
    method: 'monotoneCubic',
  });
  return found === undefined
    ? noValue('the swing still grows at the largest amplitude tried', held.at(-1)!)
    : Math.exp(found);
}

/** A quantity of the sweep at a swing between its own, by a smooth curve over the logarithm of the swing. */
export function atSwing(
  t: Traces,
  { small, large }: Sweep,
  swing_V: number,
  quantity: (step: string, setting: number) => number,
): number {
  const held = large.settings.map((i) => t.settings(large.step)[i]!.drive);
  const values = large.settings.map((i) => quantity(large.step, i));
  const curve = sampledCurve([SMALL_V, ...held].map(Math.log), [
    quantity(small.step, small.setting),
    ...values,
  ]);
  return curve.at(Math.log(swing_V)) ?? NaN;
}
