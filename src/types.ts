/**
 * The joints of the flow, and nothing else. SI inside (volts, amperes, ohms, siemens, farads, seconds, kelvin);
 * units and prefixes appear only at the edges (`src/units`).
 *
 * Scenario --read--> BenchReading --wear--> Wear + TubeModel --build--> Circuit + Run[]
 *   --print, run--> SimResult --measure--> Measures --judge--> Report --render--> page / text / file
 */

// ---------------------------------------------------------------- the tube

export type Family = 'triode' | 'pentode' | 'pentagrid' | 'diode';

/** Electrodes by their trade names. `oscillatorGrid` and `signalGrid` are g1 and g3 of a pentagrid. */
export type Electrode =
  | 'plate'
  | 'screen'
  | 'grid'
  | 'cathode'
  | 'heater'
  | 'oscillatorGrid'
  | 'signalGrid';

/** Volts of each electrode, to any common reference. */
export type PinVolts = Readonly<Partial<Record<Electrode, number>>>;

/** Conventional current INTO each pin, amperes. Grid > 0: electrons collected. Grid < 0: "reverse" current. */
export type PinAmps = Readonly<Partial<Record<Electrode, number>>>;

/**
 * The state of one tube section in one run: what wear did to it, at the heater voltage of that run.
 * Printed as knob nodes, so one netlist serves any number of states.
 */
export interface TubeState {
  /** Area (perveance) factor, 1 = a bogey tube. */
  readonly area: number;
  /** Saturation current of the cathode at this run's heater voltage, A. */
  readonly saturation_A: number;
  /** Gas ratio: reverse grid current over plate + screen current, above ionisation. */
  readonly gasRatio: number;
  /** Primary emission of the control grid, A. */
  readonly gridEmission_A: number;
  /** Shift of contact potential, V: adds to the effective grid voltage of both the space current and the grid current. */
  readonly contactShift_V: number;
  /** Cathode interface resistance, ohm. */
  readonly interface_ohm: number;
}

/** An ohmic path between two electrodes. */
export interface Leak {
  readonly between: readonly [Electrode, Electrode];
  readonly siemens: number;
  /** Of a path from heater to cathode: what hum needs to know beside the ohmic value. */
  readonly heater?: HeaterPath;
}

/** Heater to cathode, in parts: `ohmic_S · v + emission_A · tanh(v / knee)`, which at the test's volts is `siemens · v`. */
export interface HeaterPath {
  readonly ohmic_S: number;
  /** Emission between the two, saturated, A. */
  readonly emission_A: number;
  /** Where along the heater it sits: 0 the grounded end, 1 the other. */
  readonly place: number;
}

export interface SpiceText {
  /** Name of the subcircuit, safe in SPICE and unique to these parameters. */
  readonly name: string;
  /** Electrodes in pin order; after them the knob nodes in `knobs` order. */
  readonly pins: readonly Electrode[];
  readonly knobs: readonly TubeKnob[];
  /** Its own nodes, lower case. */
  readonly inner: readonly string[];
  readonly text: string;
}

/** Knob nodes of the tube's subcircuit, in units that keep node voltages near 1: mA, 1e-6, uA, V, ohm. */
export type TubeKnob =
  | 'area'
  | 'saturation_mA'
  | 'gas_ppm'
  | 'gridEmission_uA'
  | 'contactShift_V'
  | 'interface_ohm';
/** Knobs whose work a subcircuit can leave out. */
export type OptionalKnob = Extract<TubeKnob, 'gas_ppm' | 'gridEmission_uA' | 'interface_ohm'>;

/** Published maximum ratings of a type; one that is not known is absent. */
export interface TubeRatings {
  readonly plate_V?: number;
  readonly plate_W?: number;
  readonly screen_V?: number;
  readonly screen_W?: number;
  /** Heater to cathode, either way. */
  readonly heaterCathode_V?: number;
  /** Of rectifiers, a plate: peak inverse voltage, peak current; mean output of all plates. */
  readonly inverse_V?: number;
  readonly platePeak_A?: number;
  readonly output_A?: number;
  /** "receiving tube manual …, from memory". */
  readonly source: string;
}

export interface TubeModel {
  readonly family: Family;
  /** Device designation, e.g. "12AX7". */
  readonly device: string;
  readonly parameters: Readonly<Record<string, number>>;
  /** Interelectrode capacitances, F. */
  readonly capacitances: {
    readonly gridPlate: number;
    readonly input: number;
    readonly output: number;
    /** Of a pentagrid: oscillator grid to all others. */
    readonly oscillatorInput?: number;
  };
  readonly ratings?: TubeRatings;
  /** Electrodes of this section, in the pin order of the subcircuit. */
  readonly electrodes: readonly Electrode[];
  /** Pin currents without ohmic paths (those are parts of the circuit). Volts relative to any reference. */
  currents(volts: PinVolts, state: TubeState): PinAmps;
  /**
   * The same equations as a subcircuit, every subexpression a node of its own.
   *
   * @param zero knobs that stay at 0: they get no node, and what they do is left out
   */
  spice(zero?: ReadonlySet<OptionalKnob>): SpiceText;
}

