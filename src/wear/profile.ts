/**
 * The instrument profile: what the readings of one bench instrument mean. The user makes it once.
 * Every `accuracy` is the half-width that nine readings in ten keep.
 */
import type { Electrode } from '../types.ts';

export interface Zone {
  readonly name: string;
  /** Percent of a new tube; the zone is taken as this interval, its edges with the accuracy of the test. */
  readonly from_percent: number;
  readonly to_percent: number;
}

export type EmissionScale =
  | { readonly kind: 'percent' }
  | { readonly kind: 'milliamps' }
  | {
      readonly kind: 'divisions';
      readonly fullScale: number;
      /** Divisions of a new tube of the type, where known. */
      readonly newTube?: number;
      /** Where the instrument calls a tube bad. */
      readonly rejectMark?: number;
      /** What the reject mark means, percent of new. Default 65, common practice, no source. */
      readonly reject_percent?: number;
    }
  | { readonly kind: 'zones'; readonly zones: readonly Zone[] };

/** A tube whose emission is known, and what this instrument read of it, in the scale's own unit. */
export interface KnownTube {
  readonly type: string;
  /** True emission, percent of new (a healthy cathode: area only). */
  readonly true_percent: number;
  readonly reading: number;
}

export interface EmissionTest {
  readonly scale: EmissionScale;
  /** Test current of a new tube by type, A, where the instrument's tables or a measurement give it. */
  readonly testCurrents_A?: Readonly<Record<string, number>>;
  /** Open-circuit test voltage and series resistance: our own tube model computes the test current and the compression from them. */
  readonly test_V?: number;
  readonly load_ohm?: number;
  /** The test voltage is alternating; the meter averages half cycles. */
  readonly halfWave?: boolean;
  /** Short set-up: terminal volts without a tube and with a new tube. */
  readonly openTerminal_V?: number;
  readonly newTubeTerminal_V?: number;
  readonly knownTubes?: readonly KnownTube[];
  /** Percent of the reading. */
  readonly accuracy_percent: number;
}

export interface StarvedHeaterTest {
  /** Percent of rated heater volts. */
  readonly heater_percent: number;
  readonly heldSeconds?: number;
  /** Percentage points of drop. */
  readonly accuracy_points: number;
}

export interface LeakageTest {
  readonly volts: number;
  /** 'negative': the control grid is the negative side. A positive grid draws its normal electron current and says nothing of leakage. */
  readonly grid: 'negative' | 'positive';
  /** Electrodes tied together against the control grid. Default: all others. */
  readonly tied?: readonly Electrode[];
  /** The tube conducts during the test: gas is included. */
  readonly withPlateCurrent: boolean;
  /** Plate + screen current during the test, A, where `withPlateCurrent`. */
  readonly cathodeCurrent_A?: number;
  /** Top of the scale, ohm. */
  readonly top_ohm: number;
  /** At or below this the instrument calls it a short, ohm. */
  readonly short_ohm: number;
  /** Percent of the reading. */
  readonly accuracy_percent: number;
}

export interface InstrumentProfile {
  readonly name: string;
  readonly emission: EmissionTest;
  readonly starvedHeater?: StarvedHeaterTest;
  readonly leakage: LeakageTest;
}

/** What is taken where a profile does not say how sure its readings are: wider than a kept instrument's (common practice, no source). */
export const UNSTATED_ACCURACY = {
  emission: { accuracy_percent: 10 },
  starvedHeater: { accuracy_points: 3 },
  leakage: { accuracy_percent: 20 },
};

/** An invented instrument, for examples and as a place to start. */
export const EXAMPLE_PROFILE: InstrumentProfile = {
  name: 'Example instrument (invented)',
  emission: { scale: { kind: 'percent' }, accuracy_percent: 6 },
  starvedHeater: { heater_percent: 88, heldSeconds: 75, accuracy_points: 2.5 },
  leakage: {
    volts: 90,
    grid: 'negative',
    withPlateCurrent: false,
    top_ohm: 250e6,
    short_ohm: 150e3,
    accuracy_percent: 10,
  },
};
