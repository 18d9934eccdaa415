import { phasorAt, smallSignal } from '../circuit/small-signal.ts';
import type {
  Circuit,
  LimitSpec,
  Measures,
  MeasureSpec,
  MeasureValue,
  Node,
  Traces,
  ValueSpec,
} from '../types.ts';
import { LOW_LOSS, withBypassLeaks } from './faults.ts';
import { meanVolts, noValue } from './signals.ts';
import { numberOf } from './values.ts';

/**
 * What bypasses, coupling capacitors and a primary's inductance cost at the lowest frequency that a stage is for. The phase
 * copies take them as infinitely large within a cycle; the small-signal view takes them as they are, so a capacitor that has
 * dried out shows here.
 */

/** Large enough to be a short at any audio frequency, or none at all as an inductance; small enough for the matrices. */
const IDEAL = 1e6;

export function lowestFrequency(title: string, hertz: number): ValueSpec {
  return {
    title,
    unit: 'Hz',
    default: hertz,
    low: 5,
    high: 1000,
    tolerance_percent: 0,
    help: 'Where capacitors and inductances count as they are.',
  };
}

/** The circuit as the phase copies have it: of strays and peaking coils, which act at high frequencies, nothing is changed. */
export const idealCapacitors = (circuit: Circuit): Circuit => ({
  ...circuit,
  parts: circuit.parts.map((part) => {
    switch (part.kind) {
      case 'capacitor':
      case 'inductor':
        return part.fast === true || typeof part.value !== 'number'
          ? part
          : { ...part, value: IDEAL * part.value };
      case 'outputTransformer':
      case 'pushPullTransformer':
        return { ...part, inductance_H: IDEAL * part.inductance_H };
      default:
        return part;
    }
  }),
});

interface Place {
  /** With the knobs that the set has at work, where those are not the socket's. */
  readonly t: Traces;
  /** A step whose first setting is at rest, or next to it. */
  readonly rest: string;
  /** Of the stage itself, without the faults that every set can have. */
  readonly circuit: Circuit;
  /** Volts of the first node against the second, or chassis. */
  readonly output: readonly [Node, Node?];
}

function lowLoss({ t, rest, circuit, output: [plus, minus] }: Place): MeasureValue {
  const restVolts = (node: Node): number => (node === '0' ? 0 : meanVolts(t, rest, 0, node));
  const real = withBypassLeaks(t.values, circuit);
  const gainOf = (one: Circuit): number => {
    const answer = phasorAt(
      smallSignal(one, { ...t, rest: restVolts }),
      numberOf(t.values, 'lowestFrequency'),
    );
    const [re, im] = answer('signal', plus);
    const [from, quarter] = minus === undefined ? [0, 0] : answer('signal', minus);
    return Math.hypot(re - from, im - quarter);
  };
  const [low, full] = [gainOf(real), gainOf(idealCapacitors(real))];
  return low > 0 && full > 0
    ? 20 * Math.log10(full / low)
    : noValue('there is no gain that could be lost');
}

export const lowLossMeasure = (
  title: string,
  step: string,
  place: (t: Traces, own: Measures) => Place,
): MeasureSpec => ({
  id: LOW_LOSS,
  title,
  unit: 'dB',
  step,
  what: 'How much less the small-signal gain is there with every capacitor and inductance as it is than without their reactance.',
  of: (t, own) => lowLoss(place(t, own)),
  readings: ['emission'],
});

export const lowLossLimit = (more_dB: number, reason: string): LimitSpec => ({
  measure: LOW_LOSS,
  formula: `${LOW_LOSS} <= newTube.${LOW_LOSS} + ${more_dB}`,
  reason,
  source: 'common practice, no source',
});

export const BASS_LOSS = 'Loss at the lowest note';
export const BASS_LIMIT = lowLossLimit(
  3,
  'three decibels less at the lowest note are heard as a thin bass',
);
