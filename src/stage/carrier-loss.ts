import { phasorAt, smallSignal, type Phasor } from '../circuit/small-signal.ts';
import type { Circuit, LimitSpec, MeasureSpec, MeasureValue, Node, Traces } from '../types.ts';
import { CARRIER_LOSS, withBypassLeaks } from './faults.ts';
import { idealCapacitors } from './low-loss.ts';
import { meanVolts, noValue } from './signals.ts';

/**
 * What bypasses cost an amplifier with tuned circuits at its carrier, and whether it is stable with them. The phase copies
 * take them as shorts at the carrier; the small-signal view takes them as they are.
 */

interface Tuned {
  /** A step whose first setting is at rest, or next to it. */
  readonly rest: string;
  /** Of the stage itself, without the faults that every set can have. */
  readonly circuit: Circuit;
  readonly carrier_Hz: number;
  readonly grid: Node;
  readonly plate: Node;
}

type Answer = ReturnType<typeof phasorAt>;

function answerOf(t: Traces, { rest, carrier_Hz }: Tuned, circuit: Circuit): Answer {
  const volts = (node: Node): number => (node === '0' ? 0 : meanVolts(t, rest, 0, node));
  return phasorAt(smallSignal(circuit, { ...t, rest: volts, carrier_Hz }), carrier_Hz);
}

interface Real {
  readonly tuned: Tuned;
  readonly circuit: Circuit;
  readonly answer: Answer;
}

const reals = new WeakMap<Traces, Real>();

/** The circuit with its capacitors as they are, worked out once for all measures. */
function realOf(t: Traces, of: (t: Traces) => Tuned): Real {
  const known = reals.get(t);
  if (known !== undefined) return known;
  const tuned = of(t);
  const circuit = withBypassLeaks(t.values, tuned.circuit);
  const real = { tuned, circuit, answer: answerOf(t, tuned, circuit) };
  reals.set(t, real);
  return real;
}

function loss_dB(t: Traces, { tuned, circuit, answer }: Real): MeasureValue {
  const here = Math.hypot(...answer('signal', tuned.plate));
  const ideal = answerOf(t, tuned, idealCapacitors(circuit));
  const full = Math.hypot(...ideal('signal', tuned.plate));
  return here > 0 && full > 0
    ? 20 * Math.log10(full / here)
    : noValue('there is no gain that could be lost');
}

const times = ([a, b]: Phasor, [c, d]: Phasor): Phasor => [a * c - b * d, a * d + b * c];
const minus = ([a, b]: Phasor, [c, d]: Phasor): Phasor => [a - c, b - d];
const over = (a: Phasor, [c, d]: Phasor): Phasor => {
  const size = c * c + d * d;
  return times(a, [c / size, -d / size]);
};

/**
 * Stern's factor: 2 g₁₁ g₂₂ / (|y₁₂ y₂₁| + Re y₁₂ y₂₁), the conductances of the tuned circuits included, their reactances in
 * no place of it. Above 1 no tuning of the two makes the stage oscillate; without feedback it has no bound. Below 0 the tube
 * itself takes more off a circuit's damping than there is.
 *
 * Source: A. Stern, "Stability and power gain of tuned transistor amplifiers", Proc. IRE 45 (1957) 335 (from memory); for
 * resistive y₂₁ and capacitive y₁₂ it is the condition gm ω Cgp R₁ R₂ < 2 of radio textbooks.
 */
function stability({ tuned: { grid, plate }, answer }: Real): MeasureValue {
  const z = (into: Node, at: Node): Phasor => answer({ into }, at);
  const [z11, z12, z21, z22] = [
    z(grid, grid),
    z(plate, grid),
    z(grid, plate),
    z(plate, plate),
  ] as const;
  const determinant = minus(times(z11, z22), times(z12, z21));
  const g11 = over(z22, determinant)[0];
  const g22 = over(z11, determinant)[0];
  const loop = over(over(times(z12, z21), determinant), determinant);
  const feedback = Math.hypot(...loop) + loop[0];
  if (g11 <= 0 || g22 <= 0) return 0;
  return feedback > 0 ? (2 * g11 * g22) / feedback : noValue('there is no feedback', 1e6);
}

/** @param step after which both can be told */
export const carrierMeasures = (
  step: string,
  frequency: string,
  of: (t: Traces) => Tuned,
): readonly MeasureSpec[] => [
  {
    id: CARRIER_LOSS,
    title: `Loss at the ${frequency}`,
    unit: 'dB',
    step,
    what: 'How much less the small-signal gain is there with every capacitor as it is than with all of them shorts.',
    of: (t) => loss_dB(t, realOf(t, of)),
    readings: ['emission'],
  },
  {
    id: 'stability',
    title: 'Stability',
    unit: '×',
    step,
    what: 'Feedback inside the tube and over its bypasses that the tuned circuits would bear, over what there is: below 1 the stage oscillates at some position of its trimmers.',
    of: (t) => stability(realOf(t, of)),
    readings: ['emission', 'leakage'],
  },
];

export const CARRIER_LIMITS: readonly LimitSpec[] = [
  {
    measure: CARRIER_LOSS,
    formula: `${CARRIER_LOSS} <= newTube.${CARRIER_LOSS} + 3`,
    reason: 'with AGC, 3 dB in one stage pass unnoticed',
    source: 'common practice, no source',
  },
  {
    measure: 'stability',
    formula: 'stability >= min(1, 0.8 * newTube.stability)',
    reason:
      'below 1 it oscillates while it is aligned, or as it stands; a new tube may be no better',
    source: 'Stern, Proc. IRE 45 (1957) 335 (from memory)',
  },
];
