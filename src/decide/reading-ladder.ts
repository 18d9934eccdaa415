import { nextAboveE12, nextBelowE12 } from '../units/e-series.ts';
import { formatQuantity } from '../units/format.ts';
import type { Electrode } from '../types.ts';
import type { EmissionReading, Readings } from '../wear/readings.ts';
import type { InstrumentProfile } from '../wear/profile.ts';

/** One value that a person can read on the instrument. */
export interface Tick {
  /** In the unit of the scale; of a leakage MΩ, of a grid current µA, of zones the middle in percent. */
  readonly value: number;
  /** "71 %", "36 divisions", "above 1 GΩ". */
  readonly text: string;
  /** The readings with this one in its place. */
  readonly put: (readings: Readings) => Readings;
}

/** One reading from best to worst, in steps that the scale can show. */
export interface Ladder {
  readonly reading: 'emission' | 'starvedHeater' | 'leakage' | 'heaterCathode' | 'gridCurrent';
  /** Of a leakage whose path is known. */
  readonly path?: readonly [Electrode, Electrode];
  readonly title: string;
  /** Of the ticks' values: "%", "mA", "divisions", "MΩ", "µA". */
  readonly unit: string;
  /** Best first. */
  readonly ticks: readonly Tick[];
}

/** A leakage is read when it has settled: ten minutes after switch-on. */
export const LEAKAGE_MINUTES = 10;

/** The parts a scale is read to: fifty over its length, in steps of 1, 2 or 5. Finer, the reading's own error decides. */
const PARTS = 50;

/**
 * Emission from what a new tube reads downwards.
 *
 * @param newTube what a new tube reads, in the scale's own unit
 */
export function emissionLadder(profile: InstrumentProfile, newTube: EmissionReading): Ladder {
  const { scale } = profile.emission;
  const put = (reading: EmissionReading) => (readings: Readings) => ({
    ...readings,
    emission: [reading],
  });
  const title = 'Emission';
  if (scale.kind === 'zones') {
    const best = scale.zones.find(({ name }) => name === newTube.zone)?.to_percent ?? Infinity;
    const zones = scale.zones
      .filter(({ to_percent }) => to_percent <= best)
      .toSorted((a, b) => b.to_percent - a.to_percent);
    return {
      reading: 'emission',
      title,
      unit: '%',
      ticks: zones.map(({ name, from_percent, to_percent }) => ({
        value: (from_percent + to_percent) / 2,
        text: `“${name}”`,
        put: put({ zone: name }),
      })),
    };
  }
  const unit = scale.kind;
  const read = newTube[unit] as number;
  const step =
    unit === 'percent'
      ? 2
      : roundStep((scale.kind === 'divisions' ? scale.fullScale : read) / PARTS);
  const said = (value: number): string =>
    unit === 'percent'
      ? formatQuantity(value, '%')
      : unit === 'milliamps'
        ? formatQuantity(value * 1e-3, 'A')
        : `${value} divisions`;
  return {
    reading: 'emission',
    title,
    unit: unit === 'percent' ? '%' : unit === 'milliamps' ? 'mA' : unit,
    ticks: steps(Math.floor(read / step), 1, step).map((value) => ({
      value,
      text: said(value),
      put: put({ [unit]: value }),
    })),
  };
}

/** Drop at the starved heater from a new tube's upwards, in steps of 2 %. */
export function dropLadder(
  heater: { readonly heater_percent: number; readonly heldSeconds?: number },
  newTube_percent: number,
): Ladder {
  const from = Math.ceil(newTube_percent);
  return {
    reading: 'starvedHeater',
    title: `Drop at ${heater.heater_percent} % of the heater voltage`,
    unit: '%',
    ticks: Array.from({ length: Math.max(1, Math.floor((96 - from) / 2)) }, (_, i) => {
      const drop = from + 2 * i;
      return {
        value: drop,
        text: formatQuantity(drop, '%'),
        put: (readings) => ({
          ...readings,
          starvedHeater: {
            heater_percent: heater.heater_percent,
            drop_percent: drop,
            ...(heater.heldSeconds === undefined ? {} : { heldSeconds: heater.heldSeconds }),
          },
        }),
      };
    }),
  };
}

/** Resistance of a leak from above the scale down to what the instrument calls a short, in steps of E12. */
export function leakageLadder(
  profile: InstrumentProfile,
  title: string,
  where: { readonly path?: readonly [Electrode, Electrode] } | 'heaterCathode',
): Ladder {
  const { top_ohm, short_ohm, volts } = profile.leakage;
  const put = (value: { megohms: number } | { aboveMegohms: number }) => (readings: Readings) => {
    const one = { ...value, minutes: LEAKAGE_MINUTES, atVolts: volts };
    return where === 'heaterCathode'
      ? { ...readings, heaterCathode: [one] }
      : { ...readings, leakage: [{ ...one, ...where }] };
  };
  const ticks: Tick[] = [
    {
      value: top_ohm * 1e-6,
      text: `above ${formatQuantity(top_ohm, 'ohm', { digits: 2 })}`,
      put: put({ aboveMegohms: top_ohm * 1e-6 }),
    },
  ];
  const lowest = Math.max(short_ohm, 1e4);
  for (let ohms = nextBelowE12(top_ohm * 1.001); ohms > lowest; ohms = nextBelowE12(ohms))
    ticks.push({
      value: ohms * 1e-6,
      text: formatQuantity(ohms, 'ohm', { digits: 2 }),
      put: put({ megohms: ohms * 1e-6 }),
    });
  return {
    reading: where === 'heaterCathode' ? 'heaterCathode' : 'leakage',
    ...(where === 'heaterCathode' || where.path === undefined ? {} : { path: where.path }),
    title,
    unit: 'MΩ',
    ticks,
  };
}

/** Grid current under load upwards from what a bench can just tell from nothing, in steps of E12. */
export function gridCurrentLadder(at: {
  readonly plateVolts: number;
  readonly screenVolts?: number;
  readonly gridVolts: number;
}): Ladder {
  const ticks: Tick[] = [];
  for (let amps = 10e-9; amps < 100e-6; amps = nextAboveE12(amps))
    ticks.push({
      value: amps * 1e6,
      text: formatQuantity(amps, 'A', { digits: 2 }),
      put: (readings) => ({
        ...readings,
        gridCurrent: { ...at, microamps: amps * 1e6, minutes: 20 },
      }),
    });
  return { reading: 'gridCurrent', title: 'Grid current under load', unit: 'µA', ticks };
}

/** `most`, …, `least` times the step, falling. */
function steps(most: number, least: number, step: number): number[] {
  return Array.from({ length: Math.max(1, most - least + 1) }, (_, i) =>
    Number(((most - i) * step).toPrecision(6)),
  );
}

/** 1, 2 or 5 times a power of ten, not above `size`. */
function roundStep(size: number): number {
  const decade = 10 ** Math.floor(Math.log10(size) + 1e-9);
  const factor = size / decade + 1e-9;
  return Number(((factor >= 5 ? 5 : factor >= 2 ? 2 : 1) * decade).toPrecision(6));
}
