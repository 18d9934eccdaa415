/** `npm run accuracy:in-set -- 200`: the diagnosis on seeded sets with a known fault, with its confusions. */
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { InSetReport } from '../../src/decide/in-set/in-set.ts';
import { firstOf, followed, isRight, seededSet, SOCKETS } from './sets.ts';

const count = Number(process.argv[2] ?? 200);
const simulator = nodeSimulator({ workers: 2 });
const truths = new Map<string, number>();
const confusions = { atOnce: new Map<string, number>(), after: new Map<string, number>() };
let [right, first, last, all] = [0, 0, 0, 0];
try {
  for (let i = 0; all < count && i < 2 * count; i++) {
    const socket = SOCKETS[i % SOCKETS.length]!;
    const set = await seededSet(socket, `in-set ${i}`, simulator);
    if (set === undefined) continue;
    const { atOnce, after } = await followed(set, simulator);
    all++;
    truths.set(set.truth, (truths.get(set.truth) ?? 0) + 1);
    const key = (report: InSetReport): string =>
      `${socket.stage}: ${set.truth} taken for ${firstOf(report)}`;
    const count = (found: Map<string, number>, name: string): unknown =>
      found.set(name, (found.get(name) ?? 0) + 1);
    if (firstOf(atOnce) === set.truth) first++;
    if (isRight(atOnce, set.truth)) right++;
    else count(confusions.atOnce, key(atOnce));
    if (firstOf(after) === set.truth) last++;
    else {
      count(confusions.after, key(after));
      if (process.argv[3] === 'show') {
        console.log(
          i,
          key(after),
          JSON.stringify(set.readings.map(({ point, volts }) => [point, volts])),
        );
        for (const { diagnosis } of [atOnce, after])
          console.log(
            `  ${diagnosis!.explanations
              .slice(0, 5)
              .map(({ id, likelihood }) => `${id} ${likelihood.toFixed(2)}`)
              .join(
                ', ',
              )}; next ${diagnosis!.next?.what} ${diagnosis!.next?.expected.map(({ id, volts }) => `${id} ${volts.toPrecision(3)}`).join(', ')}`,
          );
        console.log(
          `  expected ${atOnce.lines.map(({ thisTube }) => thisTube?.value.toPrecision(3)).join(' ')}`,
        );
      }
    }
  }
} finally {
  simulator.close();
}
const percent = (n: number): string => `${((100 * n) / all).toFixed(1)} %`;
console.log(
  `${all} sets. At once: truth first in ${percent(first)}; first, or named with the measurement that separates: ${percent(right)}`,
);
console.log(
  `After at most three measurements on the diagnosis' advice: truth first in ${percent(last)}`,
);
console.log(`Baseline, always the commonest fault: ${percent(Math.max(...truths.values()))}`);
const print = (title: string, found: ReadonlyMap<string, number>): void => {
  console.log(title);
  for (const [key, n] of [...found].toSorted((a, b) => b[1] - a[1])) console.log(`${n} × ${key}`);
};
print('Confusions at once, the truth not named with what separates it:', confusions.atOnce);
print('Confusions after the advice:', confusions.after);
