import { meanOf } from '../numerics/harmonics.ts';
import { factored, type Solver } from '../numerics/linear-solve.ts';
import type {
  Circuit,
  Electrode,
  Node,
  OscillatorTankPart,
  TubeModel,
  TubePart,
  TubeState,
} from '../types.ts';
import {
  realSystem,
  smallSignal,
  type Phasor,
  type RestPoint,
  type SmallSignal,
} from './small-signal.ts';

/**
 * What a tube gives back to an oscillator's tuned circuit that is held at a swing, with every capacitor and every other tuned
 * circuit as it is. To the phase copies those are shorts, and the tube's own capacitances are not there; here the periodic
 * state of the same circuit is found about theirs, by harmonic balance: all that is linear is an impedance between the
 * electrodes at each harmonic, and the electrodes' volts are those at which the tube's currents, evaluated at evenly spaced
 * phases of the cycle, make just these volts. Newton's method.
 *
 * Source: K. Kundert, J. White, A. Sangiovanni-Vincentelli, "Steady-State Methods for Simulating Analog and Microwave
 * Circuits" (1990) (from memory).
 */

/** The mean and as many harmonics: more of them change the swing by less than a hundredth. Phases enough to tell them. */
const HARMONICS = 5;
const PHASES = 2 * HARMONICS + 1;
/** Newton's steps: no further than this at once, done below a share of the swing, with new slopes where one is above a share of the last. */
const MOST_STEP_V = 5;
const SETTLED_SHARE = 5e-4;
const SERVES = 0.5;
const MOST_STEPS = 50;
/** Step of the tube's slopes, V: as for small signals. */
const SLOPE_V = 1e-4;

interface Pin {
  readonly electrode: Electrode;
  readonly node: Node;
  /** At the phases of the copies; one where it holds still. */
  readonly samples: Float64Array;
  readonly mean_V: number;
  /** Mean of its current over the copies. */
  readonly mean_A: number;
}

interface Tube {
  readonly model: TubeModel;
  readonly state: TubeState;
  readonly pins: readonly Pin[];
}

/** What the electrodes see of all that is linear. */
interface Linear {
  /** Volts at each electrode per volt of the swing, and what the windings deliver to the linear parts, S. */
  readonly open: readonly Phasor[];
  readonly loss_S: number;
  /** Volts that an electrode falls now, by the electrode that drew an ampere and by the phases since. */
  readonly echo: Echo;
}

type Echo = readonly (readonly Float64Array[])[];

/** One waveform an electrode over the cycle: of its volts, or amperes, away from the means of the phase copies, which balance. */
type Waves = readonly Float64Array[];

export interface HeldSwing {
  /** Conductance across the whole tuned circuit that the tube makes, S: above 0 where it gives more than it takes. */
  readonly returned_S: number;
  /** Of an electrode's node, over the cycle. */
  mean_V(node: Node): number;
  /** Of the electrodes' volts, by electrode. */
  readonly waves: Waves;
}

/** A balance at another swing: the search begins at it, as much larger. */
export interface Nearby {
  readonly swing_V: number;
  readonly waves: Waves;
}

/** At a swing, V peak across the whole of the tuned circuit; undefined where no balance is found. */
export type HeldCircuit = (swing_V: number, near?: Nearby) => HeldSwing | undefined;

/** A subject as `Traces` say it is, with phase copies of it at a small swing. */
export interface Swinging extends Omit<RestPoint, 'rest'> {
  /** Over half a cycle. */
  volts(node: Node): Float64Array;
}

export function heldCircuit(circuit: Circuit, at: Swinging, hertz: number): HeldCircuit {
  const tube = tubeOf(circuit, at);
  const { pins } = tube;
  const linear = linearOf(circuit, at, hertz, pins);
  return (swing_V, near) => {
    const open = linear.open.map(([re, im]) =>
      overCycle((theta) => swing_V * (re * Math.cos(theta) - im * Math.sin(theta))),
    );
    const guess = near?.waves.map((wave) => wave.map((volt) => (volt * swing_V) / near.swing_V));
    const waves = balanced(tube, linear.echo, guess ?? open, open, SETTLED_SHARE * swing_V);
    if (waves === undefined) return undefined;
    // by reciprocity a current at an electrode is felt across the tuned circuit as the electrode feels the swing
    const taken_A = ampsOf(tube, waves).reduce((sum, amps, p) => {
      const [re, im] = linear.open[p]!;
      const felt = overCycle((theta) => re * Math.cos(theta) + im * Math.sin(theta));
      return sum + 2 * meanOf(felt.map((volt, m) => volt * amps[m]!));
    }, 0);
    return {
      returned_S: -(linear.loss_S + taken_A / swing_V),
      mean_V: (node) => {
        const p = pins.findIndex((pin) => pin.node === node);
        return pins[p]!.mean_V + meanOf(waves[p]!);
      },
      waves,
    };
  };
}

