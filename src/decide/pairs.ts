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

/** Pairs that are put to the socket together: the closest ones. */
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
    const report = i < TRIED ? await judge(a, { ...socket, fitted }) : undefined;
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
