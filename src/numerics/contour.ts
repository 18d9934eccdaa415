/** Lines along which values on a grid pass through 0. */

export type Point = readonly [x: number, y: number];

/**
 * Polylines of the zero line, by marching squares with straight pieces; a cell with a value that is not finite has no line. In a saddle the
 * pieces part so that the middle of the cell lies on the side of its mean.
 * Source: W. Lorensen, H. Cline, Computer Graphics 21 (1987) 163, in two dimensions.
 *
 * @param values `values[i][k]` at x[i], y[k]
 */
export function zeroLines(
  x: readonly number[],
  y: readonly number[],
  values: readonly (readonly number[])[],
): Point[][] {
  const at = (i: number, k: number): number => values[i]?.[k] ?? Number.NaN;
  const points = new Map<string, Point>();
  const joined = new Map<string, string[]>();
  /** Where the edge from one corner to the next is crossed. */
  const crossing = (i: number, k: number, i2: number, k2: number): string => {
    const name = `${i} ${k} ${i2} ${k2}`;
    const share = at(i, k) / (at(i, k) - at(i2, k2));
    const along = (axis: readonly number[], a: number, b: number): number =>
      (axis[a] as number) + share * ((axis[b] as number) - (axis[a] as number));
    points.set(name, [along(x, i, i2), along(y, k, k2)]);
    return name;
  };
  const join = (a: string, b: string): void => {
    joined.set(a, [...(joined.get(a) ?? []), b]);
    joined.set(b, [...(joined.get(b) ?? []), a]);
  };
  for (let i = 0; i + 1 < x.length; i++)
    for (let k = 0; k + 1 < y.length; k++) {
      const corners = [at(i, k), at(i + 1, k), at(i + 1, k + 1), at(i, k + 1)];
      if (!corners.every(Number.isFinite)) continue;
      const [a, b, c, d] = corners.map((value) => value >= 0) as [
        boolean,
        boolean,
        boolean,
        boolean,
      ];
      // edges in order around the cell, each crossed where its ends differ
      const cut: string[] = [];
      if (a !== b) cut.push(crossing(i, k, i + 1, k));
      if (b !== c) cut.push(crossing(i + 1, k, i + 1, k + 1));
      if (c !== d) cut.push(crossing(i, k + 1, i + 1, k + 1));
      if (d !== a) cut.push(crossing(i, k, i, k + 1));
      const [first, second, third, fourth] = cut;
      if (first === undefined || second === undefined) continue;
      if (third === undefined || fourth === undefined) join(first, second);
      else if (corners.reduce((sum, value) => sum + value, 0) >= 0 === a) {
        join(first, second);
        join(third, fourth);
      } else {
        join(fourth, first);
        join(second, third);
      }
    }
  return chains(joined).map((names) => names.map((name) => points.get(name) as Point));
}

/** The part of every cell where values are below 0, as polygons; of a cell with a value that is not finite there is none. */
export function areasBelow(
  x: readonly number[],
  y: readonly number[],
  values: readonly (readonly number[])[],
): Point[][] {
  const areas: Point[][] = [];
  for (let i = 0; i + 1 < x.length; i++)
    for (let k = 0; k + 1 < y.length; k++) {
      const corners = CORNERS.map(([a, b]) => ({
        at: [x[i + a] as number, y[k + b] as number] as Point,
        value: values[i + a]?.[k + b] ?? Number.NaN,
      }));
      if (!corners.every(({ value }) => Number.isFinite(value))) continue;
      const area = corners.flatMap((here, n): Point[] => {
        const next = corners[(n + 1) % corners.length] as (typeof corners)[number];
        const own = here.value < 0 ? [here.at] : [];
        if (here.value < 0 === next.value < 0) return own;
        const share = here.value / (here.value - next.value);
        return [
          ...own,
          [
            here.at[0] + share * (next.at[0] - here.at[0]),
            here.at[1] + share * (next.at[1] - here.at[1]),
          ],
        ];
      });
      if (area.length > 2) areas.push(area);
    }
  return areas;
}

const CORNERS = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
] as const;

/** Open chains from their ends first, then the closed ones, which end where they begin. */
function chains(joined: Map<string, string[]>): string[][] {
  const used = new Set<string>();
  const walk = (start: string): string[] => {
    const chain = [start];
    used.add(start);
    for (let here: string | undefined = start; here !== undefined;) {
      here = joined.get(here)?.find((next) => !used.has(next));
      if (here === undefined) break;
      used.add(here);
      chain.push(here);
    }
    return chain;
  };
  const open = [...joined].filter(([, to]) => to.length === 1).map(([name]) => name);
  const lines = open.flatMap((name) => (used.has(name) ? [] : [walk(name)]));
  for (const name of joined.keys())
    if (!used.has(name)) {
      const ring = walk(name);
      lines.push([...ring, name]);
    }
  return lines;
}
