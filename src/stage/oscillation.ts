import { heldCircuit, type HeldCircuit } from '../circuit/held-swing.ts';
import { findRoot } from '../numerics/root.ts';
import type {
  Circuit,
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
import { withBypassLeaks } from './faults.ts';
import { isNumber, meanVolts, noValue } from './signals.ts';
import { LOWEST_LINE, lineFactor, numberOf } from './values.ts';

/**
 * What oscillators share: harmonic balance. The tuned circuit is held at an amplitude, at which the grid leak finds its bias
 * and the fundamental of the tube's currents returns an amplitude of its own (`circuit/held-swing.ts`, from the phase copies
 * at a small swing). Returned over held is the loop gain. The oscillator starts where that of a small swing is above 1; the
 * swing grows, the bias with it, and it stays where the loop gain has fallen to 1. All that once at the line voltage of the
 * draw in the middle of the band, and once at the lowest line voltage where the tuned circuit's impedance is lowest.
 *
 * Source: B. van der Pol, "The nonlinear theory of electric oscillations", Proc. IRE 22 (1934) 1051; Terman, "Radio
 * Engineers' Handbook" (1943), sec. 6 (both from memory).
 */

export const START = 'start';
const SWING = 'swing';
export const RUNNING = 'running';

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

/** Swings tried: from here, each as much larger than the last. */
const TRY_FROM_V = 0.2;
const TRY_RATIO = 2;
/** Of the logarithm of the steady swing. */
const SWING_TOLERANCE = 1e-3;
/** A swing for the same bias further from the steady one than this has another reason than the grid capacitor. */
const MOST_SHARE = 1.5;

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

/** The two steps before the stage's own: what the loop is worked out from, and the steady swing in the phase copies. */
export function loopSteps(oscillator: Oscillator): readonly Step[] {
  return [
    {
      id: START,
      view: () => SMALL_VIEW,
      settings: (v) => {
        const line = lineFactor(v, LOWEST_LINE);
        const knobs = Object.fromEntries(
          oscillator.supplies.map((key) => [key, line * numberOf(v, key)]),
        );
        return [{ drive: SMALL_V }, { drive: SMALL_V, knobs, lowLine: true }];
      },
    },
    {
      id: SWING,
      view: () => LARGE_VIEW,
      settings: (_v, own) => {
        const drive = own['oscillatorVoltage'];
        return isNumber(drive) ? withRamp([{ drive }]) : [];
      },
    },
  ];
}

/**
 * The swing at which the phase copies have the bias of the steady one. To them the grid capacitor is a short, so that the
 * grid rectifies somewhat more of a swing. Undefined where there is no steady swing.
 */
export function runningDrive(t: Traces, oscillator: Oscillator): number | undefined {
  const { steady } = loopOf(t, oscillator, false);
  if ('noValue' in steady) return undefined;
  const rest_V = meanVolts(t, START, 0, oscillator.grid);
  const copies_V = meanVolts(t, SWING, RAMP, oscillator.grid) - rest_V;
  const share = (steady.bias_V - rest_V) / copies_V;
  return share > 0 && share < MOST_SHARE ? share * steady.swing_V : steady.swing_V;
}

/** The oscillator in the middle of the band, or at the lowest line voltage at the end where its impedance is lowest. */
interface Loop {
  /** At a small swing. Below 0 where the grid takes more of the swing than the tube's current gives: it only damps. */
  readonly startGain: number | NoValue;
  /** Where the swing stays. No number where it does not start, or still grows at the largest that was tried. */
  readonly steady: { readonly swing_V: number; readonly bias_V: number } | NoValue;
}

const loops = new WeakMap<Traces, Map<boolean, Loop>>();

/** Needs the step `START`; worked out once. */
function loopOf(t: Traces, oscillator: Oscillator, low: boolean): Loop {
  const ofSubject = loops.get(t) ?? new Map<boolean, Loop>();
  loops.set(t, ofSubject);
  const loop = ofSubject.get(low) ?? loopIn(t, oscillator, low);
  ofSubject.set(low, loop);
  return loop;
}

const NO_BALANCE = noValue('its currents and voltages could not be balanced');

function loopIn(t: Traces, oscillator: Oscillator, low: boolean): Loop {
  const impedance = low ? numberOf(t.values, oscillator.lowest) / 100 : 1;
  const held = heldCircuitOf(t, oscillator, low, Math.min(1, impedance));
  const ohms = impedance * t.knob('tankImpedance');
  const small = held(SMALL_V);
  if (small === undefined) return { startGain: NO_BALANCE, steady: NO_BALANCE };
  // each swing from the last
  let near = { ...small, swing_V: SMALL_V };
  const gainAt = (swing_V: number): number => {
    const found = held(swing_V, near);
    if (found !== undefined) near = { ...found, swing_V };
    return ohms * (found?.returned_S ?? NaN);
  };
  const startGain = ohms * small.returned_S;
  const most_V = oscillator.most_V(t.values);
  const swing = startGain > 1 ? steadySwing(gainAt, most_V) : notStarted(startGain, gainAt, most_V);
  return {
    startGain,
    steady:
      typeof swing === 'number' ? { swing_V: swing, bias_V: near.mean_V(oscillator.grid) } : swing,
  };
}

/** With tuned circuits, line voltage and tube as they are there: where its impedance is lower its frequency is taken to be so too. */
function heldCircuitOf(
  t: Traces,
  oscillator: Oscillator,
  low: boolean,
  ofFrequency: number,
): HeldCircuit {
  const hertz = ofFrequency * numberOf(t.values, 'oscillatorFrequency');
  const values: StageValues = {
    ...t.values,
    oscillatorFrequency: { ...t.values['oscillatorFrequency']!, value: hertz },
  };
  return heldCircuit(
    withBypassLeaks(values, oscillator.circuit(values, t.models)),
    {
      ...t,
      states: low ? (t.lowLineStates ?? t.states) : t.states,
      volts: (node) => t.volts(START, low ? 1 : 0, node),
    },
    hertz,
  );
}

/** Swings that rise: from the first on each as much larger than the last. */
function* swings(most_V: number): Generator<number> {
  for (let swing_V = TRY_FROM_V; swing_V < TRY_RATIO * most_V; swing_V *= TRY_RATIO)
    yield Math.min(swing_V, most_V);
}

function steadySwing(gainAt: (swing_V: number) => number, most_V: number): number | NoValue {
  let below = SMALL_V;
  for (const swing_V of swings(most_V)) {
    const gain = gainAt(swing_V);
    if (Number.isNaN(gain)) return NO_BALANCE;
    if (gain <= 1) {
      const found = findRoot(
        (log) => gainAt(Math.exp(log)) - 1,
        Math.log(below),
        Math.log(swing_V),
        SWING_TOLERANCE,
      );
      if (found.status !== 'found') return NO_BALANCE;
      gainAt(Math.exp(found.x));
      return Math.exp(found.x);
    }
    below = swing_V;
  }
  return noValue('the swing still grows at the largest amplitude tried', most_V);
}

function notStarted(
  startGain: number,
  gainAt: (swing_V: number) => number,
  most_V: number,
): NoValue {
  const returned =
    startGain > 0
      ? `a small swing returns ${startGain.toFixed(2)} of itself, and more than 1 is needed`
      : 'the tube only damps a small swing: its grid takes more than its current returns';
  for (const swing_V of swings(most_V))
    if (gainAt(swing_V) > 1)
      return noValue(`it does not oscillate: ${returned} (a large one would go on, once there)`);
  return noValue(`it does not oscillate: ${returned}`);
}

/** As it is told: nothing returns from a tube that only damps. */
function toldGain({ startGain }: Loop): MeasureValue {
  return typeof startGain === 'number' ? Math.max(0, startGain) : startGain;
}

const toldSteady = ({ steady }: Loop, key: 'swing_V' | 'bias_V'): MeasureValue =>
  'noValue' in steady ? steady : steady[key];

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
      of: (t) => toldGain(loopOf(t, oscillator, false)),
      readings: ['emission'],
    },
    {
      id: 'startMargin',
      title: 'Start margin',
      unit: '×',
      step: START,
      what: 'The same at the lowest line voltage and the end of the band where the circuit’s impedance is lowest: below 1 it does not start there.',
      of: (t) => toldGain(loopOf(t, oscillator, true)),
      readings: ['emission'],
    },
    {
      id: 'oscillatorVoltage',
      title: 'Oscillator voltage',
      unit: 'V',
      step: START,
      what: 'Peak across the oscillator circuit, in the middle of the band.',
      of: (t) => toldSteady(loopOf(t, oscillator, false), 'swing_V'),
      readings: ['emission'],
    },
    {
      id: 'oscillatorVoltageLow',
      title: 'Oscillator voltage, worst end and low line',
      unit: 'V',
      step: START,
      what: 'The same at the lowest line voltage and the end of the band where the impedance is lowest.',
      of: (t) => toldSteady(loopOf(t, oscillator, true), 'swing_V'),
      readings: ['emission'],
    },
    {
      id: 'oscillatorGridVoltageLow',
      title: 'Oscillator grid voltage, worst end and low line',
      unit: 'V',
      step: START,
      what: 'Mean of the oscillator’s grid to chassis, there.',
      of: (t, own) => {
        const told = toldSteady(loopOf(t, oscillator, true), 'bias_V');
        return isNumber(told) ? told : noSwing(own['oscillatorVoltageLow']);
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

/**
 * Time of the grid leak over that of the tuned circuit beyond which the bias may not follow the swing (Terman, "Radio
 * Engineers' Handbook", sec. 6, on intermittent oscillation; from memory; the figure by transients).
 */
const SLOW_BIAS = 1.5;

/** What makes an oscillator's answer doubtful. */
export function oscillatorDoubts(v: StageValues): readonly string[] {
  const omega = 2 * Math.PI * numberOf(v, 'oscillatorFrequency');
  const time_s = numberOf(v, 'gridLeak') * numberOf(v, 'gridCapacitor');
  return omega * time_s > 2 * SLOW_BIAS * numberOf(v, 'tankQ')
    ? [
        'Grid leak and grid capacitor are slow against the tuned circuit: with much feedback such an oscillator stops and starts again at an audible rate, which is not looked for.',
      ]
    : [];
}
