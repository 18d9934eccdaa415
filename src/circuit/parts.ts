import type {
  FeedbackPart,
  Leak,
  OscillatorTankPart,
  OutputTransformerPart,
  Part,
  PartValue,
  PushPullTransformerPart,
  SignalPart,
  TankPart,
  Tone,
  TubeModel,
  TubePart,
  TwoPin,
  View,
} from '../types.ts';
import { derivativeRow, momentsOf, type Copy } from './copies.ts';
import { leakKnob, tubeKnob } from './knobs.ts';

/**
 * How each part kind prints itself. A stage never holds netlist text; adding a part kind means adding one
 * printer here and one symbol to the drawing.
 */
export interface PrintContext {
  readonly view: View;
  readonly copies: readonly Copy[];
  /** Node name of a circuit node in a copy. */
  node(name: string, copy: Copy): string;
  /** Subcircuit name of the tube at an index of `Circuit.tubes`. */
  readonly tubes: readonly { readonly model: TubeModel; readonly subcircuit: string }[];
  /** A value before the table moves it: a constant's, or the knob's in the first row. */
  firstOf(value: PartValue): number;
  /** Whether the value is the same in every row. */
  isFixed(value: PartValue): boolean;
  /** Electrode pairs that leak in any row, by tube index. */
  readonly leaks: readonly (readonly Leak['between'][])[];
}

/** Node that carries the conductance of a knob, S: parts never divide by a knob, whose first guess in the engine is 0. */
export const conductanceNode = (knob: string): string => `${knob}_S`;

/**
 * A conductance from a to b. One that the table moves is a resistor of its first value, so that the engine's first matrix
 * is a sound one, and a correction beside it.
 */
function conductance(
  id: string,
  a: string,
  b: string,
  ohms: PartValue,
  c: PrintContext,
  share = 1,
): string[] {
  const first = c.firstOf(ohms);
  const plain = `R${id} ${a} ${b} ${share * first}`;
  if (typeof ohms === 'number' || c.isFixed(ohms)) return [plain];
  const factor = share === 1 ? '' : `${1 / share}*`;
  return [
    plain,
    `B${id} ${a} ${b} I=${factor}v(${a},${b})*(v(${conductanceNode(ohms.knob)})-${1 / first})`,
  ];
}

function printResistor(part: TwoPin, c: PrintContext): string[] {
  return c.copies.flatMap((copy) => {
    const [a, b] = part.nodes.map((n) => c.node(n, copy));
    return conductance(part.id + copy.suffix, a!, b!, part.value, c);
  });
}

/**
 * A capacitor is open in the quiescent view. In the phase copies it is a battery in every copy, all set by one
 * slow node: the mean voltage at which the mean current vanishes. The real capacitance stands at that node, so
 * slow dynamics come out right as well.
 */
function printCapacitor(part: TwoPin, c: PrintContext): string[] {
  if (typeof part.value !== 'number') throw new Error(`capacitor ${part.id} cannot be a knob`);
  const farads = part.value;
  if (c.view.as === 'quiescent' || (part.fast === true && c.view.as !== 'transient')) return [];
  if (c.view.as === 'transient')
    return c.copies.map((copy) => {
      const [a, b] = part.nodes.map((n) => c.node(n, copy));
      return `C${part.id} ${a} ${b} ${farads}`;
    });
  const moments = momentsOf(c.copies);
  return [
    ...moments.flatMap((moment, n) => {
      const mean = `${part.id}_mean${moment}`;
      return [
        `R${mean} ${mean} 0 1e11`,
        ...(moments.length > 1
          ? chargingCurrent(farads * 2 * Math.PI * slow_Hz(c.view), part.id, n, moments, c.view)
          : [`C${mean} ${mean} 0 ${farads}`]),
      ];
    }),
    ...c.copies.flatMap((copy) => {
      const [a, b] = part.nodes.map((n) => c.node(n, copy));
      const name = part.id + copy.suffix;
      const mean = `${part.id}_mean${copy.moment}`;
      return [
        `E${name} ${a} ${b} ${mean} 0 1`,
        `F${name} 0 ${mean} E${name} ${copy.weight}`,
        // dV/dt of both is this capacitor's current over its value
        ...(part.feeds === undefined
          ? []
          : [
              `F${name}_feed ${a} ${c.node(part.feeds.node, copy)} E${name} ${part.feeds.farads / farads}`,
            ]),
      ];
    }),
  ];
}

/** Frequency of the cycle that the moments divide. */
const slow_Hz = (view: View): number =>
  view.as === 'envelope' ? view.tone.frequency_Hz : view.as === 'cycle' ? view.frequency_Hz : 0;

/** C dV/dt of a mean node at one moment of a periodic cycle, out of its values at the others. */
function chargingCurrent(
  susceptance_S: number,
  id: string,
  n: number,
  moments: readonly string[],
  view: View,
): string[] {
  return derivativeRow(view, n, moments.length).map(
    ({ m, weight }) =>
      `G${id}_slow${moments[n]}${moments[m]} ${id}_mean${moments[n]} 0 ${id}_mean${moments[m]} 0 ${susceptance_S * weight}`,
  );
}