function tubeOf({ parts }: Circuit, at: Swinging): Tube {
  const part = parts.find((one): one is TubePart => one.kind === 'tube')!;
  const model = at.models[part.tube]!;
  const state = part.state ?? at.states[part.tube]!;
  const pins = model.electrodes.map((electrode) => {
    const node = part.nodes[electrode] ?? '0';
    return { electrode, node, samples: node === '0' ? Float64Array.of(0) : at.volts(node) };
  });
  const copies = Array.from(
    { length: Math.max(...pins.map((pin) => pin.samples.length)) },
    (_, k) =>
      model.currents(
        Object.fromEntries(
          pins.map(({ electrode, samples }) => [electrode, samples[k] ?? samples[0]!]),
        ),
        state,
      ),
  );
  return {
    model,
    state,
    pins: pins.map((pin) => ({
      ...pin,
      mean_V: meanOf(pin.samples),
      mean_A: meanOf(copies.map((amps) => amps[pin.electrode] ?? 0)),
    })),
  };
}

const overCycle = (of: (theta: number) => number): Float64Array =>
  Float64Array.from({ length: PHASES }, (_, m) => of((2 * Math.PI * m) / PHASES));

function linearOf(circuit: Circuit, at: Swinging, hertz: number, pins: readonly Pin[]): Linear {
  const tank = circuit.parts.find(
    (part): part is OscillatorTankPart => part.kind === 'oscillatorTank',
  )!;
  // the tube's capacitances and leaks are linear; its currents are not
  const silent = at.models.map((model): TubeModel => ({ ...model, currents: () => ({}) }));
  const s = smallSignal(
    { ...circuit, parts: circuit.parts.filter((part) => part !== tank) },
    { ...at, models: silent, rest: () => 0 },
  );
  const turns = tank.windings.flatMap(({ nodes: [a, b], share }) => {
    const end = s.row(a);
    return end === undefined ? [] : [{ end, other: s.row(b), share }];
  });
  const rows = pins.map(({ node }) => s.row(node));
  const phasor = (volts: Float64Array, row: number | undefined): Phasor =>
    row === undefined ? [0, 0] : [volts[row]!, volts[row + s.size]!];
  const { answer, taken_A } = heldTurns(s, turns, hertz);
  const swung = answer(1);
  const impedances = Array.from({ length: HARMONICS + 1 }, (_, h) => {
    const at_h = h === 1 ? answer : heldTurns(s, turns, h * hertz).answer;
    return rows.map((from) => {
      if (from === undefined) return rows.map((): Phasor => [0, 0]);
      const volts = at_h(0, from);
      return rows.map((row) => phasor(volts, row));
    });
  });
  return {
    open: rows.map((row) => phasor(swung, row)),
    loss_S: taken_A(swung),
    echo: rows.map((_to, p) => rows.map((_from, q) => echoOf(impedances.map((z) => z[q]![p]!)))),
  };
}

/** From impedance by harmonic, the mean first, to volts by phase. */
const echoOf = (impedance: readonly Phasor[]): Float64Array =>
  overCycle((theta) =>
    impedance.reduce((sum, [re, im], h) => {
      const term = re * Math.cos(h * theta) - im * Math.sin(h * theta);
      return sum + ((h === 0 ? 1 : 2) * term) / PHASES;
    }, 0),
  );

/** Turns of the tuned circuit, by rows: the end stands above the other (undefined: chassis) by a share of the swing. */
interface Turns {
  readonly end: number;
  readonly other: number | undefined;
  readonly share: number;
}

/** A linear circuit whose windings are held: their ends follow the others, and their currents flow there. */
function heldTurns(
  s: SmallSignal,
  turns: readonly Turns[],
  hertz: number,
): {
  /** Volts of all rows, real then imaginary, at a swing of so many volts, and one ampere into a row. */
  readonly answer: (swing_V: number, into?: number) => Float64Array;
  /** Of the current that the windings deliver, the part in phase, across the whole. */
  readonly taken_A: (volts: Float64Array) => number;
} {
  const n = s.size;
  const width = 2 * n;
  const full = realSystem(s, hertz);
  const matrix = Float64Array.from(full);
  const halves = turns.flatMap(({ end, other, share }) =>
    [0, n].map((half) => ({
      end: end + half,
      other: other === undefined ? undefined : other + half,
      share: half === 0 ? share : 0,
    })),
  );
  const ofSwing = new Float64Array(width);
  for (const { end, other, share } of halves)
    for (let i = 0; i < width; i++) {
      const value = matrix[i * width + end]!;
      ofSwing[i]! -= value * share;
      if (other !== undefined) matrix[i * width + other]! += value;
      matrix[i * width + end] = 0;
    }
  for (const { end, other } of halves) {
    for (let j = 0; j < width && other !== undefined; j++)
      matrix[other * width + j]! += matrix[end * width + j]!;
    matrix.fill(0, end * width, (end + 1) * width);
    matrix[end * width + end] = 1;
  }
  const solve = factored(matrix, width);
  return {
    answer(swing_V, into) {
      const rhs = ofSwing.map((amps, i) => swing_V * amps + (i === into ? 1 : 0));
      for (const { end, other } of halves) {
        if (other !== undefined) rhs[other]! += rhs[end]!;
        rhs[end] = 0;
      }
      const volts = solve(rhs);
      for (const { end, other, share } of halves)
        volts[end] = swing_V * share + (other === undefined ? 0 : volts[other]!);
      return volts;
    },
    taken_A: (volts) =>
      turns.reduce((sum, { end, share }) => {
        let amps = 0;
        for (let j = 0; j < width; j++) amps += full[end * width + j]! * volts[j]!;
        return sum + share * amps;
      }, 0),
  };
}

