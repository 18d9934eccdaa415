import type { OscillatorTankPart, Part, SignalPart, TankPart, Tone, TubePart } from '../types.ts';
import { momentsOf } from './copies.ts';
import { leakKnob, tubeKnob } from './knobs.ts';
import {
  conductance,
  printCapacitor,
  printInductor,
  printResistor,
  type PrintContext,
} from './plain-parts.ts';
import { printFeedback, printOutputTransformer, printPushPullTransformer } from './transformers.ts';

/**
 * How each part kind prints itself. A stage never holds netlist text; adding a part kind means adding one
 * printer here and one symbol to the drawing.
 */

/**
 * A tuned circuit of high Q: only the fundamental of its current makes a voltage. The copies' currents, weighted
 * with their cosines, flow into one node; its voltage returns in every copy with that copy's cosine.
 */
function printTank(part: TankPart, c: PrintContext): string[] {
  const elsewhere = part.tunedTo_Hz !== undefined && c.view.as !== 'transient';
  if (c.view.as === 'quiescent' || elsewhere)
    return c.copies.map((copy) => {
      const [a, b] = part.nodes.map((n) => c.node(n, copy));
      return `V${part.id}${copy.suffix} ${a} ${b} 0`;
    });
  if (c.view.as === 'transient') {
    const { impedance } = part;
    if (typeof impedance !== 'number')
      throw new Error(`tank ${part.id}: a transient needs its impedance as a number`);
    const omega = 2 * Math.PI * (part.tunedTo_Hz ?? c.view.frequency_Hz);
    const inductance = impedance / (part.loadedQ * omega);
    return c.copies.flatMap((copy) => {
      const [a, b] = part.nodes.map((n) => c.node(n, copy));
      return [
        `L${part.id} ${a} ${b} ${inductance}`,
        `C${part.id} ${a} ${b} ${1 / (omega * omega * inductance) - (part.stray_F ?? 0)}`,
        `R${part.id} ${a} ${b} ${impedance}`,
      ];
    });
  }
  if (c.view.as === 'cycle' || c.view.as === 'levels')
    throw new Error(`tank ${part.id}: only a carrier has a tuned circuit`);
  // the audio is slow against the tuned circuit's own time: each moment has a swing of its own
  const moments = momentsOf(c.copies);
  const phases = c.copies.length / moments.length;
  const swingAt = (moment: string): string => `${part.id}_swing${moment}`;
  return [
    ...moments.flatMap((moment) =>
      conductance(swingAt(moment), swingAt(moment), '0', part.impedance, c),
    ),
    ...c.copies.flatMap((copy) => {
      const [a, b] = part.nodes.map((n) => c.node(n, copy));
      const name = part.id + copy.suffix;
      const swing = swingAt(copy.moment);
      return [
        `E${name} ${a} ${b} ${swing} 0 ${copy.cosine}`,
        `F${name} 0 ${swing} E${name} ${(2 * copy.cosine) / phases}`,
      ];
    }),
  ];
}

/** The swing is the drive's and not the answer: what the tube makes of it is worked out elsewhere (`held-swing.ts`). */
function printOscillatorTank({ id, windings }: OscillatorTankPart, c: PrintContext): string[] {
  if (c.view.as !== 'quiescent' && c.view.as !== 'phases')
    throw new Error(`tank ${id}: only phase copies hold an oscillator`);
  return c.copies.flatMap((copy) =>
    windings.map(({ nodes, share, coupled = share }, i) => {
      const name = `${id}_${i}${copy.suffix}`;
      const ends = nodes.map((node) => c.node(node, copy)).join(' ');
      return c.view.as === 'quiescent'
        ? `V${name} ${ends} 0`
        : `E${name} ${ends} drive 0 ${coupled * copy.cosine}`;
    }),
  );
}

function printTube(part: TubePart, c: PrintContext): string[] {
  const tube = c.tubes[part.tube];
  if (tube === undefined) throw new Error(`part ${part.id}: the circuit has no tube ${part.tube}`);
  const { pins, knobs, name } = tube;
  return c.copies.flatMap((copy) => {
    const pin = (electrode: (typeof pins)[number]): string => {
      const node = part.nodes[electrode];
      if (node === undefined) throw new Error(`part ${part.id}: ${electrode} is not connected`);
      return c.node(node, copy);
    };
    return [
      `X${part.id}${copy.suffix} ${pins.map(pin).join(' ')} ${knobs.map((k) => tubeKnob(part.id, k)).join(' ')} ${name}`,
      ...(c.leaks[part.tube] ?? []).map((between, i) => {
        const [a, b] = between.map(pin);
        return `B${part.id}leak${i}${copy.suffix} ${a} ${b} I=v(${a},${b})*v(${leakKnob(part.id, between)})*1u`;
      }),
    ];
  });
}

