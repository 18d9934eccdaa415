/**
 * `npm run accuracy`: compares the models and stages with what is published, writes `tests/accuracy.json` and the table
 * of the README (between its markers), and prints the table with the five worst of each figure; then the verdicts on new, ruined
 * and half-read tubes as `npm run accuracy:verdicts` found them last.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { writeBlock } from '../readme-block.ts';
import { verdictsTable, type AllFound } from '../verdicts/table.ts';
import { accuracyTable, modelAccuracy, stageAccuracy } from './figures.ts';

const simulator = nodeSimulator({ workers: 2 });
try {
  const accuracy = { ...modelAccuracy(), ...(await stageAccuracy(simulator)) };
  writeFileSync('tests/accuracy.json', `${JSON.stringify(accuracy, null, 2)}\n`);
  const table = accuracyTable(accuracy);
  writeBlock('accuracy', table);
  console.log(table);
  for (const [title, { worst }] of Object.entries(accuracy))
    console.log(`\n${title}\n${worst.map((line) => `  ${line}`).join('\n')}`);
  const verdicts = JSON.parse(readFileSync('tests/verdicts.json', 'utf8')) as AllFound;
  console.log(
    `\nVerdicts on invented tubes, as npm run accuracy:verdicts found them last\n${verdictsTable(verdicts)}`,
  );
} finally {
  simulator.close();
}
