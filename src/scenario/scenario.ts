/** What a scenario file says, read and checked. Numbers are SI; readings keep the unit of their key. */
import type { OwnDefinition, OwnIssue } from '../own-circuit/definition.ts';
import type { BiasLine, Electrode, Family, LineKind, StageValue, ValueSpec } from '../types.ts';
import type { InstrumentProfile } from '../wear/profile.ts';
import type { Readings } from '../wear/readings.ts';
import type { Warning } from './check.ts';
import type { JsonValue } from './json.ts';

export const FORMAT = 'stagefit-scenario';
export const VERSION = 1;
export const MOST_SOCKETS = 500;
export const MOST_TUBES = 5000;

export interface SocketValue extends StageValue {
  /** False: not in the file, the stage's default. */
  readonly given: boolean;
}

export interface Socket {
  readonly id: string;
  readonly title?: string;
  /** Id of the stage. */
  readonly stage: string;
  /** Designations that the socket takes, the first is what the set was built for. */
  readonly tube: readonly string[];
  /** Complete: what the file does not give has the stage's default. */
  readonly values: Readonly<Record<string, SocketValue>>;
  /** The user's own limits by measure: a bound, or a formula over measures. */
  readonly limits: Readonly<Record<string, number | string>>;
  /** Tubes in its places, the first place first; not more than the stage has tubes. Absent: any that fits. */
  readonly fitted?: readonly FittedTube[];
  /** Of an own circuit: its netlist, and what is watched and measured. */
  readonly own?: OwnDefinition;
}

export interface FittedTube {
  /** Id of a tube of the scenario. */
  readonly tube: string;
  /** Id of the section that works in this place. */
  readonly section: string;
}

export interface TestedTube {
  readonly id: string;
  readonly title?: string;
  /** Designation, as the list of tubes writes it. */
  readonly type: string;
  /** Id of the section. */
  readonly section: string;
  readonly readings: Readings;
  /** Ids of the sockets it is meant for; absent: every socket whose stage fits. */
  readonly sockets?: readonly string[];
}

/** What a meter read in the set with a tube in a socket. */
export interface InSetCheck {
  readonly tube: string;
  readonly socket: string;
  /** Input resistance, ohm. */
  readonly meter?: number;
  readonly accuracy_percent?: number;
  readonly readings?: readonly {
    readonly point: string;
    readonly volts: number;
    /** What was done before: "pulled". */
    readonly after?: string;
  }[];
}

/** An AGC or bias line that sockets have in common. */
export interface Line {
  readonly id: string;
  /** Absent: AGC. */
  readonly carries?: LineKind;
  /** Ids of at least two sockets, in the order in which the signal passes them. */
  readonly sockets: readonly string[];
}

export interface Scenario {
  readonly format: typeof FORMAT;
  readonly version: typeof VERSION;
  readonly title: string;
  readonly description?: string;
  readonly bench: InstrumentProfile;
  readonly sockets: readonly Socket[];
  readonly tubes: readonly TestedTube[];
  readonly inSet: readonly InSetCheck[];
  readonly lines: readonly Line[];
  readonly warnings: readonly Warning[];
  /** The document as it was, unknown keys and all: what an export writes. */
  readonly original: JsonValue;
}

/** What the reader has to know of a stage. `Stage` of `types.ts` is one. */
export interface StageSchema {
  readonly id: string;
  readonly tubes: number;
  readonly values: Readonly<Record<string, ValueSpec>>;
  /** Ids, or objects with an id. None: the user names them. */
  readonly measures: readonly (string | { readonly id: string })[];
  /** Of a stage whose grid hangs on an AGC line: values that belong to the line. */
  readonly agcLine?: { readonly values: readonly string[] };
  /** Of a stage whose grids get their bias from a supply that other sockets may share. */
  readonly biasLine?: Pick<BiasLine, 'values' | 'needs' | 'excludes'>;
}

export interface TubeType {
  readonly id: string;
  readonly sections: readonly {
    readonly id: string;
    readonly family: Family;
    /** With the heater where it is an electrode of its own. Absent: paths of leaks are not checked. */
    readonly electrodes?: readonly Electrode[];
  }[];
}

export interface Context {
  /** The file, as the user named it. */
  readonly file: string;
  readonly stages: readonly StageSchema[];
  findTube(name: string): TubeType | undefined;
  nearTubes(name: string): readonly string[];
  /** The stage that a netlist of the user's describes, or what is wrong with it. Absent: own circuits are not known. */
  readonly ownStage?: (
    definition: OwnDefinition,
  ) => { readonly stage: StageSchema } | { readonly issues: readonly OwnIssue[] };
  /** Taken, with a warning, where the file has no `bench`. Without it such a file is refused. */
  readonly bench?: InstrumentProfile;
}
