import type { Problem } from '../problem.ts';
import type { Electrode, Unit } from '../types.ts';

/** What a scenario says of an own circuit: the text, what to watch and what to measure. Not yet checked. */
export interface OwnDefinition {
  /** Lines of the circuit in the open SPICE syntax. */
  readonly lines: readonly string[];
  /** Nodes whose voltages at rest are told. */
  readonly watch: readonly string[];
  readonly measures: Readonly<Record<string, OwnMeasure>>;
  /** Plus or minus percent by element; what is not named has the default for resistors, and none otherwise. */
  readonly tolerances: Readonly<Record<string, number>>;
  /** Supplies that do not move with the line voltage: batteries, regulated ones. */
  readonly steady: readonly string[];
}

export interface OwnMeasure {
  readonly formula: string;
  readonly unit: Unit;
  readonly title?: string;
}

/** Something wrong in an own circuit, and where in its definition. */
export interface OwnIssue {
  readonly code: Problem['code'];
  readonly message: string;
  /** Path of keys below the socket: `circuit`, `watch[0]`, `measures.gain.formula`. */
  readonly place: string;
  /** One-based line of the circuit. */
  readonly line?: number;
  readonly found: string;
  readonly expected: string;
  readonly hint?: string;
}

/** An electrode order by the number of nodes on a TUBE line. */
export const TUBE_PINS: Readonly<Record<number, readonly Electrode[]>> = {
  2: ['plate', 'cathode'],
  3: ['plate', 'grid', 'cathode'],
  4: ['plate', 'screen', 'grid', 'cathode'],
  5: ['plate', 'screen', 'signalGrid', 'oscillatorGrid', 'cathode'],
};

/** Sizes beyond which a circuit is refused: each is far above what a stage with a few tubes has. */
export const MOST = {
  lines: 300,
  lineCharacters: 200,
  elements: 120,
  nodes: 60,
  tubes: 8,
  sweepPoints: 401,
  transientPoints: 2000,
  frequencies: 5,
  measures: 20,
} as const;

interface Base {
  /** As the user wrote it. */
  readonly name: string;
  /** One-based line of the circuit. */
  readonly line: number;
}

/** A source's value and what it adds in the other analyses. */
export interface Source {
  readonly dc: number;
  /** Small-signal amplitude and phase, degrees. */
  readonly ac?: readonly [number, number];
  /** Offset, amplitude, Hz. */
  readonly sine?: readonly [number, number, number];
}

/** Nodes are lower case, chassis is "0". */
export type Element = Base &
  (
    | {
        readonly kind: 'R' | 'C' | 'L';
        readonly nodes: readonly [string, string];
        readonly value: number;
      }
    | ({ readonly kind: 'V' | 'I'; readonly nodes: readonly [string, string] } & Source)
    | {
        readonly kind: 'E' | 'G';
        readonly nodes: readonly [string, string, string, string];
        readonly value: number;
      }
    | {
        readonly kind: 'F' | 'H';
        readonly nodes: readonly [string, string];
        readonly control: string;
        readonly value: number;
      }
    | {
        readonly kind: 'K';
        readonly nodes: readonly string[];
        readonly coils: readonly [string, string];
        readonly value: number;
      }
    | {
        readonly kind: 'D';
        readonly nodes: readonly [string, string];
        readonly model: string;
      }
    | {
        readonly kind: 'X';
        /** Electrodes in the order of `TUBE_PINS`, then the heater. */
        readonly nodes: readonly string[];
        readonly electrodes: readonly Electrode[];
        /** Place of the tube in the socket, from 1. */
        readonly place: number;
      }
  );

export type TubeElement = Extract<Element, { kind: 'X' }>;

export interface DiodeModel extends Base {
  readonly parameters: Readonly<Record<string, number>>;
}

/** `.dc`: one source stepped. `points` and `step` are exact: the last value is start + (points - 1) step. */
export interface Sweep {
  readonly line: number;
  readonly source: string;
  readonly start: number;
  readonly step: number;
  readonly points: number;
}

export interface Transient {
  readonly line: number;
  readonly step_s: number;
  readonly stop_s: number;
}

/** A circuit that was read, names in lower case as keys. */
export interface OwnCircuit {
  readonly elements: readonly Element[];
  readonly models: readonly DiodeModel[];
  readonly sweep?: Sweep;
  readonly transient?: Transient;
}
