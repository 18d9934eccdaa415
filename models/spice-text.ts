import type { Electrode, OptionalKnob, SpiceText, TubeKnob } from '../src/types.ts';

/** All knob nodes of a tube, in the order of the subcircuit's last pins. */
export const TUBE_KNOBS: readonly TubeKnob[] = [
  'area',
  'saturation_mA',
  'gas_ppm',
  'gridEmission_uA',
  'contactShift_V',
  'interface_ohm',
];

/** Node name inside the subcircuit. Short, and never one of the expression operators gt lt ge le eq ne and or not mod. */
export const KNOB_NODE: Readonly<Record<TubeKnob, string>> = {
  area: 'wa',
  saturation_mA: 'ws',
  gas_ppm: 'wg',
  gridEmission_uA: 'we',
  contactShift_V: 'wc',
  interface_ohm: 'wi',
};

export const PIN_NODE: Readonly<Record<Electrode, string>> = {
  plate: 'p',
  screen: 's',
  grid: 'g',
  cathode: 'k',
  heater: 'h',
  oscillatorGrid: 'g1',
  signalGrid: 'g3',
};

const OPERATORS = new Set(['gt', 'lt', 'ge', 'le', 'eq', 'ne', 'and', 'or', 'not', 'mod']);

/** A number as SPICE text: full precision, bracketed where its sign could meet another operator. */
export function number(x: number): string {
  if (!Number.isFinite(x)) throw new Error(`not a finite number in SPICE text: ${x}`);
  return x < 0 ? `(${x})` : `${x}`;
}

/**
 * Collects a subcircuit in which every subexpression is a node of its own: a behavioural current into 1 ohm.
 * ngspice has no common-subexpression elimination, so merged expressions cost 5–30 times more.
 *
 * On the solver's way a node that stands for a positive quantity can go negative. So powers of nodes are `pwr`, odd in its
 * argument (`pow` of a size leads Newton's method astray: steps that it finds with `pwr` fail), quotients have sizes below, and
 * where a knee is sharp (a plate near the cathode's voltage) the positive part stands in the expression itself.
 */
export class SpiceBody {
  private readonly lines: string[] = [];
  private readonly names: Set<string>;
  private readonly knobs: readonly TubeKnob[];
  private readonly inner: string[] = [];

  /** @param zero knobs that stay at 0: they have no node, and what they do is left out */
  constructor(
    private readonly pins: readonly Electrode[],
    zero: ReadonlySet<OptionalKnob> = new Set(),
  ) {
    this.knobs = TUBE_KNOBS.filter((knob) => !(zero as ReadonlySet<TubeKnob>).has(knob));
    this.names = new Set([
      '0',
      ...pins.map((pin) => PIN_NODE[pin]),
      ...this.knobs.map((knob) => KNOB_NODE[knob]),
    ]);
  }

  moves(knob: TubeKnob): boolean {
    return this.knobs.includes(knob);
  }

  /** A pin's voltage over the cathode's coating, as an expression. */
  over(pin: Electrode): string {
    return `v(${PIN_NODE[pin]},k)${this.moves('interface_ohm') ? '-v(kd)' : ''}`;
  }

  /** A helper node whose voltage is the expression. */
  node(name: string, expression: string): void {
    const lower = name.toLowerCase();
    // SPICE ignores case: a second node of the same name would converge, without an error, to a wrong answer.
    if (this.names.has(lower) || OPERATORS.has(lower))
      throw new Error(`SPICE node name taken: ${name}`);
    this.names.add(lower);
    this.inner.push(lower);
    this.lines.push(`B${lower} 0 ${lower} I=${expression}`, `R${lower} ${lower} 0 1`);
  }

  /** A current from one node through the element to another, A. */
  current(id: string, from: string, to: string, expression: string): void {
    this.lines.push(`B${id} ${from} ${to} I=${expression}`);
  }

  /** A capacitor, F. */
  capacitor(id: string, from: string, to: string, farads: number): void {
    this.lines.push(`C${id} ${from} ${to} ${number(farads)}`);
  }

  /** The finished text under a name made of the device and its parameters. */
  finish(device: string, parameters: Readonly<Record<string, number>>): SpiceText {
    const nodes = [
      ...this.pins.map((pin) => PIN_NODE[pin]),
      ...this.knobs.map((knob) => KNOB_NODE[knob]),
    ];
    const body = this.lines.join('\n');
    const name = `T${device.replace(/[^A-Za-z0-9]/g, '')}_${hash(JSON.stringify(parameters) + body)}`;
    return {
      name,
      pins: this.pins,
      knobs: this.knobs,
      inner: this.inner,
      // One `.func` set per subcircuit, so that several texts in one netlist never collide.
      text: [
        `.subckt ${name} ${nodes.join(' ')}`,
        '.func LL(y) {y>40 ? y : ln(1+exp(y))}',
        '.func PP(x) {0.5*(x+sqrt(x*x+0.01))}',
        body,
        `.ends ${name}`,
      ].join('\n'),
    };
  }
}

/** FNV-1a, 32 bits, in hexadecimal: tells parameter sets apart in a name. */
function hash(text: string): string {
  let h = 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193) >>> 0;
  return h.toString(16).padStart(8, '0');
}
