import type { Electrode } from '../types.ts';
import { box, type Box, type Point, type Segment } from './geometry.ts';
import { tubeShape } from './tube-symbols.ts';

/** The table of symbols, each drawn from its first pin downwards. A new kind of part is one entry here. */

export type SymbolName =
  | 'resistor'
  | 'capacitor'
  | 'electrolytic'
  | 'inductor'
  | 'source'
  | 'diode'
  | 'ifTransformer'
  | 'outputTransformer'
  | 'tappedCoil'
  | 'tappedCapacitors'
  | 'coupledCoils'
  | 'block'
  | 'tubeDiode'
  | 'triode'
  | 'pentode'
  | 'pentagrid';

/** Names of line classes; the page's style gives each its weight and colour. */
export type Stroke =
  | 'wire'
  | 'part'
  | 'envelope'
  | 'electrode'
  | 'grid'
  | 'heater'
  | 'outside'
  | 'open'
  | 'solid';

export interface SymbolPin {
  readonly at: Point;
  /** Unit step away from the symbol. */
  readonly out: Point;
}

/** Where an electrode lies inside the envelope. */
export interface ElectrodeShape {
  readonly y: number;
  /** Half its width. */
  readonly reach: number;
  readonly pin: string;
}

export interface SymbolShape {
  readonly name: SymbolName;
  readonly form: 'twoPin' | 'transformer' | 'tube' | 'block';
  readonly pins: Readonly<Record<string, SymbolPin>>;
  readonly strokes: readonly (readonly [Stroke, string])[];
  readonly dots: readonly Point[];
  /** What labels and wires keep clear of, leads left out. */
  readonly body: readonly Box[];
  readonly leads: readonly Segment[];
  /** Tubes: by electrode, `suppressor` for g3 of a pentode and g5 of a pentagrid. */
  readonly electrodes: Readonly<Partial<Record<Electrode | 'suppressor', ElectrodeShape>>>;
}

const UP: Point = [0, -1];
const DOWN: Point = [0, 1];
const LEFT: Point = [-1, 0];
const RIGHT: Point = [1, 0];

const rounded = (x: number): number => Math.round(x * 1000) / 1000;

/** Zigzag along x = 0: `teeth` full waves between two heights. */
export function zigzag(y0: number, y1: number, teeth: number, amplitude: number): string {
  const half = (y1 - y0) / (2 * teeth);
  const points = Array.from(
    { length: 2 * teeth },
    (_, i) => `L${rounded(i % 2 === 0 ? amplitude : -amplitude)} ${rounded(y0 + half * (i + 0.5))}`,
  );
  return `M0 ${rounded(y0)}${points.join('')}L0 ${rounded(y1)}`;
}

/** A winding of `loops` half-loops down from (x, y), bulging to `side`. */
function coil(x: number, y: number, loops: number, radius: number, side: 1 | -1): string {
  const loop = `a${radius} ${radius} 0 0 ${side > 0 ? 1 : 0} 0 ${2 * radius}`;
  return `M${x} ${y}${loop.repeat(loops)}`;
}

const straight = (x: number, y0: number, y1: number): Segment => ({ from: [x, y0], to: [x, y1] });

/** A part of two pins, six units long, its body between `from` and `to`. */
function twoPin(
  name: SymbolName,
  from: number,
  to: number,
  reach: number,
  strokes: SymbolShape['strokes'],
): SymbolShape {
  return {
    name,
    form: 'twoPin',
    pins: { a: { at: [0, 0], out: UP }, b: { at: [0, 6], out: DOWN } },
    strokes: [['wire', `M0 0V${from}M0 ${to}V6`], ...strokes],
    dots: [],
    body: [box(-reach, from, reach, to)],
    leads: [straight(0, 0, from), straight(0, to, 6)],
    electrodes: {},
  };
}

