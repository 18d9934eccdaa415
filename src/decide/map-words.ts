import type { BenchSet } from './bench-set.ts';
import { pathWords } from '../units/electrode.ts';
import type { MapCell, MapContour, MapPoint } from './map.ts';
import { LEAKAGE_MINUTES } from './reading-ladder.ts';
import type { Scenario, TestedTube } from '../scenario/scenario.ts';
import { formatQuantity } from '../units/format.ts';
import type { Electrode } from '../types.ts';
import type { Readings } from '../wear/readings.ts';
import { lower } from '../units/title.ts';

/** Where a tube stands on the map, and what the map says in words. */

/** From the top of the scale to here a reading turns into "above the scale", of which general knowledge speaks. */
export const BEYOND_TOP = 3;

/** The tube's last readings; undefined ones leave it off the map. */
export function pointOf(
  tube: TestedTube,
  scenario: Scenario,
  unit: 'percent' | 'milliamps' | 'divisions',
  full: number,
): MapPoint | null {
  const read = tube.readings.emission?.at(-1);
  const leak = tube.readings.leakage?.at(-1);
  const emission =
    read?.[unit] ?? (read?.percent === undefined ? undefined : (read.percent / 100) * full);
  if (emission === undefined || leak === undefined) return null;
  const { accuracy_percent: e } = scenario.bench.emission;
  const { accuracy_percent: l, volts } = scenario.bench.leakage;
  const above = leak.aboveMegohms !== undefined;
  const ohms =
    leak.microamps !== undefined
      ? (leak.atVolts ?? volts) / (Math.max(leak.microamps, 1e-6) * 1e-6)
      : (leak.megohms ?? leak.aboveMegohms ?? 0) * 1e6;
  const early = (leak.minutes ?? LEAKAGE_MINUTES) < 8;
  return {
    tube: tube.id,
    emission: { value: emission, low: emission * (1 - e / 100), high: emission * (1 + e / 100) },
    leakage: {
      value: above ? BEYOND_TOP * ohms : ohms,
      low: above ? ohms : ohms * (1 - l / 100),
      high: above ? null : ohms * (1 + l / 100),
    },
    sentence: `${tube.id} as it was read, with the errors of the readings.${above ? ' Its leakage lies above the scale.' : early ? ` The last leakage reading came after ${leak.minutes ?? 0} minutes: the tube may still move down.` : ''}`,
  };
}

export interface MapAbout {
  readonly path: readonly [Electrode, Electrode] | undefined;
  /** The path was asked for. */
  readonly asked: boolean;
  readonly set: BenchSet;
  readonly tube: TestedTube | undefined;
  readonly point: MapPoint | null;
  readonly start: Readings;
}

export function sentencesOf(
  cells: readonly (readonly MapCell[])[],
  contours: readonly MapContour[],
  judged: number,
  { path, asked, set, tube, point, start }: MapAbout,
): string[] {
  const all = cells.flat();
  const share = (verdict: MapCell['verdict']): string =>
    formatQuantity(
      (100 * all.filter((cell) => cell.verdict === verdict).length) / all.length,
      '%',
      { digits: 2 },
    );
  const by = contours
    .map(({ measure, title }) => ({
      title,
      count: all.filter((cell) => !cell.inside && cell.measure === measure).length,
    }))
    .filter(({ count }) => count > 0)
    .sort((a, b) => b.count - a.count);
  return [
    `A ${set.type}: ${share('usable')} of the map is usable, ${share('marginal')} marginal, ${share('unsuitable')} unsuitable. How far the 90 % intervals reach was simulated at ${judged} ${judged === 1 ? 'point' : 'points, along the limits and along where the intervals end,'} and is taken from there; an assessment of the tube itself decides.`,
    ...(by.length === 0
      ? []
      : [`What ends it first: ${by.map(({ title }) => lower(title)).join(', ')}.`]),
    ...(path === undefined
      ? []
      : [`All of the leakage goes from ${pathWords(path)}${asked ? '' : ', the likeliest path'}.`]),
    ...(start.starvedHeater === undefined
      ? []
      : [
          `The drop with a starved heater is ${tube?.readings.starvedHeater === undefined ? 'a new tube’s' : `that of ${tube.id}`}, ${formatQuantity(start.starvedHeater.drop_percent, '%')}.`,
        ]),
    ...(tube === undefined || point !== null
      ? []
      : [`${tube.id} is not on the map: its emission or its grid leakage was not read.`]),
  ];
}
