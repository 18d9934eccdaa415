/**
 * Where values along an axis are 0 or more, as stretches of the axis; straight between the points, rising.
 *
 * @param axis rising
 */
export function spansAbove(
  axis: readonly number[],
  values: readonly number[],
): (readonly [from: number, to: number])[] {
  const spans: (readonly [number, number])[] = [];
  const crossing = (i: number): number => {
    const [a, b] = [values[i - 1] as number, values[i] as number];
    const [from, to] = [axis[i - 1] as number, axis[i] as number];
    return from + (a / (a - b)) * (to - from);
  };
  let from: number | undefined;
  axis.forEach((place, i) => {
    const above = (values[i] as number) >= 0;
    if (above && from === undefined) from = i === 0 ? place : crossing(i);
    if (!above && from !== undefined) {
      spans.push([from, crossing(i)]);
      from = undefined;
    }
  });
  if (from !== undefined) spans.push([from, axis.at(-1) as number]);
  return spans;
}