// ---------------------------------------------------------------- readings and wear

/** Where a quantity of the tube comes from: a reading, general knowledge of such tubes, or a reading that should be there and is not. */
export type Known = 'read' | 'prior' | 'unread';

/** Standard normal variates of one draw, by name of the unknown. A name not in the draw is 0: its median. */
export type Draw = Readonly<Record<string, number>>;

/** One independent unknown of the tube: sampled as a standard normal. */
export interface Unknown {
  readonly name: string;
  readonly known: Known;
  /** In words, for the report: "share of the drop that is saturation". */
  readonly title: string;
  /** What it belongs to; set on the unknowns of a `Wear`. */
  readonly group?: InputGroup;
}

/** Inputs that a person could read again, measure or set up better; what one of them leaves open is told apart from the others. */
export type InputGroup =
  | 'emission'
  | 'starvedHeater'
  | 'leakage'
  | 'leakPath'
  | 'gridCurrent'
  | 'heaterCathode'
  | 'contactPotential'
  | 'parts'
  | 'line';

/** One tube under one draw, at its rated heater voltage. */
export interface TubeCondition {
  readonly area: number;
  /** At rated heater voltage, A. */
  readonly saturation_A: number;
  readonly gasRatio: number;
  readonly gridEmission_A: number;
  readonly contactShift_V: number;
  readonly interface_ohm: number;
  readonly leaks: readonly Leak[];
}

/** The readings a verdict can hinge on. */
export type ReadingKind =
  | 'emission'
  | 'starvedHeater'
  | 'leakage'
  | 'gridCurrent'
  | 'heaterCathode';

/** A leak path that the readings allow. */
export interface WeightedPath {
  readonly between: readonly [Electrode, Electrode];
  /** Probability, the paths of one leakage sum to 1. */
  readonly weight: number;
  readonly why: string;
}

/** A reading that was taken and cannot tell what it is for. */
export interface BlindReading {
  readonly reading: ReadingKind;
  /** "was read at a test current of 4 mA, which is too small to tell …". */
  readonly why: string;
  readonly advice: string;
}

export interface Wear {
  readonly unknowns: readonly Unknown[];
  /** This tube under a draw. With an empty draw: the central case. */
  condition(draw: Draw): TubeCondition;
  /** A bogey tube of the type under the same draw of what both share (contact potential, saturation reserve). */
  newTube(draw: Draw): TubeCondition;
  /**
   * The conditions that a reading that was not taken, or is `blind`, could plausibly show at worst; other readings central.
   * None where it was taken and tells.
   */
  plausiblyBad(reading: ReadingKind): readonly TubeCondition[];
  readonly blind?: BlindReading;
  /** The condition with all of the leakage on one path; central otherwise. */
  onPath(path: WeightedPath): TubeCondition;
  readonly paths: readonly WeightedPath[];
  /** Central value and 90 % interval of each wear quantity, for the report. */
  readonly summary: readonly WearLine[];
  /** What the readings say of the cathode and the leak, one sentence each. */
  readonly sentences: readonly string[];
  /** What the readings cannot tell: "gas was not tested: …". */
  readonly untold: readonly string[];
}

export interface WearLine {
  readonly id: string;
  readonly title: string;
  readonly unit: Unit;
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly known: Known;
  /** Set where a bare number would mislead: "above 3", "cannot be told from these readings". */
  readonly said?: string;
}

// ---------------------------------------------------------------- the circuit

export type Node = string;

/** A part's value: a constant, or the name of a knob that each row of a run sets. */
export type PartValue = number | { readonly knob: string };

export interface Placement {
  /** Grid position of pin a (tubes: the centre), whole drawing units. */
  readonly at: readonly [number, number];
  /** Clockwise: at 0 pin a is above pin b, at 90 to its right, at 270 to its left. */
  readonly orientation?: 0 | 90 | 180 | 270;
  /** `false`: simulated and not drawn, because another symbol stands for it. */
  readonly drawn?: false;
  /** In another socket, which hangs on the same bias line: simulated at rest, and none of this stage. */
  readonly elsewhere?: true;
  /** What the drawing writes where an id says nothing: a rail's name, where a signal comes from or goes to. */
  readonly name?: string;
}

