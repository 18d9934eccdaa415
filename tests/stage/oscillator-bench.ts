import { printRun } from '../../src/circuit/print.ts';
import type { Circuit, OscillatorTankPart, Row } from '../../src/types.ts';
import { runNative } from '../native-ngspice.ts';

/**
 * What the tests of the oscillators share: the same circuit as an ordinary one, from a kick to a steady swing. The tuned
 * circuit is written out here, with a coil that couples as coils do; nothing of the quasi-static method is in it.
 */

export interface Running {
  /** Half of peak to peak at the node asked for, V. */
  readonly swing_V: number;
  /** Mean over the last whole cycle, V. */
  mean(node: string): number;
  readonly frequency_Hz: number;
}

const STEPS_PER_CYCLE = 100;

/**
 * @param lines the tuned circuit as SPICE text, given its L and C
 * @param swingAt node across which the swing is read, to chassis
 */
export function runFromAKick(
  circuit: Circuit,
  row: Row,
  frequency_Hz: number,
  cycles: number,
  swingAt: string,
  lines: (henries: number, farads: number, ohms: number) => readonly string[],
  watch: readonly string[],
): Running {
  const tank = circuit.parts.find(
    (part): part is OscillatorTankPart => part.kind === 'oscillatorTank',
  )!;
  const ohms =
    typeof tank.impedance === 'number'
      ? tank.impedance
      : circuit.knobs[tank.impedance.knob]!.nominal;
  const omega = 2 * Math.PI * frequency_Hz;
  const henries = ohms / (tank.loadedQ * omega);
  const ordinary: Circuit = {
    ...circuit,
    parts: circuit.parts.filter((part) => part !== tank),
    watch: [...watch],
  };
  const { request } = printRun(
    ordinary,
    'kick',
    { as: 'transient', frequency_Hz, cycles, stepsPerCycle: STEPS_PER_CYCLE },
    [row],
  );
  const added = [
    ...lines(henries, 1 / (omega * omega * henries), ohms),
    `Ikick 0 ${swingAt} PULSE(0 1m 0 1n 1n ${0.3 / frequency_Hz})`,
  ];
  const result = runNative({
    ...request,
    netlist: request.netlist.replace(/\.end$/, `${added.join('\n')}\n.end`),
  });
  if (!result.ok) throw new Error(result.text);
  const time = result.vectors['time']!;
  const swing = result.vectors[`v(${swingAt})`]!;
  const [low, high] = [Math.min(...swing), Math.max(...swing)];
  const rising = crossings(time, swing, (low + high) / 2);
  const [from, to] = [rising.at(-2)!, rising.at(-1)!];
  return {
    swing_V: (high - low) / 2,
    mean: (node) => meanBetween(time, result.vectors[`v(${node})`]!, from, to),
    frequency_Hz: 1 / (to - from),
  };
}

/** Times at which the samples rise through a level. */
function crossings(time: Float64Array, values: Float64Array, level: number): number[] {
  return [...time.keys()].flatMap((i) => {
    if (i === 0 || values[i - 1]! >= level || values[i]! < level) return [];
    const share = (level - values[i - 1]!) / (values[i]! - values[i - 1]!);
    return [time[i - 1]! + share * (time[i]! - time[i - 1]!)];
  });
}

/** By trapezoids. */
function meanBetween(time: Float64Array, values: Float64Array, from: number, to: number): number {
  let sum = 0;
  let length = 0;
  for (let i = 1; i < time.length; i++) {
    if (time[i - 1]! < from || time[i]! > to) continue;
    const step = time[i]! - time[i - 1]!;
    sum += (step * (values[i]! + values[i - 1]!)) / 2;
    length += step;
  }
  return sum / length;
}
