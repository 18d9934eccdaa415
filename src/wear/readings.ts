/**
 * What was read from one section of one tube. Keys carry their unit and are those of the scenario file.
 * Everything is optional: a missing reading widens the answer, it never counts as good.
 */
import type { Electrode } from '../types.ts';

/** Exactly one of `percent`, `milliamps`, `divisions`, `zone`. */
export interface EmissionReading {
  /** Percent of a new tube, as the instrument shows it. */
  readonly percent?: number;
  readonly milliamps?: number;
  /** Divisions on the profile's scale. */
  readonly divisions?: number;
  /** Name of one of the profile's zones. */
  readonly zone?: string;
  /** Since switch-on. */
  readonly minutes?: number;
}

/** Emission with the heater starved, against the reading at rated heater volts. */
export interface StarvedHeaterReading {
  /** Heater volts in percent of rated, e.g. 90. Without it: the profile's. */
  readonly heater_percent?: number;
  /** Loss of emission in percent of the reading at rated heater volts. */
  readonly drop_percent: number;
  /** How long the low heater voltage had been on. Under a minute reads too small. */
  readonly heldSeconds?: number;
}

/** Exactly one of `megohms`, `aboveMegohms`, `microamps`. */
export interface LeakValue {
  readonly megohms?: number;
  /** Beyond the top of the scale, which is this. */
  readonly aboveMegohms?: number;
  readonly microamps?: number;
  /** Test voltage. Without it: the profile's. */
  readonly atVolts?: number;
  /** Since switch-on. */
  readonly minutes?: number;
}

/** Leakage to the control grid, or along `path` where it is known. */
export interface LeakageReading extends LeakValue {
  readonly path?: readonly [Electrode, Electrode];
}

export interface ShortReading {
  readonly between: readonly [Electrode, Electrode];
  readonly ohms: number;
  /** Read with the heater on. */
  readonly hot?: boolean;
}

/** Reverse grid current with the tube conducting: positive microamps are current OUT of the grid, as a gassy tube has it. */
export interface GridCurrentReading {
  readonly microamps: number;
  readonly plateVolts: number;
  readonly screenVolts?: number;
  /** To the cathode, negative as a rule. */
  readonly gridVolts: number;
  readonly minutes?: number;
}

/** Either `mS` with its conditions, or `percent` of a new tube. */
export interface TransconductanceReading {
  readonly mS?: number;
  readonly percent?: number;
  readonly plateVolts?: number;
  readonly screenVolts?: number;
  readonly gridVolts?: number;
}

/** Seen, not measured. */
export const NOTICED = [
  'changesWhenTapped',
  'comesAndGoesWithHeat',
  'blueGlow',
  'shelfStock',
  'heldCutOff',
] as const;
export type Noticed = (typeof NOTICED)[number];

export interface Readings {
  /** One or more, in the order of time. */
  readonly emission?: readonly EmissionReading[];
  readonly starvedHeater?: StarvedHeaterReading;
  /** In the order of time. */
  readonly leakage?: readonly LeakageReading[];
  readonly shorts?: readonly ShortReading[];
  readonly heaterCathode?: readonly LeakValue[];
  readonly gridCurrent?: GridCurrentReading;
  readonly transconductance?: TransconductanceReading;
  readonly noticed?: readonly Noticed[];
  readonly hoursSinceLastUsed?: number;
}

/** Something was read of it: what was noticed, or how long it lay, is no reading. */
export const anyReading = (readings: Readings): boolean =>
  Object.entries(readings).some(
    ([key, value]) => key !== 'noticed' && key !== 'hoursSinceLastUsed' && value !== undefined,
  );