/** The dual: a current source in every copy, all set by the mean current at which the mean voltage vanishes. */
function printInductor(part: TwoPin, c: PrintContext): string[] {
  if (typeof part.value !== 'number') throw new Error(`inductor ${part.id} cannot be a knob`);
  const henries = part.value;
  if (c.view.as === 'envelope')
    throw new Error(`inductor ${part.id}: the envelope view has no inductors`);
  if (c.view.as !== 'quiescent' && c.view.as !== 'transient' && part.fast !== true) {
    const moments = momentsOf(c.copies);
    return [
      ...moments.flatMap((moment, n) => {
        const mean = `${part.id}_mean${moment}`;
        return [
          `R${mean} ${mean} 0 1e11`,
          ...(moments.length > 1
            ? // the node's volts are mA, and mA are fed to it
              chargingCurrent(
                henries * 1e-6 * 2 * Math.PI * slow_Hz(c.view),
                part.id,
                n,
                moments,
                c.view,
              )
            : [`C${mean} ${mean} 0 ${henries * 1e-3}`]),
        ];
      }),
      ...c.copies.flatMap((copy) => {
        const [a, b] = part.nodes.map((n) => c.node(n, copy));
        const name = part.id + copy.suffix;
        const mean = `${part.id}_mean${copy.moment}`;
        return [
          `G${name} ${a} ${b} ${mean} 0 1m`,
          `G${name}s 0 ${mean} ${a} ${b} ${1e-3 * copy.weight}`,
        ];
      }),
    ];
  }
  return c.copies.map((copy) => {
    const [a, b] = part.nodes.map((n) => c.node(n, copy));
    return c.view.as === 'transient'
      ? `L${part.id} ${a} ${b} ${henries}`
      : `V${part.id}${copy.suffix} ${a} ${b} 0`;
  });
}

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

/**
 * The swing is the drive's and not the answer, so what comes back is a plain number however far from steady it is. In a
 * transient a resonator of its own stands behind all the windings.
 */
function printOscillatorTank(part: OscillatorTankPart, c: PrintContext): string[] {
  const { id, returned, windings } = part;
  const each = (of: (winding: string, share: number, copy: Copy, ends: string) => string[]) =>
    c.copies.flatMap((copy) =>
      windings.flatMap(({ nodes, share, coupled = share }, i) =>
        of(
          `${id}_${i}${copy.suffix}`,
          c.view.as === 'transient' ? share : coupled,
          copy,
          nodes.map((node) => c.node(node, copy)).join(' '),
        ),
      ),
    );
  if (c.view.as === 'quiescent')
    return [`R${id} ${returned} 0 1`, ...each((name, _, __, ends) => [`V${name} ${ends} 0`])];
  if (c.view.as === 'transient') {
    if (typeof part.impedance !== 'number')
      throw new Error(`tank ${id}: a transient needs its impedance as a number`);
    const omega = 2 * Math.PI * c.view.frequency_Hz;
    const inductance = part.impedance / (part.loadedQ * omega);
    return [
      `L${id} ${returned} 0 ${inductance}`,
      `C${id} ${returned} 0 ${1 / (omega * omega * inductance)}`,
      `R${id} ${returned} 0 ${part.impedance}`,
      ...each((name, share, _, ends) => [
        `E${name} ${ends} ${returned} 0 ${share}`,
        `F${name} 0 ${returned} E${name} ${share}`,
      ]),
    ];
  }
  if (c.view.as !== 'phases') throw new Error(`tank ${id}: only phase copies hold an oscillator`);
  return [
    ...conductance(id, returned, '0', part.impedance, c),
    ...each((name, share, copy, ends) => [
      `E${name} ${ends} drive 0 ${share * copy.cosine}`,
      `F${name} 0 ${returned} E${name} ${2 * share * copy.cosine * copy.weight}`,
    ]),
  ];
}

/** Winding resistance, then load and inductance side by side. At rest the inductance is a short, in the copies a steady current. */
function printOutputTransformer(part: OutputTransformerPart, c: PrintContext): string[] {
  const [supply, core, plate] = part.nodes;
  const at = { at: part.at, drawn: false } as const;
  const winding: TwoPin = {
    ...at,
    kind: 'resistor',
    id: `${part.id}r`,
    nodes: [supply, core],
    value: part.resistance,
  };
  const load: TwoPin = {
    ...at,
    kind: 'resistor',
    id: `${part.id}l`,
    nodes: [core, plate],
    value: part.load,
  };
  const primary: TwoPin = {
    ...at,
    kind: 'inductor',
    id: part.id,
    nodes: [core, plate],
    value: part.inductance_H,
  };
  return [...printResistor(winding, c), ...printResistor(load, c), ...printInductor(primary, c)];
}

