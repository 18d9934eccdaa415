/** `npm run accuracy:verdicts [tubes a class] [name of a stage]`: no false alarms and no false comfort, as a table. */
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { allBeds } from './beds.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import { judge, newTubes, oneMissing, promise, ruinedTubes } from './populations.ts';

const count = Number(process.argv[2] ?? 200);
const only = process.argv[3] ?? '';
const talk = process.argv[4] === 'why';
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));

const tally = (all: readonly string[]): string =>
  [...new Set(all)]
    .toSorted()
    .map((one) => `${String(all.filter((each) => each === one).length)} ${one}`)
    .join(', ');

console.log(
  '| stage and tube | new tubes | ruined tubes | one reading missing: better than with it |',
);
console.log('|---|---|---|---|');
for (const bed of allBeds().filter(({ name }) => name.includes(only))) {
  const why: string[] = [];
  const started = performance.now();
  const fresh: string[] = [];
  for (const { readings } of newTubes(bed, count, bed.name)) {
    const report = await judge(bed, readings, simulator);
    fresh.push(report.verdict);
    if (report.verdict !== 'usable')
      why.push(`new: ${report.verdict}: ${report.decidedBy.sentence}`);
  }
  const ruined: string[] = [];
  for (const { readings, kind } of ruinedTubes(bed, count, bed.name)) {
    const report = await judge(bed, readings, simulator);
    ruined.push(report.verdict);
    if (report.verdict === 'usable') why.push(`${kind} is usable: ${JSON.stringify(readings)}`);
  }
  let better = 0;
  let promising = 0;
  for (const { readings, fewer, left } of oneMissing(bed, count, bed.name)) {
    const part = await judge(bed, fewer, simulator);
    if (promise(part.verdict) === 0) continue;
    promising += 1;
    const whole = await judge(bed, readings, simulator);
    if (promise(part.verdict) <= promise(whole.verdict)) continue;
    better += 1;
    why.push(
      `without ${left}: ${part.verdict} instead of ${whole.verdict}: ${whole.decidedBy.sentence} | ${JSON.stringify(readings)}`,
    );
  }
  console.log(
    `| ${bed.name} | ${tally(fresh)} | ${tally(ruined)} | ${String(better)} of ${String(count)} (${String(promising)} of them marginal or usable) |`,
  );
  if (talk)
    console.log([...why, `${((performance.now() - started) / 1e3).toFixed(1)} s`].join('\n'));
}
simulator.close();
