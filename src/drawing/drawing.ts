import type { Circuit, Electrode, Node, Status } from '../types.ts';
import type { Box, Point, Segment, Turn } from './geometry.ts';
import type { SymbolShape } from './symbols.ts';

/** What a drawing is made of. Lengths in grid units (ten pixels at scale 1), y downwards. */

/** What is drawn of a circuit; a report carries exactly this. */
export type DrawnCircuit = Pick<Circuit, 'title' | 'parts' | 'spine' | 'named'>;

export interface DrawingOptions {
  /** The socket's values by key, SI. Without them only constants of the circuit are written beside their parts. */
  readonly values?: Readonly<
    Record<string, { readonly value: number | string | readonly number[] | null }>
  >;
  /** Type designations by tube index, written beside the tubes. */
  readonly tubeTypes?: readonly string[];
  /** Pin numbers by tube part id and electrode. */
  readonly pinNumbers?: Readonly<Record<string, Readonly<Partial<Record<Electrode, string>>>>>;
  /** Nodes that carry a voltage tag. Default: every wired node with an electrode of a tube on it. */
  readonly tags?: readonly Node[];
  /** The leak that decides. */
  readonly leak?: LeakOptions;
}

export interface LeakOptions {
  /** Part id of the tube. */
  readonly tube: string;
  readonly between: readonly [Electrode, Electrode];
  /** What the leak decides: its hue. */
  readonly status: Status;
  /** Short lines beside it: "leak", "290 MΩ", "0.51 µA". */
  readonly lines: readonly string[];
  /**
   * The electrode at the higher voltage, which the current leaves; where it is not known, the other carries it away. Null: no
   * direct current worth an arrowhead.
   */
  readonly from?: Electrode | null;
}

export interface PlacedPin {
  readonly name: string;
  readonly node: Node;
  readonly at: Point;
  /** Unit step away from the symbol. */
  readonly out: Point;
}

export interface PlacedSymbol {
  /** Part id. */
  readonly part: string;
  readonly shape: SymbolShape;
  readonly at: Point;
  readonly turn: Turn;
  readonly pins: readonly PlacedPin[];
  /** What labels and wires keep clear of, leads left out. */
  readonly body: readonly Box[];
  readonly leads: readonly Segment[];
}

/** A rail or chassis sign at one pin. Neither is ever wired. */
export interface Terminal {
  readonly sign: 'supply' | 'chassis';
  readonly node: Node;
  readonly at: Point;
  /** Clockwise from its own upright form (a supply points up, a chassis down). */
  readonly turn: Turn;
  readonly box: Box;
}

export interface Wire extends Segment {
  readonly node: Node;
}

export interface Dot {
  readonly node: Node;
  readonly at: Point;
}

export type Anchor = 'start' | 'middle' | 'end';

/** A piece of text; `sub` is set lower and smaller: R and 1. */
export interface TextRun {
  readonly text: string;
  readonly sub?: string;
}

export interface TextLabel {
  /** Part id, or for a rail the id of its supply. */
  readonly of: string;
  readonly role: 'id' | 'name' | 'type' | 'pin' | 'leak';
  readonly run: TextRun;
  /** Baseline point. */
  readonly at: Point;
  readonly anchor: Anchor;
  readonly box: Box;
}

/** A part's value. Where `edits` is set, a page lays a field over `box`. */
export interface ValueLabel {
  /** Part id. */
  readonly of: string;
  /** Key of the socket's values. */
  readonly edits?: string;
  readonly text: string;
  /** The text's end at its anchor, on its middle line. */
  readonly at: Point;
  readonly anchor: 'start' | 'end';
  /** Width of a field, in widths of a digit. */
  readonly width_ch: number;
  readonly box: Box;
}

/** Where a node's two voltages stand: new tube above, this tube below. */
export interface VoltageTag {
  readonly node: Node;
  /** Left end (start) or right end (end), on the baseline of the upper line. */
  readonly at: Point;
  readonly anchor: 'start' | 'end';
  readonly box: Box;
  /** From the tag to its wire, where the tag had to stand away from it. */
  readonly leader?: Segment;
}

export interface Arrowhead {
  readonly at: Point;
  /** Clockwise from pointing right. */
  readonly turn: Turn;
}

export interface LeakDrawing {
  readonly tube: string;
  readonly between: readonly [Electrode, Electrode];
  readonly status: Status;
  /** From the upper electrode to the lower, inside the envelope. */
  readonly from: Point;
  readonly to: Point;
  /** From the leak to its lines of text. */
  readonly leader: readonly [Point, Point] | null;
  /** The current's way through the set, corner by corner; empty where no part carries it. */
  readonly wash: readonly Point[];
  readonly arrows: readonly Arrowhead[];
  /** Part ids on that way, in order. */
  readonly through: readonly string[];
}

export interface Leader {
  readonly of: string;
  readonly from: Point;
  readonly to: Point;
}

export interface Drawing {
  readonly title: string;
  readonly width: number;
  readonly height: number;
  /** Left free at the upper left for the key of the tags. */
  readonly key: Box;
  readonly symbols: readonly PlacedSymbol[];
  readonly terminals: readonly Terminal[];
  readonly wires: readonly Wire[];
  readonly dots: readonly Dot[];
  readonly labels: readonly TextLabel[];
  readonly values: readonly ValueLabel[];
  readonly tags: readonly VoltageTag[];
  readonly leaders: readonly Leader[];
  readonly leak: LeakDrawing | null;
}