/** Sections of the two halves of a primary, from the centre outwards: a share of the half, and where it ends. */
export function windingSections({
  id,
  nodes: [centre, ...ends],
  taps,
}: Pick<PushPullTransformerPart, 'id' | 'nodes' | 'taps'>): {
  readonly name: string;
  readonly from: string;
  readonly to: string;
  readonly ofHalf: number;
  readonly sign: 1 | -1;
}[] {
  return ([1, -1] as const).flatMap((sign, half) => {
    const plate = ends[half]!;
    const whole = { sign, from: centre, to: plate, ofHalf: 1, name: `${id}_${half}` };
    if (taps === undefined || taps.share <= 0 || taps.share >= 1) return [whole];
    const tap = taps.nodes[half]!;
    return [
      { ...whole, to: tap, ofHalf: taps.share, name: `${id}_${half}a` },
      { ...whole, from: tap, ofHalf: 1 - taps.share, name: `${id}_${half}b` },
    ];
  });
}

/**
 * Each section: its share of the resistance, then its turns, which copy the secondary's volts and hand their current to it.
 * In every copy the halves see each other; only the inductance at the secondary remembers.
 */
function printPushPullTransformer(part: PushPullTransformerPart, c: PrintContext): string[] {
  const secondary = part.nodes[3];
  const at = { at: part.at, drawn: false, nodes: [secondary, '0'] } as const;
  return [
    ...windingSections(part).flatMap(({ name, from, to, ofHalf, sign }) =>
      c.copies.flatMap((copy) => {
        const [a, b, out] = [from, to, secondary].map((node) => c.node(node, copy));
        const own = name + copy.suffix;
        const turns = (sign * ofHalf) / 2;
        return [
          ...conductance(own, a!, `${own}_in`, part.resistance, c, ofHalf / 2),
          `E${own} ${b} ${own}_in ${out} 0 ${turns}`,
          `F${own} 0 ${out} E${own} ${turns}`,
        ];
      }),
    ),
    ...printResistor({ ...at, kind: 'resistor', id: `${part.id}l`, value: part.load }, c),
    ...printInductor({ ...at, kind: 'inductor', id: part.id, value: part.inductance_H }, c),
  ];
}

function printFeedback(part: FeedbackPart, c: PrintContext): string[] {
  const { share } = part;
  return c.copies.map((copy) => {
    const [a, b, from] = [...part.nodes, part.from].map((node) => c.node(node, copy));
    return typeof share === 'number' || c.isFixed(share)
      ? `E${part.id}${copy.suffix} ${a} ${b} ${from} 0 ${c.firstOf(share)}`
      : `B${part.id}${copy.suffix} ${a} ${b} V=v(${share.knob})*v(${from})`;
  });
}

function printTube(part: TubePart, c: PrintContext): string[] {
  const tube = c.tubes[part.tube];
  if (tube === undefined) throw new Error(`part ${part.id}: the circuit has no tube ${part.tube}`);
  const { pins, knobs } = tube.model.spice();
  return c.copies.flatMap((copy) => {
    const pin = (electrode: (typeof pins)[number]): string => {
      const node = part.nodes[electrode];
      if (node === undefined) throw new Error(`part ${part.id}: ${electrode} is not connected`);
      return c.node(node, copy);
    };
    return [
      `X${part.id}${copy.suffix} ${pins.map(pin).join(' ')} ${knobs.map((k) => tubeKnob(part.id, k)).join(' ')} ${tube.subcircuit}`,
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
  return c.copies.map((copy, j) => {
    const [a, b] = part.nodes.map((n) => c.node(n, copy));
    if (c.view.as === 'transient') {
      if (c.view.shares !== undefined)
        return `B${part.id} ${a} ${b} V=${times}*${size}*${pulseTrain(part, c.view.shares, c.view.frequency_Hz)}`;
      // a sine: it starts from the mean, where the settled run's initial voltages are
      return `B${part.id} ${a} ${b} V=${factor * times}*${size}*${envelopeOf(c.view.tone)}sin(${2 * Math.PI * c.view.frequency_Hz}*time)`;
    }
    const share =
      c.view.as === 'levels' ? factor * levelOf(part, j) : factor * copy.cosine * copy.level;
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

/** The levels as a function of the time in the period, with short edges at the end of each. */
function pulseTrain(part: SignalPart, shares: readonly number[], frequency_Hz: number): string {
  const { factor = 1 } = part;
  let at = 0;
  const points = shares.flatMap((share, j): string[] => {
    const from = at;
    at += share;
    const edge = Math.min(EDGE, share / 2);
    return [`${from},${factor * levelOf(part, j)}`, `${at - edge},${factor * levelOf(part, j)}`];
  });
  const last = `${at},${factor * levelOf(part, 0)}`;
  return `pwl(time*${frequency_Hz}-floor(time*${frequency_Hz}),${[...points, last].join(',')})`;
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
