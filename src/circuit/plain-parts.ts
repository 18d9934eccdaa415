import type { Leak, PartValue, SpiceText, TwoPin, View } from '../types.ts';
import { derivativeRow, momentsOf, type Copy } from './copies.ts';

/** What every printer is given, and the printers of the parts that others are made of: resistor, capacitor, inductor. */
export interface PrintContext {
  readonly view: View;
  readonly copies: readonly Copy[];
  /** Node name of a circuit node in a copy. */
  node(name: string, copy: Copy): string;
  /** Subcircuit of the tube at an index of `Circuit.tubes`. */
  readonly tubes: readonly SpiceText[];
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
export function conductance(
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

export function printResistor(part: TwoPin, c: PrintContext): string[] {
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
export function printCapacitor(part: TwoPin, c: PrintContext): string[] {
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
  view.as === 'envelope'
    ? view.tone.frequency_Hz
    : view.as === 'cycle'
      ? view.frequency_Hz
      : view.as === 'levels'
        ? (view.charging?.frequency_Hz ?? 0)
        : 0;

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
export function printInductor(part: TwoPin, c: PrintContext): string[] {
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
