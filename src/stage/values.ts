import { normalCdf } from '../numerics/normal.ts';
import type { StageValue, StageValues, Uncertain, ValueSpec } from '../types.ts';

/** Reading a stage's values, for the files of `src/stage`. Missing keys are programmer's errors: values are complete by then. */
function valueOf(values: StageValues, key: string): StageValue {
  const found = values[key];
  if (found === undefined) throw new Error(`stage value ${key} is missing`);
  return found;
}

export function numberOf(values: StageValues, key: string): number {
  const { value } = valueOf(values, key);
  if (typeof value !== 'number') throw new Error(`stage value ${key} is not a number`);
  return value;
}

export function numbersOf(values: StageValues, key: string): readonly number[] {
  const { value } = valueOf(values, key);
  if (!Array.isArray(value)) throw new Error(`stage value ${key} is not a list`);
  return value as readonly number[];
}

export function textOf(values: StageValues, key: string): string {
  const { value } = valueOf(values, key);
  if (typeof value !== 'string') throw new Error(`stage value ${key} is not a text`);
  return value;
}

/** A part value with its tolerance: uniform within it, which is how selected stock and drifted parts lie. */
export function partKnob(values: StageValues, key: string): Uncertain {
  const { tolerance_percent } = valueOf(values, key);
  const nominal = numberOf(values, key);
  const spread = tolerance_percent / 100;
  return {
    nominal,
    unknown: key,
    toValue: (z) => nominal * (1 + spread * (2 * normalCdf(z) - 1)),
  };
}

/** A supply: moves with the line voltage, and has its own tolerance on top only through the line's. */
export function supplyKnob(values: StageValues, key: string): Uncertain {
  const nominal = numberOf(values, key);
  return { nominal, unknown: LINE, toValue: (z) => nominal * lineFactor(values, z) };
}

/** A value that does not spread. */
export function exactKnob(nominal: number, unknown: string): Uncertain {
  return { nominal, unknown, toValue: () => nominal };
}

/** The unknown that moves the supplies and the heater together. */
export const LINE = 'line';

/** Line voltage over nominal: as read at the set, and about that `linePercent` as two standard deviations, cut off there. */
export function lineFactor(values: StageValues, z: number): number {
  const two = numberOf(values, 'linePercent') / 100;
  return (numberOf(values, 'lineVoltage') / 100) * (1 + two * Math.min(1, Math.max(-1, z / 2)));
}

/** `LINE` at the lowest line voltage. */
export const LOWEST_LINE = -2;

/** Heater voltage over rated at this socket. */
export function heaterFactor(values: StageValues, z: number): number {
  return (numberOf(values, 'heaterPercent') / 100) * lineFactor(values, z);
}

/** Values that every socket has. */
export const COMMON_VALUES: Readonly<Record<string, ValueSpec>> = {
  lineVoltage: {
    title: 'line voltage, of nominal',
    unit: '%',
    default: 100,
    low: 60,
    high: 125,
    tolerance_percent: 0,
    fault: true,
    help: 'As read at the set: the supplies and the heater are then that much lower or higher.',
  },
  linePercent: {
    title: 'line voltage, plus or minus',
    unit: '%',
    default: 10,
    low: 0,
    high: 25,
    tolerance_percent: 0,
    help: 'The supplies and the heater move together with it.',
  },
  heaterPercent: {
    title: 'heater voltage at the socket, of rated',
    unit: '%',
    default: 100,
    low: 60,
    high: 120,
    tolerance_percent: 0,
    fault: true,
    help: 'Below 100 where the string or a dropped winding starves it.',
  },
};

/** The stage's own defaults, for values that a socket does not give. */
export function defaultValues(specs: Readonly<Record<string, ValueSpec>>): StageValues {
  return Object.fromEntries(
    Object.entries(specs).map(([key, spec]) => [
      key,
      { value: spec.default, tolerance_percent: spec.tolerance_percent, measured: false },
    ]),
  );
}