export interface TwoPin extends Placement {
  readonly kind: 'resistor' | 'capacitor' | 'inductor';
  readonly id: string;
  readonly nodes: readonly [Node, Node];
  readonly value: PartValue;
  /**
   * Of a capacitor: a small capacitance inside a tube from the first node to another. This capacitor's ripple drives
   * current through it, in the ratio of the two. Only phase copies need it; a transient has the tube's own capacitances.
   */
  readonly feeds?: { readonly node: Node; readonly farads: number };
  /**
   * Stray capacitance or a peaking coil: it acts far above the frequency of the signal only. At rest and in the phase copies
   * such a capacitor is open and such a coil a short; transients and the small-signal view have it as it is.
   */
  readonly fast?: true;
  /** Key in the stage's `values`, where the user edits it. */
  readonly edits?: string;
}

/** DC source from a node to chassis: a rail (B+, bias) or a line that is held (AGC). */
export interface SupplyPart extends Placement {
  readonly kind: 'supply';
  readonly id: string;
  readonly nodes: readonly [Node, '0'];
  readonly value: PartValue;
  readonly edits?: string;
}

/** The drive: a cosine of amplitude `drive` (a knob, V peak), or in the levels view a pulse train. */
export interface SignalPart extends Placement {
  readonly kind: 'signal';
  readonly id: string;
  readonly nodes: readonly [Node, Node];
  /** Times the drive, 1 by default; -1 is the other half of a centre-tapped winding. */
  readonly factor?: number;
  /** V for a drive of 1; the drive is then a share of it. */
  readonly amplitude?: PartValue;
  /** Levels view: the signal over its amplitude, one number a level of the view. */
  readonly levels?: readonly number[];
  readonly edits?: string;
}

/** A tuned circuit: a short for DC, `impedance` at its own frequency, nothing at harmonics. */
export interface TankPart extends Placement {
  readonly kind: 'tank';
  readonly id: string;
  readonly nodes: readonly [Node, Node];
  readonly impedance: PartValue;
  readonly loadedQ: number;
  /** Capacitance of what hangs on it, which the set's alignment has tuned in, F. Only a transient needs it. */
  readonly stray_F?: number;
  /** Where it is tuned to another frequency than the drive's: the phase copies then see a short. */
  readonly tunedTo_Hz?: number;
  readonly edits?: string;
}

/** The first node swings against the second by a share of the whole tuned circuit's swing. */
export interface TankWinding {
  readonly nodes: readonly [Node, Node];
  readonly share: number;
  /** What is left of it behind a coupling capacitor, which the tube's own capacitance loads: for phase copies, which have neither. */
  readonly coupled?: number;
}

/**
 * The tuned circuit of an oscillator. In phase copies it is held at the drive's amplitude, each winding (a tap is one) with its
 * share of that; what it is made of does not show there. It has no transient.
 */
export interface OscillatorTankPart extends Placement {
  readonly kind: 'oscillatorTank';
  readonly id: string;
  /** As drawn: one end, tap, other end; a winding of its own instead of a tap has two ends. */
  readonly nodes: readonly Node[];
  /** A tapped coil, two capacitors across a coil with the tap between them, or a second winding. */
  readonly feedback: 'tap' | 'capacitors' | 'winding';
  readonly windings: readonly TankWinding[];
  /** At its own frequency, across the whole of it, without the tube. */
  readonly impedance: PartValue;
  readonly loadedQ: number;
  readonly edits?: string;
}

/**
 * An output transformer seen from its primary: the winding's DC resistance in series with the primary inductance, across
 * which the load stands. Its frequency response beyond that is left out.
 */
export interface OutputTransformerPart extends Placement {
  readonly kind: 'outputTransformer';
  readonly id: string;
  /** Supply end, the point behind the winding's resistance, plate end. */
  readonly nodes: readonly [Node, Node, Node];
  readonly inductance_H: number;
  readonly resistance: PartValue;
  /** Load referred to the primary. */
  readonly load: PartValue;
  readonly edits?: string;
}

/**
 * An output transformer with a centre-tapped primary, its halves ideally coupled, seen from plate to plate: each half's share
 * of the DC resistance in series with its turns; load and primary inductance at the secondary, whose volts are referred from
 * plate to plate. The difference of the mean currents magnetises it and makes no voltage.
 */
export interface PushPullTransformerPart extends Placement {
  readonly kind: 'pushPullTransformer';
  readonly id: string;
  /** Centre tap, first plate end, second plate end, secondary (against chassis). */
  readonly nodes: readonly [Node, Node, Node, Node];
  /** Taps for the screens, at a share of each half from the centre. */
  readonly taps?: { readonly nodes: readonly [Node, Node]; readonly share: number };
  /** Plate to plate. */
  readonly inductance_H: number;
  readonly resistance: PartValue;
  readonly load: PartValue;
  readonly edits?: string;
}

