/**
 * `npm run accuracy`: compares the models and stages with what is published, writes `tests/accuracy.json` and the table
 * of the README (between its markers), and prints the table with the five worst of each figure.
 */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { accuracyTable, modelAccuracy, stageAccuracy } from './figures.ts';

const simulator = nodeSimulator({ workers: 2 });
try {
  const accuracy = { ...modelAccuracy(), ...(await stageAccuracy(simulator)) };
  writeFileSync('tests/accuracy.json', `${JSON.stringify(accuracy, null, 2)}\n`);
  const table = accuracyTable(accuracy);
  const [start, end] = ['<!-- accuracy:start -->', '<!-- accuracy:end -->'];
  const readme = existsSync('README.md') ? readFileSync('README.md', 'utf8') : '';
  const [from, to] = [readme.indexOf(start), readme.indexOf(end)];
  if (from >= 0 && to > from)
    writeFileSync(
      'README.md',
      `${readme.slice(0, from + start.length)}\n${table}\n${readme.slice(to)}`,
    );
  console.log(table);
  for (const [title, { worst }] of Object.entries(accuracy))
    console.log(`\n${title}\n${worst.map((line) => `  ${line}`).join('\n')}`);
} finally {
  simulator.close();
}
