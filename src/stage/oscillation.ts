import { firstCrossing } from '../numerics/crossings.ts';
import { meanOf } from '../numerics/harmonics.ts';
import { sampledCurve } from '../numerics/interpolate.ts';
import type {
  Circuit,
  Measures,
  MeasureSpec,
  MeasureValue,
  NoValue,
  Setting,
  StageValues,
  Step,
  Traces,
  TubeModel,
  View,
} from '../types.ts';
import { notReturned_S } from './bypass-at-start.ts';
import { withBypassLeaks } from './faults.ts';
import { drives, isNumber, meanVolts, noValue } from './signals.ts';
import { LOWEST_LINE, lineFactor, numberOf } from './values.ts';

/**
 * What oscillators share: quasi-static harmonic balance. The tuned circuit is held at a few amplitudes; at each of them the
 * grid leak finds its bias, and the fundamental of the tube's currents returns an amplitude of its own. Returned over held is
 * the loop gain. The oscillator starts where that of a small swing is above 1; the swing grows, the bias with it, and it
 * stays where the loop gain has fallen to 1. All that once at the line voltage of the draw in the middle of the band, and
 * once at the lowest line voltage where the tuned circuit's impedance is lowest.
 *
 * Source: B. van der Pol, "The nonlinear theory of electric oscillations", Proc. IRE 22 (1934) 1051; Terman, "Radio
 * Engineers' Handbook" (1943), sec. 6 (both from memory).
 */

export const START = 'start';
const LOOP = 'loop';
export const RUNNING = 'running';
/** Node of the tank part at which the returned amplitude stands. */
export const RETURNED = 'back';

/** Swing that counts as small, V peak: far below kT/q of a hot cathode. */
const SMALL_V = 0.02;
/** Two copies carry a small swing, and these a large one: amplitudes to half a percent, tested against four times as many. */
const SMALL_VIEW: View = { as: 'phases', count: 2 };
export const LARGE_VIEW: View = { as: 'phases', count: 8, substeps: 2 };

/**
 * Settings before the swings that are looked at: the engine finds a large swing only from a smaller one, above all where a
 * leak holds a grid positive.
 */
export const RAMP = 2;
const RAMP_SHARE = 0.3;
export function withRamp(settings: readonly Setting[]): Setting[] {
  const [first] = settings;
  if (first === undefined) return [];
  return [{ ...first, drive: SMALL_V }, { ...first, drive: RAMP_SHARE * first.drive }, ...settings];
}

/** Amplitudes tried where nothing is known. */
const TRY_FROM_V = 0.2;
const TRY_COUNT = 14;
/** For draws, about the central case's amplitude; one that has hardly started varies more. */
const STRONG_GAIN = 3;
const NEAR = [0.7, 1, 1.35];
const NEAR_WEAK = [0.4, 0.7, 1, 1.4, 2];

/** What a stage tells of its oscillator. */
export interface Oscillator {
  /** Node of the oscillator's grid. */
  readonly grid: string;
  /** Values that are supplies: they sag with the line. */
  readonly supplies: readonly string[];
  /** Value: lowest impedance in the band, percent of that in its middle. */
  readonly lowest: string;
  /** Amplitudes are looked for up to here, V peak. */
  most_V(values: StageValues): number;
  circuit(values: StageValues, tubes: readonly TubeModel[]): Circuit;
  /** Value: the capacitor that holds an electrode still, or holds it to a winding. */
  readonly bypass: string;
}

/** The two steps that find the swing, before the stage's own. */
export function loopSteps(oscillator: Oscillator): readonly Step[] {
  const lowLine = (v: StageValues, settings: readonly Setting[]): Setting[] => {
    const line = lineFactor(v, LOWEST_LINE);
    const knobs = Object.fromEntries(
      oscillator.supplies.map((key) => [key, line * numberOf(v, key)]),
    );
    return settings.map(({ drive }) => ({ drive, knobs, lowLine: true }));
  };
  return [
    {
      id: START,
      view: () => SMALL_VIEW,
      settings: (v) => [{ drive: SMALL_V }, ...lowLine(v, [{ drive: SMALL_V }])],
    },
    {
      id: LOOP,
      view: () => LARGE_VIEW,
      // up at the line voltage of the draw and down again at the lowest, so that neighbours are alike
      settings: (v, own, central) => {
        const look = (gain: string, swing: string): Setting[] =>
          swings(oscillator.most_V(v), own[gain], central?.[gain], central?.[swing], central);
        const low = lowLine(v, look('startMargin', 'oscillatorVoltageLow')).reverse();
        return withRamp([...look('loopGain', 'oscillatorVoltage'), ...low]);
      },
    },
  ];
}