/** Feedback in series with a source: the first node stands above the second by a share of the volts of another. Not drawn. */
export interface FeedbackPart extends Placement {
  readonly kind: 'feedback';
  readonly id: string;
  readonly nodes: readonly [Node, Node];
  readonly from: Node;
  readonly share: PartValue;
}

export interface TubePart extends Placement {
  readonly kind: 'tube';
  readonly id: string;
  /** Electrode to node. */
  readonly nodes: Readonly<Partial<Record<Electrode, Node>>>;
  /** Index into `Circuit.tubes`. */
  readonly tube: number;
  /** A tube of the set that is not the one in question: in this state in every row, and without leaks. */
  readonly state?: TubeState;
}

/** Drawn, not simulated: what lies outside this stage. */
export interface BlockPart extends Placement {
  readonly kind: 'block';
  readonly id: string;
  readonly nodes: readonly Node[];
  readonly size: readonly [number, number];
  readonly title: string;
}

export type Part =
  | TwoPin
  | SupplyPart
  | SignalPart
  | TankPart
  | OscillatorTankPart
  | OutputTransformerPart
  | PushPullTransformerPart
  | FeedbackPart
  | TubePart
  | BlockPart;

/** A value that a run sets: its nominal and how it spreads. z is standard normal. */
export interface Uncertain {
  readonly nominal: number;
  /** Name of the unknown that moves it; knobs that share one (all that hang on the line voltage) move together. */
  readonly unknown: string;
  toValue(z: number): number;
}

export interface Circuit {
  readonly title: string;
  readonly parts: readonly Part[];
  readonly tubes: readonly TubeModel[];
  /** Part-value knobs; the tubes' knobs are added by the printer as `<tube part id>_<knob>`. */
  readonly knobs: Readonly<Record<string, Uncertain>>;
  /** Nodes that measures need. */
  readonly watch: readonly Node[];
  /** Other tubes on the same AGC line, each in a socket of its own. */
  readonly line?: LineNeighbours;
  /** Where a net's wire runs when its pins share no row or column: horizontal or vertical, at a coordinate. */
  readonly spine?: Readonly<Record<Node, readonly ['h' | 'v', number]>>;
  /** Nets whose wires would cross others: drawn as terminals of that name. */
  readonly named?: Readonly<Record<Node, string>>;
  /** Text of the user's own circuit: it has no layout, and is shown instead of a drawing. */
  readonly netlist?: string;
}

/** One row of a run's table: knob values, tube states and leaks. Everything a row does not name stays nominal. */
export interface Row {
  readonly knobs: Readonly<Record<string, number>>;
  /** By tube index. */
  readonly tubes: readonly { readonly state: TubeState; readonly leaks: readonly Leak[] }[];
  /** Amplitude of the drive, V peak. */
  readonly drive: number;
}

export type View =
  /** `substeps`: points from one row to the next, knobs moving evenly; more where the engine finds the next row hard. */
  | { readonly as: 'quiescent'; readonly substeps?: number }
  | { readonly as: 'phases'; readonly count: number; readonly substeps?: number }
  /**
   * Phase copies of a modulated carrier at `moments` (odd) evenly spaced points of one audio cycle, settled: the mean
   * nodes of the capacitors are periodic in the audio, with the real capacitances.
   */
  | {
      readonly as: 'envelope';
      readonly count: number;
      readonly moments: number;
      readonly tone: Tone;
      readonly substeps?: number;
    }
  /**
   * `points` evenly spaced moments of one cycle, the first at the drive's positive peak, settled: every capacitor and inductor
   * charges from moment to moment. For ripple and for currents that flow in a small part of the cycle.
   */
  | {
      readonly as: 'cycle';
      readonly points: number;
      readonly frequency_Hz: number;
      readonly substeps?: number;
    }
  /**
   * A pulse train: one copy a level, each with its share of the period (the shares sum to 1). Capacitors are large for one
   * period, as in phase copies; their mean currents are weighted by the shares. Or they are what they are and charge
   * within it: a copy at the end of each of so many even `steps` of a level.
   */
  | {
      readonly as: 'levels';
      readonly shares: readonly number[];
      readonly charging?: { readonly frequency_Hz: number; readonly steps: number };
      readonly substeps?: number;
    }
  | {
      readonly as: 'transient';
      readonly frequency_Hz: number;
      readonly cycles: number;
      readonly stepsPerCycle: number;
      /** Of a levels view: the levels follow one another from the start of each cycle. */
      readonly shares?: readonly number[];
      /** Modulates the drive; the last two of its cycles are kept instead of the last three of the drive's. */
      readonly tone?: Tone;
    };

/** Amplitude modulation of the drive: 1 + depth cos(2 pi f t). */
export interface Tone {
  readonly frequency_Hz: number;
  /** 0 to 1. */
  readonly depth: number;
}

