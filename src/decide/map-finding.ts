import { spansAbove } from '../numerics/spans.ts';
import { formatQuantity } from '../units/format.ts';
import type { Band } from './map-band.ts';
import type { MapFinding, MapPoint } from './map.ts';

/** What emission is still usable at a tube's leakage, and what leakage at its emission: read off the map along two lines. */

interface Scales {
  /** Of emission. */
  readonly unit: string;
  readonly top_ohm: number;
}

type Spans = readonly (readonly [number, number])[];

/** Of the tube where it is on the map, else of a new one. */
export function findingOf(
  point: MapPoint | null,
  newTube: { readonly emission: number; readonly leakage_ohm: number },
  emission: readonly number[],
  leakage_ln: readonly number[],
  band: Band,
  scales: Scales,
): MapFinding {
  const of = point?.tube ?? 'a new tube';
  const at = {
    emission: point?.emission.value ?? newTube.emission,
    leakage_ohm: point?.leakage.value ?? newTube.leakage_ohm,
  };
  const row = placeOn(leakage_ln, Math.log(at.leakage_ohm));
  const column = placeOn(emission, at.emission);
  const alongEmission = (values: Band['low']): number[] =>
    values.map((one) => blend(one[row.index], one[row.index + 1], row.part));
  const alongLeakage = (values: Band['low']): number[] =>
    leakage_ln.map((_, k) =>
      blend(values[column.index]?.[k], values[column.index + 1]?.[k], column.part),
    );
  const below = (values: readonly number[]): number[] => values.map((value) => -value);
  const ohms = (spans: Spans): Spans =>
    spans.map(([from, to]) => [Math.exp(from), Math.exp(to)] as const);
  const found = {
    usableEmission: spansAbove(emission, alongEmission(band.low)),
    unsuitableEmission: spansAbove(emission, below(alongEmission(band.high))),
    usableLeakage_ohm: ohms(spansAbove(leakage_ln, alongLeakage(band.low))),
    unsuitableLeakage_ohm: ohms(spansAbove(leakage_ln, below(alongLeakage(band.high)))),
  };
  const sayEmission = (value: number): string =>
    `${formatQuantity(value, '', { digits: 2 })}\u00a0${scales.unit}`.replace(
      '\u00a0\u00a0',
      '\u00a0',
    );
  const sayOhms = (value: number): string =>
    value > scales.top_ohm * 1.001
      ? `${formatQuantity(value, 'ohm', { digits: 2 })} (above the scale)`
      : formatQuantity(value, 'ohm', { digits: 2 });
  const ends_ohm = [leakage_ln[0], leakage_ln.at(-1)].map((ln = 0) => Math.exp(ln));
  const whose = point === null ? ' (a new tube’s)' : ` (${of})`;
  const leak =
    at.leakage_ohm > scales.top_ohm * 1.001
      ? 'With the leakage above the scale'
      : `At a leakage of ${sayOhms(at.leakage_ohm)}`;
  return {
    of,
    ...at,
    ...found,
    sentences: [
      sentence(
        `${leak}${whose}`,
        'emission',
        found.usableEmission,
        found.unsuitableEmission,
        [emission[0] as number, emission.at(-1) as number],
        sayEmission,
      ),
      sentence(
        `At an emission of ${sayEmission(at.emission)}${whose}`,
        'leakage',
        found.usableLeakage_ohm,
        found.unsuitableLeakage_ohm,
        ends_ohm as [number, number],
        sayOhms,
      ),
    ],
  };
}

function sentence(
  at: string,
  what: string,
  usable: Spans,
  unsuitable: Spans,
  ends: readonly [number, number],
  say: (value: number) => string,
): string {
  const where = (spans: Spans): string => {
    const near = (a: number, b: number): boolean => Math.abs(a / b - 1) < 1e-6;
    return spans
      .map(([from, to]) => {
        const [first, last] = [near(from, ends[0]), near(to, ends[1])];
        if (first && last) return `at any ${what} of the map`;
        if (last) return `from ${say(from)} up`;
        return first ? `up to ${say(to)}` : `from ${say(from)} to ${say(to)}`;
      })
      .join(' and ');
  };
  const good = usable.length === 0 ? `usable at no ${what} of the map` : `usable ${where(usable)}`;
  const bad = unsuitable.length === 0 ? '' : `, unsuitable ${where(unsuitable)}`;
  const between =
    usable.length > 0 && unsuitable.length > 0
      ? ', marginal between'
      : unsuitable.length === 0 && !isAll(usable, ends)
        ? ', marginal elsewhere'
        : usable.length === 0 && !isAll(unsuitable, ends)
          ? ', marginal elsewhere'
          : '';
  return `${at}, ${what === 'emission' ? 'the tube is' : 'it is'} ${good}${bad}${between}.`;
}

const isAll = (spans: Spans, ends: readonly [number, number]): boolean =>
  spans.length === 1 &&
  Math.abs((spans[0]?.[0] ?? 0) / ends[0] - 1) < 1e-6 &&
  Math.abs((spans[0]?.[1] ?? 0) / ends[1] - 1) < 1e-6;

/** The cell that a value lies in, and how far into it; the first or last where it lies beyond the axis. */
function placeOn(axis: readonly number[], value: number): { index: number; part: number } {
  let index = 0;
  while (index < axis.length - 2 && (axis[index + 1] as number) <= value) index++;
  const [from, to] = [axis[index] as number, axis[index + 1] as number];
  return { index, part: Math.min(1, Math.max(0, (value - from) / (to - from))) };
}

const blend = (a = 0, b = 0, part: number): number => a + part * (b - a);
