/**
 * `npm run accuracy:verdicts [-- tubes-a-class [part-of-a-name [why]]]`: no false alarms and no false comfort, as a table.
 * 200 tubes a class by default: minutes for a voltage amplifier, an hour for an output stage.
 */
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import { allBeds } from './beds.ts';
import {
  betterWithout,
  judge,
  newTubes,
  ruinedTubes,
  type Bed,
  type Sample,
} from './populations.ts';

const count = Number(process.argv[2] ?? 200);
const only = process.argv[3] ?? '';
const talk = process.argv[4] === 'why';
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));

const tally = (all: readonly string[]): string =>
  [...new Set(all)]
    .toSorted()
    .map((one) => `${String(all.filter((each) => each === one).length)} ${one}`)
    .join(', ');

async function verdicts(bed: Bed, samples: readonly Sample[], explain: string[]): Promise<string> {
  const all: string[] = [];
  for (const { kind, readings } of samples) {
    const { verdict, decidedBy } = await judge(bed, readings, simulator);
    all.push(verdict);
    if ((kind === 'new') !== (verdict === 'usable'))
      explain.push(`${kind}: ${verdict}: ${decidedBy.sentence}`);
  }
  return tally(all);
}

const row = (cells: readonly string[]): void => {
  process.stdout.write(`| ${cells.join(' | ')} |\n`);
};
row(['stage and tube', 'tubes', 'verdicts']);
row(['---', '---', '---']);
for (const bed of allBeds().filter(({ name }) => name.includes(only))) {
  const why: string[] = [];
  row([bed.name, 'new', await verdicts(bed, newTubes(bed, count, bed.name), why)]);
  row(['', 'plainly ruined', await verdicts(bed, ruinedTubes(bed, count, bed.name), why)]);
  const { better, promising, said } = await betterWithout(bed, count, bed.name, simulator);
  row([
    '',
    'one reading missing',
    `better than with it: ${String(better)} of ${String(count)} (${String(promising)} of them marginal or usable without)`,
  ]);
  if (talk) process.stdout.write(`${[...why, ...said].join('\n')}\n`);
}
simulator.close();
