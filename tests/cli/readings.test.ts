import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { pairsOf } from '../../src/cases.ts';
import { scenarioFrom, withReadings } from '../../src/cli/scenario.ts';

const folder = mkdtempSync(join(tmpdir(), 'readings-'));
afterAll(() => rmSync(folder, { recursive: true }));
const table = (text: string): string => {
  const path = join(folder, 'drawer.csv');
  writeFileSync(path, text);
  return path;
};
const radio = (): ReturnType<typeof scenarioFrom> =>
  scenarioFrom('scenarios/table-radio/scenario.json');

describe('a CSV table of readings beside a scenario', () => {
  test('adds its tubes to the scenario’s own, for the sockets that take them', async () => {
    const alone = await radio();
    const both = await withReadings(
      alone,
      table(
        'tube,type,minutes,emission_percent,drop_percent,leakage_megohms\ndrawer 1,6BA6,1,88,6,800\ndrawer 1,,10,,,300\ndrawer 2,6BA6,10,61,20,900\n',
      ),
    );
    expect(both.tubes.map(({ id }) => id)).toEqual([
      ...alone.tubes.map(({ id }) => id),
      'drawer 1',
      'drawer 2',
    ]);
    expect(both.tubes.at(-2)?.readings.leakage).toHaveLength(2);
    expect(pairsOf(both, { tube: 'drawer 2' }).map(({ socket }) => socket.id)).toEqual(['V3']);
  });

  test('understands British words of the trade', async () => {
    const both = await withReadings(
      await radio(),
      table('valve,type,emission_percent\ndrawer 1,EF93,88\n'),
    );
    expect(both.tubes.at(-1)).toMatchObject({
      id: 'drawer 1',
      readings: { emission: [{ percent: 88 }] },
    });
  });

  test('refuses a name that the scenario has, and names file and tube', async () => {
    const path = table('tube,type,emission_percent\ntin 4,6BA6,88\n');
    await expect(withReadings(await radio(), path)).rejects.toMatchObject({
      code: 'contradiction',
      fields: { file: path, found: 'tin 4' },
    });
  });

  test('refuses a table that cannot be read, with line and column', async () => {
    const path = table('tube,type,emission_percent\ndrawer 1,6BA6,many\n');
    await expect(withReadings(await radio(), path)).rejects.toMatchObject({
      code: 'bad-value',
      fields: { file: path, line: 2, found: '"many"' },
    });
  });
});
