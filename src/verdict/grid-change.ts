import type { Case, Central } from '../central.ts';
import { nextBelowE12 } from '../units/e-series.ts';
import { formatQuantity } from '../units/format.ts';
import type { Change, Status, StageValues } from '../types.ts';
import { overall, type Judgement } from './judge.ts';

/** Values tried below the present one before giving up: two decades of E12. */
const MOST_STEPS = 24;

/**
 * Which grid resistance would make the tube usable, where leakage is what fails it: the largest E12 value below the
 * present one, found by bisection with few draws and confirmed with all of them (less grid resistance never brings the bias shift back up).
 * Empty where leakage is not the cause or no value within two decades will do.
 */
export async function gridChange(
  given: Case,
  judgements: readonly Judgement[],
  central: Central,
  verdictOf: (values: StageValues, quick: boolean) => Promise<Exclude<Status, 'unjudged'>>,
): Promise<Change[]> {
  const verdict = overall(judgements.map((judgement) => judgement.status));
  const key = given.socket.stage.gridCircuit[0];
  if (key === undefined || verdict === 'usable' || verdict === 'failed') return [];
  const blamed = judgements.some(
    (judgement) =>
      (judgement.status === 'unsuitable' || judgement.status === 'marginal') &&
      judgement.spec.readings.includes('leakage') &&
      differs(
        central.thisTube.measures[judgement.spec.id],
        central.withoutLeak.measures[judgement.spec.id],
      ),
  );
  if (!blamed) return [];
  const present = given.socket.values[key]!.value as number;
  const ladder: number[] = [];
  for (let r = nextBelowE12(present); ladder.length < MOST_STEPS; r = nextBelowE12(r))
    ladder.push(r);
  const usableAt = async (index: number, quick: boolean): Promise<boolean> =>
    (await verdictOf(
      { ...given.socket.values, [key]: { ...given.socket.values[key]!, value: ladder[index]! } },
      quick,
    )) === 'usable';
  let [low, high] = [0, ladder.length - 1];
  if (!(await usableAt(high, true))) return [];
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (await usableAt(middle, true)) high = middle;
    else low = middle + 1;
  }
  // the quick verdicts had few draws: what is told holds with all of them
  const last = Math.min(high + 2, ladder.length - 1);
  while (high <= last && !(await usableAt(high, false))) high++;
  if (high > last) return [];
  const to = ladder[high]!;
  const title = given.socket.stage.values[key]!.title;
  return [
    {
      sentence: `With ${formatQuantity(to, 'ohm', { digits: 2 })} for the ${title} (${formatQuantity(present, 'ohm', { digits: 2 })} now) it is usable.`,
      key,
      from: present,
      to,
      verdict: 'usable',
    },
  ];
}

/** More than a hundredth apart: then leakage has a part in it. */
function differs(a: unknown, b: unknown): boolean {
  if (typeof a !== 'number' || typeof b !== 'number') return typeof a !== typeof b;
  return Math.abs(a - b) > 0.01 * Math.max(Math.abs(a), Math.abs(b), 1e-9);
}