/**
 * Swings at which to look, rising: near the central case's where that is known. A draw that does not start has none; a
 * central case that does not start has all, to say whether it would go on.
 */
function swings(
  most_V: number,
  own: MeasureValue | undefined,
  gain: MeasureValue | undefined,
  around: MeasureValue | undefined,
  central: Measures | undefined,
): Setting[] {
  if (central !== undefined && !(isNumber(own) && own > 1)) return [];
  if (!isNumber(around)) return drives(TRY_FROM_V, most_V, TRY_COUNT);
  const strong = isNumber(gain) && gain >= STRONG_GAIN;
  return (strong ? NEAR : NEAR_WEAK).map((share) => ({ drive: share * around }));
}

/** A small swing and the larger ones that belong to it. */
interface Sweep {
  readonly small: number;
  readonly large: readonly number[];
  /** Impedance of the tuned circuit over the simulated one: what comes back is proportional to it. */
  readonly impedance: number;
}

function sweepOf(t: Traces, oscillator: Oscillator, low: boolean): Sweep {
  const large = t
    .settings(LOOP)
    .flatMap((setting, i) => (i >= RAMP && (setting.lowLine === true) === low ? [i] : []));
  return {
    small: low ? 1 : 0,
    large: low ? large.reverse() : large,
    impedance: low ? numberOf(t.values, oscillator.lowest) / 100 : 1,
  };
}

/**
 * Loop gain of a small swing, its bypass as it is. Below 0 where the grid takes more of the swing than the tube's current
 * gives: it only damps. At the end of the band where the impedance is lower the frequency is taken to be so too.
 */
const startGain = (t: Traces, sweep: Sweep, oscillator: Oscillator): number =>
  (sweep.impedance * meanOf(t.volts(START, sweep.small, RETURNED))) / SMALL_V -
  lost(t, sweep, oscillator, START, sweep.small);

/** A bypass of less takes no more than a thousandth of the loop gain (by this very function). */
const SHORT_ohm = 5;

/** What its bypass takes of the loop gain, at one of the swings. */
function lost(
  t: Traces,
  { impedance }: Sweep,
  oscillator: Oscillator,
  step: string,
  setting: number,
): number {
  const hertz = numberOf(t.values, 'oscillatorFrequency') * Math.min(1, impedance);
  const farads = numberOf(t.values, oscillator.bypass);
  if (2 * Math.PI * hertz * farads * SHORT_ohm > 1) return 0;
  const lost_S = notReturned_S(
    withBypassLeaks(t.values, oscillator.circuit(t.values, t.models)),
    { ...t, volts: (node) => t.volts(step, setting, node) },
    oscillator.bypass,
    hertz,
  );
  return impedance * t.knob('tankImpedance') * lost_S;
}

/** As it is told: nothing returns from a tube that only damps. */
const returnedShare = (t: Traces, sweep: Sweep, oscillator: Oscillator): number =>
  Math.max(0, startGain(t, sweep, oscillator));

const heldIn = (t: Traces, { large }: Sweep): number[] =>
  large.map((i) => t.settings(LOOP)[i]!.drive);

/** Where the swing stays, V peak. No number where it does not start, or still grows at the largest that was tried. */
function steadySwing(t: Traces, sweep: Sweep, oscillator: Oscillator): number | NoValue {
  const first = startGain(t, sweep, oscillator);
  const held = heldIn(t, sweep);
  const gains = sweep.large.map(
    (i, k) =>
      (sweep.impedance * meanOf(t.volts(LOOP, i, RETURNED))) / held[k]! -
      lost(t, sweep, oscillator, LOOP, i),
  );
  if (first <= 1) {
    const returned =
      first > 0
        ? `a small swing returns ${first.toFixed(2)} of itself, and more than 1 is needed`
        : 'the tube only damps a small swing: its grid takes more than its current returns';
    return noValue(
      `it does not oscillate: ${returned}${Math.max(...gains) > 1 ? ' (a large one would go on, once there)' : ''}`,
    );
  }
  const found = firstCrossing([SMALL_V, ...held].map(Math.log), [first, ...gains], 1, {
    method: 'monotoneCubic',
  });
  return found === undefined
    ? noValue('the swing still grows at the largest amplitude tried', held.at(-1)!)
    : Math.exp(found);
}

/** Mean of the grid at a swing between those held, by a smooth curve over the logarithm of the swing. */
function biasAt(t: Traces, sweep: Sweep, swing_V: number, grid: string): number {
  const curve = sampledCurve([SMALL_V, ...heldIn(t, sweep)].map(Math.log), [
    meanVolts(t, START, sweep.small, grid),
    ...sweep.large.map((i) => meanVolts(t, LOOP, i, grid)),
  ]);
  return curve.at(Math.log(swing_V)) ?? NaN;
}