const ifTransformer: SymbolShape = {
  name: 'ifTransformer',
  form: 'transformer',
  // the part's own winding; the other one ends in terminals, which are the signal's way in or out
  pins: { a: { at: [0, 0], out: UP }, b: { at: [0, 8], out: DOWN } },
  strokes: [
    [
      'wire',
      'M0 0V1.5M0 6.5V8M10.5 0H5V1.5M5 6.5V8H10.5M0 1.5H-2.2V3.65M0 6.5H-2.2V4.35M5 1.5H7.2V3.65M5 6.5H7.2V4.35',
    ],
    ['part', coil(0, 1.5, 4, 0.625, 1) + coil(5, 1.5, 4, 0.625, -1)],
    ['part', 'M-3.3 3.65h2.2M-3.3 4.35h2.2M6.1 3.65h2.2M6.1 4.35h2.2'],
    ['wire', 'M2.5 6.9V1.1M2.1 1.8l.4-.8l.4 .8M2.1 6.2l.4 .8l.4-.8'],
    ['outside', 'M-4 .6H9V7.4H-4Z'],
    ['open', 'M10.5 0a.35 .35 0 1 1 .7 0a.35 .35 0 1 1 -.7 0Z'],
    ['open', 'M10.5 8a.35 .35 0 1 1 .7 0a.35 .35 0 1 1 -.7 0Z'],
  ],
  dots: [
    [0, 1.5],
    [0, 6.5],
    [5, 1.5],
    [5, 6.5],
  ],
  body: [box(-4, 0.6, 9, 7.4), box(4.8, -0.35, 11.2, 0.35), box(4.8, 7.65, 11.2, 8.35)],
  leads: [straight(0, 0, 0.6), straight(0, 7.4, 8)],
  electrodes: {},
};

const outputTransformer: SymbolShape = {
  name: 'outputTransformer',
  form: 'transformer',
  pins: {
    p1: { at: [0, 0], out: UP },
    tap: { at: [0, 4], out: LEFT },
    p2: { at: [0, 8], out: DOWN },
    s1: { at: [5, 2], out: UP },
    s2: { at: [5, 6], out: DOWN },
  },
  strokes: [
    ['wire', 'M0 0V1.5M0 6.5V8M5 2V2.5M5 5.5V6'],
    ['part', coil(0, 1.5, 4, 0.625, 1) + coil(5, 2.5, 4, 0.375, -1)],
    ['part', 'M2.3 1.5V6.5M2.7 1.5V6.5'],
  ],
  dots: [],
  body: [box(0, 1.5, 2.7, 6.5), box(2.3, 2.5, 5, 5.5)],
  leads: [straight(0, 0, 1.5), straight(0, 6.5, 8), straight(5, 2, 2.5), straight(5, 5.5, 6)],
  electrodes: {},
};

/** A tuning capacitor left of a coil, and its arrow. */
const TUNING: SymbolShape['strokes'] = [
  ['wire', 'M0 1H-3V3.65M0 7H-3V4.35'],
  ['part', 'M-4.3 3.65h2.6M-4.3 4.35h2.6'],
  ['wire', 'M-4.3 5.4L-1.7 2.6M-2.3 2.7l.6 -.1l-.05 .6'],
];

/** An oscillator's tuned circuit: pins in the order in which its part names them. */
const tappedCoil: SymbolShape = {
  name: 'tappedCoil',
  form: 'transformer',
  pins: {
    top: { at: [0, 0], out: UP },
    tap: { at: [2, 5], out: RIGHT },
    bottom: { at: [0, 8], out: DOWN },
  },
  strokes: [['wire', 'M0 0V2M0 6V8M0 5H2'], ['part', coil(0, 2, 4, 0.5, 1)], ...TUNING],
  dots: [
    [0, 1],
    [0, 7],
  ],
  body: [box(-4.3, 1, 0.5, 7)],
  leads: [straight(0, 0, 1), straight(0, 7, 8), { from: [0.5, 5], to: [2, 5] }],
  electrodes: {},
};

const tappedCapacitors: SymbolShape = {
  name: 'tappedCapacitors',
  form: 'transformer',
  pins: {
    top: { at: [0, 0], out: UP },
    tap: { at: [3, 4], out: RIGHT },
    bottom: { at: [0, 8], out: DOWN },
  },
  strokes: [
    ['wire', 'M0 0V2.15M0 2.85V5.15M0 5.85V8M0 4H3M0 1H-3V2M0 7H-3V6'],
    ['part', 'M-1.3 2.15H1.3M-1.3 2.85H1.3M-1.3 5.15H1.3M-1.3 5.85H1.3'],
    ['part', coil(-3, 2, 4, 0.5, -1)],
  ],
  dots: [
    [0, 1],
    [0, 4],
    [0, 7],
  ],
  body: [box(-3.5, 1, 1.3, 7)],
  leads: [straight(0, 0, 1), straight(0, 7, 8), { from: [1.3, 4], to: [3, 4] }],
  electrodes: {},
};

