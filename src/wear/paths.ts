/** Which way a grid leakage may go, when the reading does not say. */
import type { Electrode, WeightedPath } from '../types.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import { words } from '../units/electrode.ts';

/** Inside the tube: how near the electrode's supports come to the grid's in the micas. Common practice, no source. */
const INSIDE: Readonly<Partial<Record<Electrode, number>>> = {
  cathode: 1,
  screen: 1,
  plate: 0.6,
  heater: 0.3,
  grid: 1,
  oscillatorGrid: 0.6,
  signalGrid: 0.6,
};
/** What a neighbouring pin, and a pin one further on, add on the base or in the stem. */
const NEIGHBOUR = 1.5;
const NEXT_BUT_ONE = 0.4;

/**
 * Paths from the control grid with their probability, likeliest first; weights sum to 1.
 *
 * @param tied electrodes that the test ties together against the grid; only these can carry what was read
 */
export function gridPaths(tube: TubeFacts, tied?: readonly Electrode[]): WeightedPath[] {
  const grid = controlGrid(tube);
  const others = tube.electrodes.filter(
    (one) => one !== grid && (tied === undefined || tied.includes(one)),
  );
  const raw = others.map((other) => {
    const inside = INSIDE[other] ?? 0.3;
    const { weight, why } = outside(tube, grid, other);
    return { other, weight: inside + weight, why };
  });
  const total = raw.reduce((sum, { weight }) => sum + weight, 0);
  return raw
    .map(({ other, weight, why }) => ({
      between: [grid, other] as const,
      weight: weight / total,
      why,
    }))
    .toSorted((a, b) => b.weight - a.weight);
}

function outside(
  tube: TubeFacts,
  grid: Electrode,
  other: Electrode,
): { weight: number; why: string } {
  if (tube.topCap === grid || tube.topCap === other) {
    return {
      weight: 0,
      why: `the ${words(tube.topCap)} is on the top cap: inside the tube only`,
    };
  }
  const near = pinDistance(tube, grid, other);
  if (near === 1) {
    return { weight: NEIGHBOUR, why: `neighbouring pins on the base` };
  }
  if (near === 2) return { weight: NEXT_BUT_ONE, why: 'one pin between them on the base' };
  return { weight: 0, why: near === undefined ? 'inside the tube' : 'not neighbours on the base' };
}

/** Least distance around the base between pins of two electrodes. */
function pinDistance(tube: TubeFacts, a: Electrode, b: Electrode): number | undefined {
  const first = tube.pins?.[a] ?? [];
  const second = tube.pins?.[b] ?? [];
  if (first.length === 0 || second.length === 0) return undefined;
  const places = tube.pinPlaces;
  // The gap of a seven- or nine-pin base lies between the last pin and the first: those are no neighbours.
  const round = places === 8 || places === 12;
  return Math.min(
    ...first.flatMap((one) =>
      second.map((two) => {
        const step = Math.abs(one - two);
        return round && places !== undefined ? Math.min(step, places - step) : step;
      }),
    ),
  );
}

/**
 * The path at a point 0 … 1 of the cumulated weights. They are laid out so that the likeliest path holds the middle:
 * the central case follows it. Expects the likeliest first.
 */
export function pathAt(paths: readonly WeightedPath[], u: number): WeightedPath | undefined {
  const [first, ...others] = paths;
  if (first === undefined) return undefined;
  const before: WeightedPath[] = [];
  const after: WeightedPath[] = [];
  let left = 0;
  for (const path of others) {
    if (left + path.weight <= 0.5) {
      before.push(path);
      left += path.weight;
    } else after.push(path);
  }
  let sum = 0;
  const laid = [...before, first, ...after];
  return laid.find(({ weight }) => (sum += weight) >= u) ?? laid.at(-1);
}
