import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { withBlock } from '../readme-block.ts';
import { allBeds } from './beds.ts';
import { verdictsTable, type AllFound, type Tally } from './table.ts';

const found = JSON.parse(
  readFileSync(new URL('../verdicts.json', import.meta.url), 'utf8'),
) as AllFound;

test('the table of the README is what was found last, of every stage', () => {
  const readme = readFileSync(new URL('../../README.md', import.meta.url), 'utf8');
  expect(Object.keys(found)).toEqual(allBeds().map(({ name }) => name));
  expect(withBlock(readme, 'verdicts', verdictsTable(found))).toBe(readme);
});

const share = (tally: Tally): number =>
  (tally.usable ?? 0) / Object.values(tally).reduce((a, b) => a + b, 0);

test('in each stage at least 95 % of new tubes are usable', () => {
  for (const [name, { classes }] of Object.entries(found))
    expect(share(classes.new), name).toBeGreaterThanOrEqual(0.95);
});

test('no plainly ruined tube is', () => {
  for (const [name, { classes }] of Object.entries(found))
    expect(classes.ruined.usable ?? 0, name).toBe(0);
});

test('no tube is told better with a reading left out', () => {
  for (const [name, { without }] of Object.entries(found))
    expect(without.why.slice(0, without.better), name).toEqual([]);
});
