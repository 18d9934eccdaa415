import type { Socket, TestedTube } from '../scenario/scenario.ts';
import { formatQuantity } from '../units/format.ts';
import { worstMargin } from '../verdict/margins.ts';
import type { Report } from '../types.ts';

/** Two tubes for a socket with two places, and how far apart they stand. */
export interface PairFound {
  readonly tubes: readonly [string, string];
  /** Difference of their plate currents in this socket, over their mean. */
  readonly difference: number;
  /** Of the two together; null where they were not put to the socket. */
  readonly verdict: Report['verdict'] | null;
  readonly margin: number | null;
  readonly sentence: string;
}

/** Pairs that are put to the socket together, for every socket that takes a pair: the closest ones. */
const TRIED = 3;
/** What tubes are matched by: the current they draw where they are meant to work. */
const MATCHED_BY = 'plateCurrent';

/**
 * Pairs of tubes by closeness: each tube's plate current in the socket's first place beside a new one, at central values; the closest
 * pairs then judged together. Tubes without a number there are left out.
 */
export async function closestPairs(
  tubes: readonly TestedTube[],
  socket: Socket,
  judge: (tube: TestedTube, socket: Socket, draws?: number) => Promise<Report>,
  sockets = 1,
): Promise<PairFound[]> {
  const drawn: { tube: TestedTube; amps: number }[] = [];
  for (const tube of tubes) {
    const report = await judge(tube, socket, 0);
    const amps = report.measures.find(({ id }) => id === MATCHED_BY)?.value;
    if (typeof amps === 'number' && amps > 0) drawn.push({ tube, amps });
  }
  const pairs = drawn
    .flatMap((one, i) =>
      drawn.slice(i + 1).map((other) => ({
        two: [one.tube, other.tube] as const,
        difference: (2 * Math.abs(one.amps - other.amps)) / (one.amps + other.amps),
        amps: [one.amps, other.amps] as const,
      })),
    )
    .sort((a, b) => a.difference - b.difference);
  const found: PairFound[] = [];
  for (const [i, { two, difference, amps }] of pairs.entries()) {
    const [a, b] = two;
    const fitted = [a, b].map(({ id, section }) => ({ tube: id, section }));
    const report = i < TRIED * sockets ? await judge(a, { ...socket, fitted }) : undefined;
    const apart = `${a.id} and ${b.id} stand ${formatQuantity(100 * difference, '%', { digits: 2 })} apart (${amps.map((one) => formatQuantity(one, 'A')).join(' and ')} of plate current)`;
    found.push({
      tubes: [a.id, b.id],
      difference,
      verdict: report?.verdict ?? null,
      margin: report === undefined ? null : (worstMargin(report)?.margin ?? null),
      sentence:
        report === undefined
          ? `${apart}.`
          : `${apart}. ${report.verdict}: ${report.decidedBy.sentence}`,
    });
  }
  return found;
}

/**
 * Which pair goes to which socket, no tube twice: first as many usable pairs as can be, then as many marginal ones, then the least
 * of the largest differences, then the least sum. Exact: every way is tried, the pairs judged together are few.
 *
 * @param found of each socket
 * @returns for each socket its pair, or undefined where it stays empty
 */
export function bestPairs(found: readonly (readonly PairFound[])[]): (PairFound | undefined)[] {
  let best: { chosen: (PairFound | undefined)[]; score: readonly number[] } | undefined;
  const walk = (chosen: readonly (PairFound | undefined)[], used: readonly string[]): void => {
    const pairs = found[chosen.length];
    if (pairs === undefined) {
      const score = scoreOf(chosen);
      if (best === undefined || less(best.score, score)) best = { chosen: [...chosen], score };
      return;
    }
    walk([...chosen, undefined], used);
    for (const pair of pairs)
      if (
        (pair.verdict === 'usable' || pair.verdict === 'marginal') &&
        !pair.tubes.some((id) => used.includes(id))
      )
        walk([...chosen, pair], [...used, ...pair.tubes]);
  };
  walk([], []);
  return best!.chosen;
}

function scoreOf(chosen: readonly (PairFound | undefined)[]): number[] {
  const pairs = chosen.filter((pair) => pair !== undefined);
  const differences = pairs.map(({ difference }) => difference);
  return [
    pairs.filter(({ verdict }) => verdict === 'usable').length,
    pairs.filter(({ verdict }) => verdict === 'marginal').length,
    -Math.max(0, ...differences),
    -differences.reduce((sum, one) => sum + one, 0),
  ];
}

/** The first figure that differs decides. */
function less(a: readonly number[], b: readonly number[]): boolean {
  const k = a.findIndex((value, i) => value !== b[i]);
  return k >= 0 && a[k]! < b[k]!;
}
