import { realSystem, smallSignal, type RestPoint } from '../circuit/small-signal.ts';
import { meanOf } from '../numerics/harmonics.ts';
import { factored } from '../numerics/linear-solve.ts';
import type {
  Circuit,
  Electrode,
  Node,
  OscillatorTankPart,
  Part,
  PinAmps,
  TankPart,
  TubeModel,
} from '../types.ts';

/**
 * What a bypass that is no short costs an oscillator at its start. The phase copies hold the bypassed electrode. In truth it
 * moves, a quarter of a cycle behind the swing, and through the tube's own capacitances that damps the grid's tuned circuit:
 * small signals at the operating point tell how much.
 */

/** A short at any frequency. */
const LARGE_F = 1e-3;

/** A subject as `Traces` say it is, at one swing. */
export interface Swinging extends Omit<RestPoint, 'rest'> {
  /** Over the phases of the swing. */
  volts(node: Node): Float64Array;
}

/**
 * The conductance that the tube gives back less to the tuned circuit, S across the whole of it: with its bypass as it is
 * against a large one.
 *
 * @param at the tube's slopes are taken as their means over the phases, which for a small swing is exact
 * @param bypass the value that the capacitor edits
 */
export function notReturned_S(
  circuit: Circuit,
  at: Swinging,
  bypass: string,
  hertz: number,
): number {
  const large: Circuit = {
    ...circuit,
    parts: circuit.parts.map((part) =>
      part.kind === 'capacitor' && part.edits === bypass ? { ...part, value: LARGE_F } : part,
    ),
  };
  const means = meansOf(circuit, at);
  return returned_S(large, means, hertz) - returned_S(circuit, means, hertz);
}

/** A tube whose slopes are the means of its slopes over the phases. */
function meansOf(circuit: Circuit, at: Swinging): RestPoint {
  const rest = (node: Node): number => (node === '0' ? 0 : meanOf(at.volts(node)));
  const models = at.models.map((model, i): TubeModel => {
    const tube = circuit.parts.find((part) => part.kind === 'tube' && part.tube === i);
    const pins = tube?.kind === 'tube' ? tube.nodes : {};
    const away = model.electrodes.map((electrode) => {
      const node = pins[electrode] ?? '0';
      const volts = node === '0' ? Float64Array.of(0) : at.volts(node);
      return [electrode, Array.from(volts, (v) => v - meanOf(volts))] as const;
    });
    const count = Math.max(...away.map(([, volts]) => volts.length));
    return {
      ...model,
      currents(volts, state): PinAmps {
        const sum: Partial<Record<Electrode, number>> = {};
        for (let k = 0; k < count; k++) {
          const here = away.map(
            ([electrode, more]) =>
              [electrode, (volts[electrode] ?? 0) + (more[k] ?? more[0]!)] as const,
          );
          const amps = model.currents(Object.fromEntries(here), state);
          for (const [electrode] of away)
            sum[electrode] = (sum[electrode] ?? 0) + (amps[electrode] ?? 0) / count;
        }
        return sum;
      },
    };
  });
  return { ...at, models, rest };
}

/**
 * With the windings held at their shares of a swing of 1 V: minus the power that they deliver, over the swing squared. A
 * winding ties the volts of its ends together; its current leaves the one and enters the other.
 */
function returned_S(circuit: Circuit, at: RestPoint, hertz: number): number {
  const tank = circuit.parts.find(
    (part): part is OscillatorTankPart => part.kind === 'oscillatorTank',
  )!;
  const parts = circuit.parts.flatMap((part): readonly Part[] =>
    part === tank ? [] : part.kind === 'tank' ? [short(part)] : [part],
  );
  const s = smallSignal({ ...circuit, parts }, at);
  const n = s.size;
  const held = tank.windings.flatMap(({ nodes: [a, b], share }) => {
    const end = s.row(a);
    return end === undefined ? [] : [{ end, other: s.row(b), share }];
  });
  // `end` follows `other`, and its current flows there
  const full = realSystem(s, hertz);
  const matrix = Float64Array.from(full);
  const rhs = new Float64Array(2 * n);
  for (const { end, other, share } of held)
    for (const half of [0, n]) {
      const column = end + half;
      for (let i = 0; i < 2 * n; i++) {
        const value = matrix[i * 2 * n + column]!;
        if (half === 0) rhs[i]! -= value * share;
        if (other !== undefined) matrix[i * 2 * n + other + half]! += value;
        matrix[i * 2 * n + column] = 0;
      }
    }
  for (const { end, other } of held)
    for (const half of [0, n]) {
      const from = (end + half) * 2 * n;
      if (other !== undefined) {
        const to = (other + half) * 2 * n;
        for (let j = 0; j < 2 * n; j++) matrix[to + j]! += matrix[from + j]!;
        rhs[other + half]! += rhs[end + half]!;
      }
      matrix.fill(0, from, from + 2 * n);
      matrix[from + end + half] = 1;
      rhs[end + half] = 0;
    }
  const volts = factored(matrix, 2 * n)(rhs);
  for (const { end, other, share } of held)
    for (const half of [0, n])
      volts[end + half] =
        (half === 0 ? share : 0) + (other === undefined ? 0 : volts[other + half]!);
  return -held.reduce((sum, { end, share }) => {
    let amps = 0;
    for (let j = 0; j < 2 * n; j++) amps += full[end * 2 * n + j]! * volts[j]!;
    return sum + share * amps;
  }, 0);
}

/** Tuned circuits of other frequencies, as the phase copies have them. */
const short = ({ id, nodes, at }: TankPart): Part => ({
  kind: 'capacitor',
  id,
  nodes,
  value: LARGE_F,
  at,
});
