/**
 * `npm run accuracy:verdicts [-- tubes-a-class[,tubes-with-a-reading-missing] [part-of-a-name …]]`: no false alarms and no
 * false comfort. Every stage with a tube that suits it, 200 tubes a class by default: some three hours on two cores. Each stage is
 * written to `tests/verdicts.json` and into the README's table as it ends, so that they may be run one by one; what is not
 * asked for (0 tubes) stays as it was found before.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import { writeBlock } from '../readme-block.ts';
import { allBeds } from './beds.ts';
import {
  betterWithout,
  inLanes,
  judge,
  newTubes,
  ruinedTubes,
  type Bed,
  type Sample,
} from './populations.ts';
import { verdictsTable, type AllFound, type Found, type Tally } from './table.ts';

const FILE = 'tests/verdicts.json';
const [given, ...names] = process.argv.slice(2);
const [count = 200, missing = count] = given === undefined ? [] : given.split(',').map(Number);
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));

/** Draws can take "usable" back, and not give it to a tube whose central case is beyond a limit: that one is enough there. */
const quick = async (bed: Bed, { kind, readings }: Sample) => {
  const central = kind === 'new' ? undefined : await judge(bed, readings, simulator, 0);
  return central?.verdict === 'unsuitable' ? central : judge(bed, readings, simulator);
};

async function verdictsOf(bed: Bed, samples: readonly Sample[], why: string[]): Promise<Tally> {
  const tally: Record<string, number> = {};
  await inLanes(samples, async (sample) => {
    const { verdict, decidedBy } = await quick(bed, sample);
    tally[verdict] = (tally[verdict] ?? 0) + 1;
    if ((sample.kind === 'new') !== (verdict === 'usable') && verdict !== 'unsuitable')
      why.push(`${sample.kind}: ${verdict}: ${decidedBy.sentence}`);
  });
  return tally;
}

async function classesOf(bed: Bed): Promise<Found['classes']> {
  const why: string[] = [];
  const fresh = await verdictsOf(bed, newTubes(bed, count, bed.name), why);
  const ruined = await verdictsOf(bed, ruinedTubes(bed, count, bed.name), why);
  return { new: fresh, ruined, why: why.toSorted() };
}

async function withoutOf(bed: Bed): Promise<Found['without']> {
  const { better, promising, said } = await betterWithout(bed, missing, bed.name, simulator);
  return { tubes: missing, promising, better, why: said };
}

const beds = allBeds();
const known = (): AllFound =>
  existsSync(FILE) ? (JSON.parse(readFileSync(FILE, 'utf8')) as AllFound) : {};
for (const bed of beds.filter(
  ({ name }) => names.length === 0 || names.some((part) => name.includes(part)),
)) {
  const before = known()[bed.name];
  const found: Found = {
    stage: bed.stage.title,
    tube: bed.label,
    classes: count === 0 && before !== undefined ? before.classes : await classesOf(bed),
    without: missing === 0 && before !== undefined ? before.without : await withoutOf(bed),
  };
  const all: Record<string, Found> = { ...known(), [bed.name]: found };
  const inOrder = Object.fromEntries(
    beds.flatMap(({ name }) => (all[name] === undefined ? [] : [[name, all[name]]])),
  );
  writeFileSync(FILE, `${JSON.stringify(inOrder, null, 2)}\n`);
  writeBlock('verdicts', verdictsTable(inOrder));
  console.log(`${bed.name}: ${JSON.stringify(found, null, 1)}`);
}
simulator.close();