export interface Run {
  readonly id: string;
  readonly view: View;
  readonly rows: readonly Row[];
}

// ---------------------------------------------------------------- simulation

/** What goes to the engine: text, and what must come back for it to count as an answer. */
export interface SimRequest {
  /** Echoed by the engine in the title line; an answer with another id is refused. */
  readonly runId: string;
  /** Complete netlist; its first line is `* stagefit <runId>`. */
  readonly netlist: string;
  readonly analysis: 'op' | 'dc' | 'ac' | 'tran';
  /** Vectors that must be there, finite, e.g. `v(p_0)`. Lower case. */
  readonly need: readonly string[];
  /** Exact number of points (op, dc, ac), or the least number (tran). */
  readonly points: number;
  /** Last value of the sweep variable or of time, which must be reached within 1e-6 relative. */
  readonly end?: number;
}

export type SimResult =
  | {
      readonly ok: true;
      readonly runId: string;
      readonly vectors: Readonly<Record<string, Float64Array>>;
      /** Harmless remarks of the engine ("gmin stepping"), for the report's small print. */
      readonly notes: readonly string[];
      readonly warnings: readonly string[];
    }
  | {
      readonly ok: false;
      readonly runId: string;
      readonly why: 'parse' | 'noConvergence' | 'timeout' | 'cancelled' | 'crash' | 'incomplete';
      readonly text: string;
      /** Of a sweep that did not converge somewhere: the points before that, checked as an answer's are. */
      readonly found?: {
        readonly points: number;
        readonly vectors: Readonly<Record<string, Float64Array>>;
      };
    };

/** The part of the platform's AbortSignal that is used; the core compiles without the DOM's types. */
export interface StopSignal {
  readonly aborted: boolean;
  addEventListener(type: 'abort', listener: () => void, options?: { once?: boolean }): void;
  removeEventListener(type: 'abort', listener: () => void): void;
}

export interface RunOptions {
  readonly signal?: StopSignal;
  readonly timeout_ms?: number;
}

export interface Simulator {
  /** Never rejects and never hangs: failure is a result. Requests are queued. */
  run(request: SimRequest, options?: RunOptions): Promise<SimResult>;
  /** Name and version of the engine, for the report. */
  readonly engine: string;
  /** How many requests run side by side. */
  readonly workers: number;
  close(): void;
}

// ---------------------------------------------------------------- the stage

/** One value of a socket, as the scenario's `values` key. Numbers are SI. */
export interface ValueSpec {
  readonly title: string;
  readonly unit: Unit;
  /** null: absent unless given. */
  readonly default: number | string | readonly number[] | null;
  readonly low: number;
  readonly high: number;
  /** Ordinary tolerance of such a part; 0 for values that have none. */
  readonly tolerance_percent: number;
  readonly choices?: readonly string[];
  readonly list?: boolean;
  /** A sound set has it at its default: any other value is a fault of the circuit. */
  readonly fault?: true;
  readonly help?: string;
}

/** A value as a socket has it. */
export interface StageValue {
  readonly value: number | string | readonly number[] | null;
  readonly tolerance_percent: number;
  readonly measured: boolean;
  /** What the part is marked, where it is no longer that: what it is in a sound set. */
  readonly marked?: number;
}

export type StageValues = Readonly<Record<string, StageValue>>;

/** One point at which a step looks at the circuit. */
export interface Setting {
  readonly drive: number;
  readonly knobs?: Readonly<Record<string, number>>;
  /** With the tubes as the socket's lowest line voltage heats them, whatever the draw says; the supplies are knobs. */
  readonly lowLine?: true;
}

export type Measures = Readonly<Record<string, MeasureValue>>;

/** A step of a stage's runs: a view, and settings that may depend on what earlier steps found. */
export interface Step {
  readonly id: string;
  view(values: StageValues): View;
  /**
   * `own` holds this subject's measures of earlier steps. `central` holds all measures of the central case of the same
   * subject kind and is given when draws are run: a step may then look only near the central answer. `traces` shows what
   * this subject's earlier steps found.
   */
  settings(
    values: StageValues,
    own: Measures,
    central: Measures | undefined,
    traces: Traces,
  ): readonly Setting[];
  /**
   * Settings are simulated in their order, one subject after the other, and never backwards: where a circuit can rest in
   * more than one way, what comes before leads to the way that is meant.
   */
  readonly inOrder?: true;
}

