/** Leakage readings of one path -> its conductance hot on the bench. */
import { Z90 } from '../numerics/normal.ts';
import { smoothStep } from '../numerics/smooth-step.ts';
import { leakVolts } from './check.ts';
import type { InstrumentProfile } from './profile.ts';
import type { LeakValue } from './readings.ts';
import { steadyState, type SteadyState, type TimedLeak } from './warm-up.ts';

/** Conductance on the bench, hot: a two-sided log-normal. */
export interface BenchLeak {
  readonly median_S: number;
  readonly sdLow: number;
  readonly sdHigh: number;
  /** Cannot be more than this: the instrument read beyond its scale. */
  readonly atMost_S?: number;
  readonly said: 'value' | 'lowerBound' | 'aboveScale';
  /** The last reading came too early for its end to be sure. */
  readonly early: boolean;
  /** 0 a value on the scale … 1 above it: how far the prior of such tubes speaks. */
  readonly beyond: number;
}

/** A value of this many times the top of the scale is one that nobody could read: above the scale. */
const UNREADABLE = 3;

/** What is known of a leakage above the scale. */
export interface AboveScale {
  readonly median_S: number;
  readonly sd: number;
}

/**
 * Hot steady state on the bench from one or more readings.
 *
 * @param above what tubes have that read beyond a bound
 */
export function benchLeak(
  values: readonly LeakValue[],
  profile: InstrumentProfile,
  above: (below_S: number) => AboveScale,
): BenchLeak {
  const accuracy = profile.leakage.accuracy_percent / 100 / Z90;
  const rows = values.map((value) => conductance(value, profile));
  const last = rows.at(-1);
  if (last === undefined) throw new RangeError('no reading of a leakage');
  if (last.below_S !== undefined) return aboveScale(last.below_S, above(last.below_S));
  const top_S = 1 / profile.leakage.top_ohm;
  const read = valueOnScale(values, rows, accuracy, top_S);
  const beyond = smoothStep(Math.log(top_S / last.siemens) / Math.log(UNREADABLE));
  if (beyond === 0) return read;
  // From the top of the scale to three times as much a value turns into "above the scale" without a step.
  const unread = aboveScale(top_S, above(top_S));
  const blend = (a: number, b: number): number => a ** (1 - beyond) * b ** beyond;
  return {
    median_S: blend(read.median_S, unread.median_S),
    sdLow: blend(read.sdLow, unread.sdLow),
    sdHigh: blend(read.sdHigh, unread.sdHigh),
    atMost_S: top_S * Math.exp(3 * (1 - beyond)),
    said: beyond > 0.5 ? 'aboveScale' : read.said,
    early: beyond > 0.5 ? false : read.early,
    beyond,
  };
}

function aboveScale(below_S: number, { median_S, sd }: AboveScale): BenchLeak {
  return { median_S, ...both(sd), atMost_S: below_S, said: 'aboveScale', early: false, beyond: 1 };
}

function valueOnScale(
  values: readonly LeakValue[],
  rows: readonly Row[],
  accuracy: number,
  top_S: number,
): BenchLeak {
  const last = rows.at(-1);
  if (last?.siemens === undefined) throw new Error('the last reading is no value');
  if (values.at(-1)?.minutes === undefined) return untimed(last.siemens, accuracy);
  const timed = values.flatMap((value, i): TimedLeak[] => {
    const row = rows[i];
    if (value.minutes === undefined || row === undefined) return [];
    const seconds = Math.max(value.minutes * 60, 5);
    return row.below_S === undefined
      ? [{ seconds, siemens: row.siemens, error: Math.max(1, top_S / row.siemens) ** 2 }]
      : [{ seconds, belowSiemens: row.below_S }];
  });
  const only = timed.length === 1 ? timed[0] : undefined;
  const fit =
    only !== undefined && 'siemens' in only
      ? scaled(singleReading(only.seconds), only.siemens)
      : steadyState(timed, Math.max(accuracy, 0.03));
  if (fit === undefined) return untimed(last.siemens, accuracy);
  // Two thirds, not nine tenths, within the factor 2: the least that round trips bear out.
  const factor2 = fit.early ? Math.log(2) : 0;
  return {
    median_S: fit.median,
    sdLow: Math.max(Math.log(fit.median / fit.low), accuracy, factor2),
    sdHigh: Math.max(
      Math.log(fit.high / fit.median),
      accuracy,
      fit.stillSteepening ? Math.log(6) / Z90 : factor2,
    ),
    said: fit.stillSteepening ? 'lowerBound' : 'value',
    early: fit.early,
    beyond: 0,
  };
}

const scaled = (fit: SteadyState, by: number): SteadyState => ({
  ...fit,
  low: fit.low * by,
  median: fit.median * by,
  high: fit.high * by,
});

/** Nobody wrote down when: as likely after one minute as after two, five or ten. */
function untimed(siemens: number, accuracy: number): BenchLeak {
  const ends = [60, 120, 300, 600].map((seconds) => {
    const fit = singleReading(seconds);
    return { ln: Math.log(fit.median), sd: Math.log(fit.high / fit.low) / 2 };
  });
  const mean = ends.reduce((sum, { ln }) => sum + ln, 0) / ends.length;
  const variance =
    ends.reduce((sum, { ln, sd }) => sum + sd ** 2 + (ln - mean) ** 2, 0) / ends.length;
  return {
    median_S: siemens * Math.exp(mean),
    ...both(Math.hypot(Math.sqrt(variance), accuracy)),
    said: 'value',
    early: true,
    beyond: 0,
  };
}

/** The end of a warm-up that read 1 at this time; the law is linear, so one fit serves every tube. */
const singles = new Map<number, SteadyState>();
const MOST_SINGLES = 500;

function singleReading(seconds: number): SteadyState {
  const before = singles.get(seconds);
  if (before !== undefined) return before;
  const fit = steadyState([{ seconds, siemens: 1 }]);
  if (fit === undefined) throw new Error('one reading has a steady state');
  if (singles.size >= MOST_SINGLES) singles.clear();
  singles.set(seconds, fit);
  return fit;
}

type Row =
  | { readonly siemens: number; readonly below_S?: undefined }
  | { readonly siemens?: undefined; readonly below_S: number };

/** Conductance of one reading, or the bound where it lies beyond the scale. */
function conductance(value: LeakValue, profile: InstrumentProfile): Row {
  const top_S = 1 / profile.leakage.top_ohm;
  if (value.aboveMegohms !== undefined) return { below_S: 1e-6 / value.aboveMegohms };
  const siemens =
    value.megohms === undefined
      ? ((value.microamps ?? 0) * 1e-6) / leakVolts(value, profile)
      : 1e-6 / Math.max(value.megohms, 1e-6);
  return siemens < top_S / UNREADABLE ? { below_S: top_S } : { siemens };
}

function both(sd: number): { sdLow: number; sdHigh: number } {
  return { sdLow: sd, sdHigh: sd };
}
