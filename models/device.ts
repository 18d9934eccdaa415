import type { Electrode, Family } from '../src/types.ts';

/**
 * The device file: one file a tube type. What is published of the type, and the parameters that
 * `npm run fit:devices` made from it. `parseDevice` in `device-read.ts` checks a file from outside.
 */
export interface Device {
  readonly format: 'stagefit-device';
  readonly version: 1;
  readonly id: string;
  readonly title: string;
  /** Every name the type is sold under, the European one included. */
  readonly designations: readonly string[];
  /** Types that are the same but for what is said: heater, ratings, screening. */
  readonly variants?: readonly Variant[];
  readonly base: Base;
  readonly heater: Heater;
  readonly units: readonly Unit[];
  /** What a reader should know: contradictions in the published data, doubtful figures. */
  readonly remarks?: readonly string[];
}

export type Provenance = 'published' | 'fromMemory';

export interface Cited {
  readonly source: string;
  readonly provenance: Provenance;
}

export interface Variant {
  readonly designations: readonly string[];
  readonly differs: string;
  readonly heater?: Heater;
  /** Its own maximum ratings, where they differ; they stand in place of the unit's of the same name. */
  readonly ratings?: Ratings & { readonly unit?: string };
  readonly base?: Base;
}

export interface Base extends Cited {
  /** EIA basing designation, e.g. "9A". */
  readonly eia?: string;
  readonly socket: string;
  readonly topCap?: Electrode;
  readonly heaterPins?: readonly number[];
}

export interface Heater extends Cited {
  readonly volts: number;
  readonly amps: number;
  readonly alternative?: { readonly volts: number; readonly amps: number };
  readonly connection: 'two pins' | 'centre-tapped';
  /** Directly heated types: the filament is the cathode. */
  readonly filament?: boolean;
}

export type Character = 'triode' | 'sharp' | 'remote' | 'beam' | 'pentagrid' | 'diode';

/** Electrically equal sections of one type; a triode-pentode has two units. */
export interface Unit {
  readonly id: string;
  readonly family: Family;
  readonly character: Character;
  readonly sections: readonly Section[];
  readonly ratings?: Ratings;
  readonly capacitances_pF: Cited & {
    /** Control grid to plate; in a pentagrid the signal grid's. 0 in a diode. */
    readonly gridPlate: number;
    readonly input: number;
    readonly output: number;
    /** Oscillator grid of a pentagrid to all others. */
    readonly oscillatorInput?: number;
  };
  readonly saturation: SaturationPrior;
  readonly grid?: GridPrior;
  readonly points: readonly Point[];
  readonly fit?: FitRecord;
}

export interface Section {
  readonly id: string;
  /** Base pin of each electrode; an electrode that is not known for sure is left out. */
  readonly pins: Readonly<Partial<Record<Electrode, number>>>;
}

export interface Ratings extends Cited {
  readonly plate_V?: number;
  readonly plate_W?: number;
  readonly screen_V?: number;
  readonly screen_W?: number;
  readonly cathode_mA?: number;
  readonly heaterCathode_V?: number;
  /** Of rectifiers: peak inverse voltage, peak and mean current a plate (the mean of both plates where they are two). */
  readonly inverse_V?: number;
  readonly platePeak_mA?: number;
  readonly dcOutput_mA?: number;
  readonly gridCircuit_Mohm?: {
    readonly fixedBias?: number;
    readonly cathodeBias?: number;
    readonly contactBias?: number;
  };
}

/** Saturation current of a new cathode. Not published for receiving tubes: a prior. */
export interface SaturationPrior extends Cited {
  readonly newCathode_mA: number;
  /** Factor either way that holds nine in ten new tubes: 1.8 for a reserve of 5, 3 to 10. */
  readonly spreadFactor: number;
}

/** Grid-current law: a prior. */
export interface GridPrior extends Cited {
  readonly kgg_mA: number;
  readonly vc_V: number;
  /** One standard deviation of vc from tube to tube, V. */
  readonly vcSpread_V?: number;
  readonly plateDivision: number;
}

interface PointBase extends Cited {
  /** `fit` decides parameters; `check` is only compared. */
  readonly use: 'fit' | 'check';
  /** Relative confidence, 1 = ordinary. */
  readonly weight?: number;
  readonly note?: string;
}

/** A line of the handbook's characteristics. Exactly one of `grid_V` and `cathode_ohm` gives the bias. */
export interface OperatingPoint extends PointBase {
  readonly kind: 'operating';
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V?: number;
  /** Cathode resistor, ohm: the bias is what the tube's own current makes of it. */
  readonly cathode_ohm?: number;
  readonly plate_mA?: number;
  readonly screen_mA?: number;
  readonly gm_mS?: number;
  readonly rp_ohm?: number;
  readonly mu?: number;
}