/** What a measure may look at: one subject's node voltages, in every step done so far. */
export interface Traces {
  readonly values: StageValues;
  readonly models: readonly TubeModel[];
  readonly states: readonly TubeState[];
  /** At settings with `lowLine`. */
  readonly lowLineStates?: readonly TubeState[] | undefined;
  /** Ohmic paths, by tube index. */
  readonly leaks: readonly (readonly Leak[])[];
  /** Value of a part knob for this subject. */
  knob(name: string): number;
  settings(step: string): readonly Setting[];
  /** Phase samples (one in the quiescent view) of a watched node at a setting. */
  volts(step: string, setting: number, node: Node): Float64Array;
  /** The new tube under the same draw; undefined where this is one. */
  readonly newTube: Traces | undefined;
  /** `Circuit.line`. */
  readonly line: LineNeighbours | undefined;
  /** Of an own circuit: the engine's vectors by analysis. */
  readonly answers?: OwnAnswers;
}

/** By analysis ("rest" is the operating point), then by vector. */
export type OwnAnswers = Readonly<Record<string, Readonly<Record<string, Float64Array>>>>;

/** How a circuit that is the user's netlist is run: subject by subject, each analysis a netlist, instead of by views. */
export interface OwnRuns {
  /** Of the tube in each place. */
  readonly families: readonly Family[];
  /**
   * One complete netlist an analysis, the operating point ("rest") first. `start`: node voltages of a similar row at rest,
   * the engine's first guess; the vectors of "rest" have all of them.
   */
  requests(
    circuit: Circuit,
    row: Omit<Row, 'drive'>,
    runId: string,
    start?: OwnAnswers[string],
  ): readonly { readonly analysis: string; readonly request: SimRequest }[];
  restVolts(answers: OwnAnswers, node: Node): number;
}

/** What one tube does to the AGC line that it hangs on, at rest, against the line's voltage to chassis. */
export interface LineCurve {
  /** Rising, V. */
  readonly line_V: readonly number[];
  /** Current onto the line by gas, grid emission and leaks, A: above 0 it lifts the line. */
  readonly reverse_A: readonly number[];
  /** Electrons that the grid collects, A, never below 0: they pull the line down. */
  readonly electrons_A: readonly number[];
  /** Gain of the tube's stage were its grid no load; the grid divides it by 1 + `load`. */
  readonly gain: readonly number[];
  readonly load: readonly number[];
}

/** Another tube on the same AGC line, in a socket of its own. */
export interface LineNeighbour {
  /** Its tube index: `Circuit.tubes` has its model, though not its parts. */
  readonly tube: number;
  /** What it does to the line in a state, with leaks; `isNew` tells a new tube's operating points from those of the tube as read. */
  curve(state: TubeState, leaks: readonly Leak[], isNew: boolean): LineCurve;
}

/** In the order in which the signal passes them: those ahead of this stage and those behind it. */
export interface LineNeighbours {
  readonly ahead: readonly LineNeighbour[];
  readonly behind: readonly LineNeighbour[];
}

export interface MeasureSpec {
  readonly id: string;
  readonly title: string;
  readonly unit: Unit;
  /** The step after which it can be told. */
  readonly step: string;
  /** One sentence: what exactly is measured. */
  readonly what: string;
  /** `newTube` holds the same step's measures of the new tube under the same draw. */
  of(traces: Traces, own: Measures, newTube: Measures | undefined): MeasureValue;
  /** Alternating volts that may be far below a millivolt; direct volts are told to a millivolt. */
  readonly alternating?: true;
  /** Readings that decide it where they were not taken; with the emission always the drop with a starved heater, which is not named beside it. */
  readonly readings: readonly ReadingKind[];
}

export interface LimitSpec {
  readonly measure: string;
  /** Relation over measures and `newTube.…`, e.g. "gain >= 0.7 * newTube.gain". */
  readonly formula: string;
  readonly reason: string;
  readonly source: string;
  /** Ratings of the type without which there is no such limit: the measure is then shown and not judged. */
  readonly needs?: readonly (keyof TubeRatings)[];
}

/** A value that is tried in steps: preferred values of such parts, or volts of an adjustable bias. */
export interface ChangeableValue {
  readonly key: string;
  readonly steps: 'E12' | 'E24' | 'volts';
  /** Default: both ways. */
  readonly way?: 'up' | 'down';
}

/** A value that is changed for the sake of some measures only; what is tried is the stage's to say. */
export interface ChosenValue {
  readonly key: string;
  /** Tried where one of these fails. */
  readonly cures: readonly string[];
  /** Parts that it takes: each counts as much as doubling a value. */
  readonly parts: number;
  /** What could be there instead in this circuit, what helps least first. */
  tries(values: StageValues, circuit: Circuit): readonly (number | string)[];
  /** What it costs beside what the measures tell, as a sentence. `values` as changed, `before` as they are. */
  price(values: StageValues, circuit: Circuit, before: StageValues): string | undefined;
}

/** What the grids of sockets that share a line get by it. */
export type LineKind = 'AGC' | 'bias';