/**
 * The electrodes' volts at which the tube's currents leave just these, by Newton's method from a guess. Slopes serve for as
 * long as they bring each step well below the last.
 */
function balanced(
  tube: Tube,
  echo: Echo,
  guess: Waves,
  open: Waves,
  settled_V: number,
): Waves | undefined {
  const moving = echo.flatMap((row, p) => (row.some((one) => one.some((v) => v !== 0)) ? [p] : []));
  let volts = open.map((wave, p) => (moving.includes(p) ? guess[p]! : wave));
  let solve: Solver | undefined;
  let last_V = Infinity;
  for (let steps = 0; steps < MOST_STEPS; steps++) {
    const amps = ampsOf(tube, volts);
    solve ??= factored(slopesOf(tube, echo, moving, volts, amps), moving.length * PHASES);
    const step = solve(missingOf(echo, moving, open, volts, amps));
    const most_V = step.reduce((most, volt) => Math.max(most, Math.abs(volt)), 0);
    if (!Number.isFinite(most_V)) return undefined;
    const share = Math.min(1, MOST_STEP_V / most_V);
    volts = volts.map((wave, p) => {
      const i = moving.indexOf(p);
      return i < 0 ? wave : wave.map((volt, m) => volt + share * step[i * PHASES + m]!);
    });
    if (most_V < settled_V) return volts;
    if (most_V > SERVES * last_V || share < 1) solve = undefined;
    last_V = most_V;
  }
  return undefined;
}

/** Volts that each electrode that moves lacks, one after the other, phase by phase. */
function missingOf(
  echo: Echo,
  moving: readonly number[],
  open: Waves,
  volts: Waves,
  amps: Waves,
): Float64Array {
  const out = new Float64Array(moving.length * PHASES);
  moving.forEach((p, i) => {
    for (let m = 0; m < PHASES; m++) {
      let sum = open[p]![m]! - volts[p]![m]!;
      for (const q of moving) {
        const [one, drawn] = [echo[p]![q]!, amps[q]!];
        for (let n = 0; n < PHASES; n++) sum -= one[m >= n ? m - n : m - n + PHASES]! * drawn[n]!;
      }
      out[i * PHASES + m] = sum;
    }
  });
  return out;
}

/** What a volt at each of them makes each lack, as a matrix. */
function slopesOf(
  tube: Tube,
  echo: Echo,
  moving: readonly number[],
  volts: Waves,
  amps: Waves,
): Float64Array {
  const size = moving.length * PHASES;
  const matrix = new Float64Array(size * size);
  moving.forEach((r, j) => {
    const moved = ampsOf(tube, volts, r);
    for (const q of moving)
      for (let n = 0; n < PHASES; n++) {
        const column = j * PHASES + n;
        const siemens = (moved[q]![n]! - amps[q]![n]!) / SLOPE_V;
        moving.forEach((p, i) => {
          const one = echo[p]![q]!;
          for (let m = 0; m < PHASES; m++)
            matrix[(i * PHASES + m) * size + column]! +=
              siemens * one[m >= n ? m - n : m - n + PHASES]!;
        });
      }
  });
  for (let i = 0; i < size; i++) matrix[i * size + i]! += 1;
  return matrix;
}

/** Amperes into each electrode, with one of them moved or none. */
function ampsOf(tube: Tube, volts: Waves, moved?: number): Waves {
  const { pins, model, state } = tube;
  const amps = pins.map(() => new Float64Array(PHASES));
  for (let m = 0; m < PHASES; m++) {
    const at: Partial<Record<Electrode, number>> = {};
    pins.forEach(({ electrode, mean_V }, p) => {
      at[electrode] = mean_V + volts[p]![m]! + (p === moved ? SLOPE_V : 0);
    });
    const now = model.currents(at, state);
    pins.forEach(({ electrode, mean_A }, p) => {
      amps[p]![m] = (now[electrode] ?? 0) - mean_A;
    });
  }
  return amps;
}
