/** Preferred values of resistors and capacitors, in any decade. Source: IEC 60063:2015, series E12 and E24. */

const E12 = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82];
const E24 = [
  10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
];

/** A value this close to a preferred one counts as that one: it came through a sum or a unit conversion. */
const SAME = 1e-9;

/** The preferred value nearest by ratio. All six take values above 0. @throws RangeError otherwise. */
export const nearestE12 = (value: number): number => nearest(value, E12);
/** The smallest preferred value above `value`. */
export const nextAboveE12 = (value: number): number => above(value, E12);
/** The largest preferred value below `value`. */
export const nextBelowE12 = (value: number): number => below(value, E12);
export const nearestE24 = (value: number): number => nearest(value, E24);
export const nextAboveE24 = (value: number): number => above(value, E24);
export const nextBelowE24 = (value: number): number => below(value, E24);

function nearest(value: number, series: readonly number[]): number {
  return around(value, series).reduce((best, candidate) =>
    Math.abs(Math.log(candidate / value)) < Math.abs(Math.log(best / value)) ? candidate : best,
  );
}

function above(value: number, series: readonly number[]): number {
  return around(value, series).find((candidate) => candidate > value * (1 + SAME)) as number;
}

function below(value: number, series: readonly number[]): number {
  return around(value, series).findLast((candidate) => candidate < value * (1 - SAME)) as number;
}

/** The series through the value's decade and its neighbours, rising; made from text, so that 4.7 is exactly 4.7. */
function around(value: number, series: readonly number[]): number[] {
  if (!(value > 0 && value < Infinity)) throw new RangeError(`${value}: a value above 0 expected.`);
  const decade = Math.floor(Math.log10(value)) - 1;
  return [decade - 1, decade, decade + 1].flatMap((power) =>
    series.map((step) => Number(`${step}e${power}`)),
  );
}