/** The bias supply of a stage, seen from its grid resistors. */
export interface BiasLine {
  /** Where all its grid resistors lead; undefined where that cannot move, or each tube has a supply of its own. */
  node(values: StageValues): Node | undefined;
  /** Its first setting is at rest. */
  readonly step: string;
  /** Values that belong to the line: its sockets have them in common. */
  readonly values: readonly string[];
  /** Those without which there is nothing to share. */
  readonly needs: readonly string[];
  /** Values of a socket that has no part in a common bias: a bias of its own, or one for each tube. */
  readonly excludes: { readonly ownBias: readonly string[]; readonly eachTube: readonly string[] };
}

export interface Stage {
  readonly id: string;
  readonly title: string;
  /** The stage's job, one sentence. */
  readonly does: string;
  readonly source: string;
  readonly families: readonly Family[];
  readonly tubes: number;
  readonly values: Readonly<Record<string, ValueSpec>>;
  circuit(values: StageValues, tubes: readonly TubeModel[]): Circuit;
  readonly steps: readonly Step[];
  /** The setting that a meter sees, where that is not the first of the first step. */
  readonly shown?: { readonly step: string; readonly setting: number };
  readonly measures: readonly MeasureSpec[];
  readonly limits: readonly LimitSpec[];
  /** Values whose sum is the DC resistance of the grid circuit; the first is the one a person would change. */
  readonly gridCircuit: readonly string[];
  /** It does nothing of what it is for while it rests: readings without oscillation, drive or line voltage say nothing of it. */
  readonly neverAtRest?: true;
  /** Values that a person would change to make a doubtful tube work. Default: the first of the grid circuit, downwards in E12. */
  readonly changeable?: readonly (ChangeableValue | ChosenValue)[];
  /** Frequency of the signal for a transient, Hz, and the nodes that carry slow means. */
  transient(values: StageValues): { readonly frequency_Hz: number; readonly settling_s: number };
  /** No settled transient can run it: two time scales, pulses, or an oscillator. */
  readonly noTransient?: true;
  /** Of a stage whose grid hangs on an AGC line that other stages may share. */
  readonly agcLine?: {
    /** Shows the stage at rest with its line held at one voltage after the other. */
    readonly step: string;
    /** What the tube does to the line. Needs that step. */
    curve(traces: Traces): LineCurve;
    /** Values that belong to the line: its sockets have them in common. */
    readonly values: readonly string[];
  };
  /** Of a stage whose grids get their bias from a supply that other stages may share. */
  readonly biasLine?: BiasLine;
  /** Checks values against each other; a sentence for each thing that makes the answer doubtful. */
  doubts?(values: StageValues): readonly string[];
  /** Of an own circuit only. Its `steps` are then the operating point, for the voltages that are told. */
  readonly own?: OwnRuns;
}

// ---------------------------------------------------------------- measures and verdict

export type Unit =
  | 'V'
  | 'A'
  | 'ohm'
  | 'S'
  | 'W'
  | 'F'
  | 'H'
  | 'Hz'
  | 's'
  | 'K'
  | '%'
  | 'dB'
  | '×'
  | '';

/** Why there is no number. Never encoded as 0. */
export interface NoValue {
  readonly noValue: string;
  /** Set where the quantity is known to lie beyond a bound: "never reaches 5 % below clipping of the source". */
  readonly atLeast?: number;
}

export type MeasureValue = number | NoValue;

/** `unjudged`: a measure without a limit, shown for information. */
export type Status = 'usable' | 'marginal' | 'unsuitable' | 'undetermined' | 'failed' | 'unjudged';

export interface LimitReport {
  /** As data: "gain >= 0.7 * newTube.gain". */
  readonly text: string;
  readonly sense: 'atLeast' | 'atMost';
  /** The bound in the measure's unit, at central values. */
  readonly bound: number;
  readonly reason: string;
  readonly source: string;
}

export interface Judged {
  readonly id: string;
  readonly title: string;
  readonly unit: Unit;
  readonly value: number | null;
  /** 90 % interval, paired with the new tube under the same draw. Null where not computed. */
  readonly low: number | null;
  readonly high: number | null;
  readonly newTube: number | null;
  readonly limit: LimitReport | null;
  /** Signed distance to the limit over the bound's size: positive inside. */
  readonly margin: number | null;
  readonly status: Status;
  /** One sentence with numbers, and its cause, where there is one. */
  readonly reason: string;
  /** What it comes from, without the measure's own figures: several measures often have the same. */
  readonly cause?: string;
}

/** What the verdict would be with all of the leakage on one path. */
export interface PathVerdict {
  /** Whose leakage, where the stage has more than one tube. */
  readonly tube?: string;
  readonly between: readonly [Electrode, Electrode];
  /** Both electrodes in words. */
  readonly title: string;
  readonly weight: number;
  readonly why: string;
  readonly status: Status;
  readonly sentence: string;
}