/** A share of its amplitude in every copy; in a transient a sine, or its levels one after the other. */
function printSignal(part: SignalPart, c: PrintContext): string[] {
  const { amplitude, factor = 1 } = part;
  // a knob that no row moves is no node
  const moving =
    typeof amplitude === 'object' && !c.isFixed(amplitude) ? `*v(${amplitude.knob})` : '';
  const times = moving === '' && amplitude !== undefined ? c.firstOf(amplitude) : 1;
  const size = `v(drive)${moving}`;
  return c.copies.flatMap((copy, j) => {
    const [a, b] = part.nodes.map((n) => c.node(n, copy));
    if (c.view.as === 'transient') {
      if (c.view.shares !== undefined)
        return [
          pulseTrain(part, c.view.shares, 1 / c.view.frequency_Hz),
          `B${part.id} ${a} ${b} V=${factor * times}*${size}*v(${part.id}_levels)`,
        ];
      // a sine: it starts from the mean, where the settled run's initial voltages are
      return `B${part.id} ${a} ${b} V=${factor * times}*${size}*${envelopeOf(c.view.tone)}sin(${2 * Math.PI * c.view.frequency_Hz}*time)`;
    }
    const share =
      c.view.as === 'levels'
        ? factor * levelOf(part, Math.floor(j / (c.view.charging?.steps ?? 1)))
        : factor * copy.cosine * copy.level;
    const name = part.id + copy.suffix;
    if (share === 0) return `V${name} ${a} ${b} 0`;
    return moving === ''
      ? `E${name} ${a} ${b} drive 0 ${share * times}`
      : `B${name} ${a} ${b} V=${share}*${size}`;
  });
}

function levelOf(part: SignalPart, j: number): number {
  const level = part.levels?.[j];
  if (level === undefined) throw new Error(`signal ${part.id} has no level ${j}`);
  return level;
}

/** Share of the period in which a level goes over into the next. */
const EDGE = 2e-3;

/** A source of the levels one after the other, repeated, with short edges at the end of each. */
function pulseTrain(part: SignalPart, shares: readonly number[], period_s: number): string {
  let at = 0;
  const points = shares.flatMap((share, j): string[] => {
    const from = at;
    at += share;
    const edge = Math.min(EDGE, share / 2);
    const level = levelOf(part, j);
    return [`${from * period_s} ${level}`, `${(at - edge) * period_s} ${level}`];
  });
  return `V${part.id}_levels ${part.id}_levels 0 PWL(${points.join(' ')} ${period_s} ${levelOf(part, 0)}) r=0`;
}

const envelopeOf = (tone: Tone | undefined): string =>
  tone === undefined ? '' : `(1+${tone.depth}*cos(${2 * Math.PI * tone.frequency_Hz}*time))*`;

/** Netlist lines of one part in the context's view. */
export function printPart(part: Part, c: PrintContext): string[] {
  switch (part.kind) {
    case 'resistor':
      return printResistor(part, c);
    case 'capacitor':
      return printCapacitor(part, c);
    case 'inductor':
      return printInductor(part, c);
    case 'tank':
      return printTank(part, c);
    case 'oscillatorTank':
      return printOscillatorTank(part, c);
    case 'outputTransformer':
      return printOutputTransformer(part, c);
    case 'pushPullTransformer':
      return printPushPullTransformer(part, c);
    case 'feedback':
      return printFeedback(part, c);
    case 'tube':
      return printTube(part, c);
    case 'supply':
      return [
        typeof part.value === 'number' || c.isFixed(part.value)
          ? `V${part.id} ${part.nodes[0]} 0 ${c.firstOf(part.value)}`
          : `E${part.id} ${part.nodes[0]} 0 ${part.value.knob} 0 1`,
      ];
    case 'signal':
      return printSignal(part, c);
    case 'block':
      return [];
  }
}