/** A pentode with its screen joined to the plate, used as a triode; `plate_mA` is the current of both. */
export interface JoinedPoint extends PointBase {
  readonly kind: 'joined';
  readonly plate_V: number;
  readonly grid_V: number;
  readonly plate_mA?: number;
  readonly gm_mS?: number;
  readonly rp_ohm?: number;
  readonly mu?: number;
}

/** Grid voltage at which so much plate current is left. */
export interface CutoffPoint extends PointBase {
  readonly kind: 'cutoff';
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
  readonly plate_uA: number;
}

/** Grid voltage at which so much transconductance is left. */
export interface GmPoint extends PointBase {
  readonly kind: 'gmAt';
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
  readonly gm_uS: number;
}

/** A reading from a published plate curve, or from the user's own meters. */
export interface CurvePoint extends PointBase {
  readonly kind: 'curve';
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
  readonly plate_mA: number;
  readonly screen_mA?: number;
  /** Resolution of the meter; without it, of a reading by hand from a printed curve. */
  readonly reading_mA?: number;
}

/** A pentagrid that oscillates: the oscillator grid's resistor and mean current tell how hard. */
export interface ConversionPoint extends PointBase {
  readonly kind: 'conversion';
  readonly plate_V: number;
  readonly screen_V: number;
  readonly signalGrid_V: number;
  readonly oscillatorGrid_ohm: number;
  readonly oscillatorGrid_mA: number;
  readonly plate_mA?: number;
  readonly screen_mA?: number;
  readonly gc_uS?: number;
  readonly rp_ohm?: number;
}

/** Signal-grid voltage at which so much conversion transconductance is left. */
export interface ConversionCutoffPoint extends Omit<
  ConversionPoint,
  'kind' | 'plate_mA' | 'screen_mA' | 'rp_ohm' | 'gc_uS'
> {
  readonly kind: 'gcAt';
  readonly gc_uS: number;
}

/** A pentagrid that does not oscillate, screens and plate joined, signal grid at the cathode. */
export interface OscillatorPoint extends PointBase {
  readonly kind: 'oscillator';
  readonly plate_V: number;
  readonly oscillatorGrid_V: number;
  readonly cathode_mA?: number;
  readonly gm_mS?: number;
  readonly mu?: number;
}

/** Typical operation of one output tube in class A: voltages of the electrodes, sine drive, means at full signal. */
export interface DrivenPoint extends PointBase {
  readonly kind: 'driven';
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
  /** Peak of the drive. */
  readonly drive_V: number;
  readonly load_ohm: number;
  readonly power_W?: number;
  readonly distortion_percent?: number;
  readonly plate_mA?: number;
  readonly screen_mA?: number;
}

/** A row of a resistance-coupled amplifier chart: cathode and screen bypassed. */
export interface CoupledPoint extends PointBase {
  readonly kind: 'coupled';
  readonly supply_V: number;
  readonly plate_ohm: number;
  readonly screen_ohm?: number;
  readonly cathode_ohm: number;
  readonly next_ohm: number;
  readonly gain: number;
}

/** Tube drop of a rectifier or detector diode. */
export interface DropPoint extends PointBase {
  readonly kind: 'drop';
  readonly plate_V: number;
  readonly plate_mA: number;
}

export type Point =
  | OperatingPoint
  | JoinedPoint
  | CutoffPoint
  | GmPoint
  | CurvePoint
  | ConversionPoint
  | ConversionCutoffPoint
  | OscillatorPoint
  | DropPoint
  | DrivenPoint
  | CoupledPoint;

export type Quantity =
  | 'plate_mA'
  | 'screen_mA'
  | 'cathode_mA'
  | 'gm_mS'
  | 'rp_ohm'
  | 'mu'
  | 'cutoff_V'
  | 'gmAt_V'
  | 'gc_uS'
  | 'gcAt_V'
  | 'drop_V'
  | 'power_W'
  | 'distortion_percent'
  | 'drivenPlate_mA'
  | 'drivenScreen_mA'
  | 'gain';

/** Written by the fitter, never by hand. */
export interface FitRecord {
  readonly parameters: Readonly<Record<string, number>>;
  readonly standardErrors: Readonly<Record<string, number>>;
  /** Parameters that rest on their family-typical value rather than on the points. */
  readonly restOnPrior: readonly string[];
  readonly atBound: readonly string[];
  readonly held: readonly string[];
  readonly residuals: readonly FitResidual[];
}

export interface FitResidual {
  /** Index into `points`. */
  readonly point: number;
  readonly quantity: Quantity;
  readonly published: number;
  readonly model: number;
  readonly error_percent: number;
}