/** A measure of the running oscillator: no number, and why, where it does not run. */
export const whileRunning =
  (of: MeasureSpec['of']): MeasureSpec['of'] =>
  (t, own, newTube) => {
    if (t.settings(RUNNING).length > 0) return of(t, own, newTube);
    return noSwing(own['oscillatorVoltage']);
  };

const noSwing = (why: MeasureValue | undefined): NoValue =>
  noValue(typeof why === 'object' ? why.noValue : 'it does not oscillate');

/** Whether it starts, how far it swings, and the bias that it makes. Needs a step `RUNNING` at the swing found, after its ramp. */
export function loopMeasures(oscillator: Oscillator): readonly MeasureSpec[] {
  const { grid } = oscillator;
  return [
    {
      id: 'loopGain',
      title: 'Loop gain at the start',
      unit: '×',
      step: START,
      what: 'What a small swing of the oscillator circuit returns, of itself, in the middle of the band, its bypass as it is. 0: the tube only damps it, its grid takes more than its current returns.',
      of: (t) => returnedShare(t, sweepOf(t, oscillator, false), oscillator),
      readings: ['emission'],
    },
    {
      id: 'startMargin',
      title: 'Start margin',
      unit: '×',
      step: START,
      what: 'The same at the lowest line voltage and the end of the band where the circuit’s impedance is lowest: below 1 it does not start there.',
      of: (t) => returnedShare(t, sweepOf(t, oscillator, true), oscillator),
      readings: ['emission'],
    },
    {
      id: 'oscillatorVoltage',
      title: 'Oscillator voltage',
      unit: 'V',
      step: LOOP,
      what: 'Peak across the oscillator circuit, in the middle of the band.',
      of: (t) => steadySwing(t, sweepOf(t, oscillator, false), oscillator),
      readings: ['emission'],
    },
    {
      id: 'oscillatorVoltageLow',
      title: 'Oscillator voltage, worst end and low line',
      unit: 'V',
      step: LOOP,
      what: 'The same at the lowest line voltage and the end of the band where the impedance is lowest.',
      of: (t) => steadySwing(t, sweepOf(t, oscillator, true), oscillator),
      readings: ['emission'],
    },
    {
      id: 'oscillatorGridVoltageLow',
      title: 'Oscillator grid voltage, worst end and low line',
      unit: 'V',
      step: LOOP,
      what: 'Mean of the oscillator’s grid to chassis, there.',
      of: (t, own) => {
        const swing = own['oscillatorVoltageLow'];
        if (!isNumber(swing)) return noSwing(swing);
        return biasAt(t, sweepOf(t, oscillator, true), swing, grid);
      },
      readings: ['emission'],
    },
    {
      id: 'oscillatorGridVoltage',
      title: 'Oscillator grid voltage',
      unit: 'V',
      step: RUNNING,
      what: 'Mean of the oscillator’s grid to chassis, in the middle of the band: what a meter reads behind a resistor at its tip.',
      of: whileRunning((t) => meanVolts(t, RUNNING, RAMP, grid)),
      readings: ['emission'],
    },
    {
      id: 'oscillatorGridCurrent',
      title: 'Oscillator grid current',
      unit: 'A',
      step: RUNNING,
      what: 'Mean through the grid leak: what handbooks state of an oscillator.',
      of: whileRunning((t) => -meanVolts(t, RUNNING, RAMP, grid) / t.knob('gridLeak')),
      readings: ['emission'],
    },
  ];
}

/** Reactance of the grid capacitor over the grid leak beyond which the swing is more than a tenth off, by transients. */
const SMALL_REACTANCE = 0.12;
/**
 * Time of the grid leak over that of the tuned circuit beyond which the bias may not follow the swing (Terman, "Radio
 * Engineers' Handbook", sec. 6, on intermittent oscillation; from memory; the figure by transients).
 */
const SLOW_BIAS = 1.5;

/** What makes an oscillator's answer doubtful. */
export function oscillatorDoubts(v: StageValues): readonly string[] {
  const omega = 2 * Math.PI * numberOf(v, 'oscillatorFrequency');
  const time_s = numberOf(v, 'gridLeak') * numberOf(v, 'gridCapacitor');
  return [
    ...(omega * time_s < 1 / SMALL_REACTANCE
      ? [
          'The grid capacitor is no short at this frequency: the oscillator swings further than is told; its grid voltage holds.',
        ]
      : []),
    ...(omega * time_s > 2 * SLOW_BIAS * numberOf(v, 'tankQ')
      ? [
          'Grid leak and grid capacitor are slow against the tuned circuit: with much feedback such an oscillator stops and starts again at an audible rate, which is not looked for.',
        ]
      : []),
  ];
}