const coupledCoils: SymbolShape = {
  name: 'coupledCoils',
  form: 'transformer',
  pins: {
    top: { at: [0, 0], out: UP },
    bottom: { at: [0, 8], out: DOWN },
    winding: { at: [3, 2], out: UP },
    windingEnd: { at: [3, 6], out: DOWN },
  },
  strokes: [
    ['wire', 'M0 0V2M0 6V8M3 2V2.5M3 5.5V6'],
    ['part', coil(0, 2, 4, 0.5, 1) + coil(3, 2.5, 3, 0.5, -1)],
    ...TUNING,
  ],
  dots: [
    [0, 1],
    [0, 7],
  ],
  body: [box(-4.3, 1, 0.5, 7), box(2.5, 2.5, 3, 5.5)],
  leads: [straight(0, 0, 1), straight(0, 7, 8), straight(3, 2, 2.5), straight(3, 5.5, 6)],
  electrodes: {},
};

export const SYMBOLS: Readonly<Record<Exclude<SymbolName, 'block'>, SymbolShape>> = {
  resistor: twoPin('resistor', 1, 5, 0.8, [['part', zigzag(1, 5, 3, 0.8)]]),
  capacitor: twoPin('capacitor', 2.65, 3.35, 1.3, [['part', 'M-1.3 2.65H1.3M-1.3 3.35H1.3']]),
  // pin a is the positive side
  electrolytic: twoPin('electrolytic', 2.65, 3.35, 1.3, [
    ['part', 'M-1.3 2.65H1.3M-1.3 3.75Q0 2.95 1.3 3.75'],
    ['wire', 'M-1.3 1.8h.8M-.9 1.4v.8'],
  ]),
  inductor: twoPin('inductor', 1, 5, 0.5, [['part', coil(0, 1, 4, 0.5, 1)]]),
  source: twoPin('source', 1.4, 4.6, 1.6, [
    ['envelope', 'M0 1.4a1.6 1.6 0 1 1 0 3.2a1.6 1.6 0 1 1 0 -3.2Z'],
    ['wire', 'M-.9 3q.45 -1.4 .9 0t.9 0'],
  ]),
  diode: twoPin('diode', 2, 4, 1, [
    ['solid', 'M-1 2H1L0 4Z'],
    ['part', 'M-1 4H1'],
  ]),
  ifTransformer,
  outputTransformer,
  tappedCoil,
  tappedCapacitors,
  coupledCoils,
  tubeDiode: tubeShape('tubeDiode', 6, [{ electrode: 'plate' }, { electrode: 'cathode' }]),
  triode: tubeShape('triode', 6, [
    { electrode: 'plate' },
    { electrode: 'grid', y: 0, side: LEFT },
    { electrode: 'cathode' },
  ]),
  pentode: tubeShape('pentode', 6, [
    { electrode: 'plate' },
    { electrode: 'suppressor', y: -2, side: LEFT },
    { electrode: 'screen', y: 0, side: RIGHT },
    { electrode: 'grid', y: 2, side: LEFT },
    { electrode: 'cathode' },
  ]),
  pentagrid: tubeShape('pentagrid', 7, [
    { electrode: 'plate' },
    { electrode: 'suppressor', y: -4, side: LEFT },
    { electrode: 'screen', y: 0, side: RIGHT, grids: [-2, 2] },
    { electrode: 'signalGrid', y: 0, side: LEFT },
    { electrode: 'oscillatorGrid', y: 4, side: LEFT },
    { electrode: 'cathode' },
  ]),
};

/** A dashed rectangle for what is outside this stage; its nodes enter at the left, two units apart. */
export function blockShape(size: readonly [number, number], nodes: number): SymbolShape {
  const [width, height] = size;
  const pins = Array.from({ length: nodes }, (_, i): [string, SymbolPin] => [
    `n${i}`,
    { at: [0, 2 * i], out: LEFT },
  ]);
  return {
    name: 'block',
    form: 'block',
    pins: Object.fromEntries(pins),
    strokes: [['outside', `M0 -2H${width}V${height - 2}H0Z`]],
    dots: [],
    body: [box(0, -2, width, height - 2)],
    leads: [],
    electrodes: {},
  };
}
