import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { assess } from '../src/assess.ts';
import { caseOf, pairsOf, readerContext } from '../src/cases.ts';
import { readScenario } from '../src/scenario/read.ts';
import { nodeSimulator } from '../src/simulation/node/simulator.ts';
import type { Report } from '../src/types.ts';

/**
 * Every bundled scenario against its expected.json: verdicts to the word, numbers to 2 % (central values, one seed of
 * few draws: quick). A change that is meant is
 * written down by `npm run golden:update` and shows in the diff of the commit.
 */
const root = new URL('../scenarios/', import.meta.url);
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

interface Expected {
  readonly tube: string;
  readonly socket: string;
  readonly verdict: string;
  readonly decidedBy: string | null;
  readonly measures: Readonly<
    Record<string, { status: string; value: number | null; newTube: number | null }>
  >;
}

const round = (value: number | null): number | null =>
  value === null ? null : Number(value.toPrecision(4));

const summary = (report: Report): Expected => ({
  tube: report.tube.id,
  socket: report.socket.id,
  verdict: report.verdict,
  decidedBy: report.decidedBy.measure,
  measures: Object.fromEntries(
    report.measures.map(({ id, status, value, newTube }) => [
      id,
      { status, value: round(value), newTube: round(newTube) },
    ]),
  ),
});

const scenarios = readdirSync(root, { withFileTypes: true })
  .filter((entry) => entry.isDirectory())
  .flatMap((entry) =>
    readdirSync(new URL(`${entry.name}/`, root))
      .filter((name) => /^scenario.*\.json$/.test(name))
      .map((name) => `${entry.name}/${name}`),
  );

describe.for(scenarios)('%s', (path) => {
  test('gives the expected verdicts and measures', async () => {
    const file = new URL(path, root);
    const expectedFile = new URL(path.replace(/scenario(.*)\.json$/, 'expected$1.json'), root);
    const scenario = readScenario(readFileSync(file, 'utf8'), readerContext(path));
    const found: Expected[] = [];
    for (const pair of pairsOf(scenario)) {
      const given = caseOf(scenario, pair.tube, pair.socket);
      found.push(
        summary(await assess(given, simulator, { changes: false, moreSeeds: false, draws: 24 })),
      );
    }
    expect(found.length).toBeGreaterThan(0);
    if (process.env['UPDATE_GOLDEN'] === '1') {
      writeFileSync(expectedFile, `${JSON.stringify(found, null, 1)}\n`);
      return;
    }
    expect(existsSync(expectedFile), 'run npm run golden:update and look at the diff').toBe(true);
    const expected = JSON.parse(readFileSync(expectedFile, 'utf8')) as Expected[];
    expect(found.map(({ tube, socket, verdict }) => ({ tube, socket, verdict }))).toEqual(
      expected.map(({ tube, socket, verdict }) => ({ tube, socket, verdict })),
    );
    found.forEach((each, i) => {
      for (const [id, { status, value, newTube }] of Object.entries(each.measures)) {
        const was = expected[i]!.measures[id];
        expect(was?.status, `${each.tube}: ${id}`).toBe(status);
        near(value, was!.value, `${each.tube}: ${id}`);
        near(newTube, was!.newTube, `${each.tube}: ${id}, new tube`);
      }
    });
  }, 120_000);
});

function near(found: number | null, expected: number | null, what: string): void {
  if (found === null || expected === null) expect(found, what).toBe(expected);
  else
    expect(Math.abs(found - expected), `${what}: ${found} against ${expected}`).toBeLessThanOrEqual(
      0.02 * Math.max(Math.abs(expected), 1e-3),
    );
}
