import type { Electrode, Family } from '../types.ts';
import type { GridCurrentReading } from './readings.ts';

/** Volts of a reading, to the cathode. */
export interface ReadingVolts {
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
}

/** What must be known of the type to read its readings. Plain data and functions of the type's own model. */
export interface TubeFacts {
  /** Designation, e.g. "6V6GT". */
  readonly device: string;
  /** Other designations of the same device, by which a profile may name it. */
  readonly otherNames?: readonly string[];
  readonly family: Family;
  /** Published spread of new tubes is looked up by this; see `newTubeSpread`. */
  readonly isOutputTube: boolean;
  /** Electrodes of the section. The heater counts when the cathode is indirectly heated. */
  readonly electrodes: readonly Electrode[];
  /** Base pin numbers of each electrode of this section. */
  readonly pins?: Readonly<Partial<Record<Electrode, readonly number[]>>>;
  /** Number of pin places around the base: 7, 8, 9, 12. */
  readonly pinPlaces?: number;
  readonly topCap?: Electrode;
  /** Saturation current of a bogey tube at rated heater volts, A: the median of a wide prior. */
  readonly newSaturation_A: number;
  /** Spread of it, standard deviation of the natural logarithm. Default 0.36: 3 to 10 about 5. */
  readonly newSaturation_sd?: number;
  /** Spread of the contact potential from tube to tube, one standard deviation, V. Default 0.182: ±0.3 V. */
  readonly contactPotential_sd?: number;
  /** Cathode current of a bogey tube at its typical operating point, A. */
  readonly typicalCathode_A: number;
  /** Bogey tube with all other electrodes tied to the plate, A at volts. */
  readonly diodeCurrent_A?: (volts: number) => number;
  /** Plate + screen current of a bogey tube, A. */
  readonly cathodeCurrent_A?: (at: ReadingVolts) => number;
  /** Transconductance of a bogey tube, S. */
  readonly transconductance_S?: (at: ReadingVolts) => number;
}

/** The grid whose leakage is read: g1, or the signal grid of a pentagrid. */
export function controlGrid(tube: Pick<TubeFacts, 'electrodes'>): Electrode {
  if (tube.electrodes.includes('grid')) return 'grid';
  return tube.electrodes.includes('signalGrid') ? 'signalGrid' : 'plate';
}

/** Whether a name in a profile means this type; case, spaces and punctuation do not count. */
export function isNamed(
  { device, otherNames = [] }: Pick<TubeFacts, 'device' | 'otherNames'>,
  name: string,
): boolean {
  const plain = (one: string): string => one.toUpperCase().replaceAll(/[^A-Z0-9]/g, '');
  return [device, ...otherNames].some((one) => plain(one) === plain(name));
}

/** Cathode current of a bogey tube at the volts under which a grid current is read, A. */
export const bogeyCathode_A = (
  tube: Pick<TubeFacts, 'cathodeCurrent_A' | 'typicalCathode_A'>,
  {
    plateVolts,
    gridVolts,
    screenVolts,
  }: Pick<GridCurrentReading, 'plateVolts' | 'gridVolts' | 'screenVolts'>,
): number =>
  tube.cathodeCurrent_A?.({
    plate_V: plateVolts,
    grid_V: gridVolts,
    ...(screenVolts === undefined ? {} : { screen_V: screenVolts }),
  }) ?? tube.typicalCathode_A;