/** A single change that was simulated, and the verdict it leads to. */
export interface Change {
  readonly sentence: string;
  /** The socket's value that changes, if it is one. */
  readonly key: string | null;
  readonly from: number | string | null;
  readonly to: number | string | null;
  readonly verdict: Status;
  /** Measures that it brings back within their limits. */
  readonly brings?: readonly string[];
  /** The other judged measure that loses most by it, where one does. */
  readonly costs?: {
    readonly measure: string;
    readonly valueFrom: number | null;
    readonly valueTo: number | null;
    /** Margins at the unsafe end of the interval. */
    readonly marginFrom: number;
    readonly marginTo: number;
  };
}

/** How sure a verdict is, and which input leaves most of it open. */
export interface HowSure {
  /** Draws that lie within every limit, of those that were simulated (all seeds that were run). */
  readonly within: number;
  readonly of: number;
  /** The share, and its 90 % interval. */
  readonly share: number;
  readonly low: number;
  readonly high: number;
  readonly sentence: string;
  /** The measure whose spread `inputs` share: the one that decides. Null where there is none. */
  readonly measure: string | null;
  /** Shares of that spread, the largest first; what cannot be told from chance is left out. */
  readonly inputs: readonly {
    readonly group: InputGroup;
    /** Whose, where the stage has more than one tube. */
    readonly tube?: string;
    readonly title: string;
    /** 0 … 1. */
    readonly share: number;
  }[];
  /** What to read again or to measure. Null where nothing stands out. */
  readonly advice: string | null;
  readonly source: string;
}

/** DC voltages to chassis of the drawn nodes, at rest. */
export type NodeVolts = Readonly<Record<Node, number>>;

export interface LineReport {
  readonly id: string;
  readonly tubes: readonly {
    readonly tube: string;
    readonly socket: string;
    /** By how much the grid voltage would be lower without this tube's leak, gas and grid emission, V; null: not computed. */
    readonly lifts_V: number | null;
  }[];
  readonly sentence: string;
}

/** "The tube is fine, the circuit is not", or how far that is so. */
export interface CircuitFault {
  /** Of a new tube in this circuit, against a new tube in the circuit as it should be. Usable: it bears what this tube does not. */
  readonly status: Exclude<Status, 'unjudged'>;
  /** Of this tube in the circuit as it should be. */
  readonly inSoundCircuit: Exclude<Status, 'unjudged'>;
  /** The values that are not what they are in a sound set, in words. */
  readonly faults: readonly string[];
  /** Those that make this tube usable when they alone are mended; none where it is usable with all of them. */
  readonly enough: readonly string[];
  readonly sentence: string;
}

/** One tube in one socket: everything that is shown. Views render it and compute nothing. */
export interface Report {
  readonly format: 'stagefit-report';
  readonly version: 1;
  readonly engine: string;
  readonly seed: number;
  readonly draws: number;
  readonly method: 'phase copies' | 'settled transient' | 'own netlist';
  readonly socket: {
    readonly id: string;
    readonly title: string;
    readonly stage: string;
    readonly stageTitle: string;
  };
  readonly tube: { readonly id: string; readonly type: string; readonly section: string };
  /** Tubes that were judged together with it: the other places of the stage, or other sockets on the same line. */
  readonly companions: readonly {
    readonly id: string;
    readonly type: string;
    readonly section: string;
    /** Nobody has read it: a new tube was taken. Then it has no wear to tell of. */
    readonly taken?: 'new';
    /** Its socket, where that is another one on the same line. */
    readonly socket?: string;
    readonly wear: readonly WearLine[];
    readonly wearSentences: readonly string[];
  }[];
  /** The AGC or bias line that this socket shares with others, and what each tube's reverse grid current does to it. */
  readonly line?: LineReport;
  readonly verdict: Exclude<Status, 'unjudged'>;
  /** The measure that decides, and the sentence that says so. */
  readonly decidedBy: { readonly measure: string | null; readonly sentence: string };
  /** Where values of the circuit are faults, and a new tube would not be usable with them either, or this one would be without them. */
  readonly circuitFault: CircuitFault | null;
  /** Absent where only central values were computed. */
  readonly howSure?: HowSure;
  readonly measures: readonly Judged[];
  readonly wear: readonly WearLine[];
  readonly wearSentences: readonly string[];
  readonly paths: readonly PathVerdict[];
  readonly wouldChange: readonly Change[];
  readonly notJudged: readonly string[];
  readonly cautions: readonly string[];
  readonly warnings: readonly string[];
  readonly circuit: Pick<Circuit, 'title' | 'parts' | 'spine' | 'named' | 'netlist'>;
  readonly nodeVolts: { readonly newTube: NodeVolts; readonly thisTube: NodeVolts };
}
