/** The same four tubes, read on three benches: the raw figures differ, what they say and the verdicts do not. */
import { readFileSync } from 'node:fs';
import { afterAll, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, pairsOf, readerContext } from '../../src/cases.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';

const FILES = ['scenario.json', 'scenario-club.json', 'scenario-home-made.json'];
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
afterAll(() => simulator.close());

const scenarios = FILES.map((name) => {
  const file = new URL(`../../scenarios/three-benches/${name}`, import.meta.url);
  return readScenario(readFileSync(file, 'utf8'), readerContext(name));
});

test('the three files have the same sockets and the same tubes', () => {
  for (const { sockets, tubes } of scenarios) {
    expect(sockets).toEqual(scenarios[0]?.sockets);
    expect(tubes.map(({ id, type }) => [id, type])).toEqual(
      scenarios[0]?.tubes.map(({ id, type }) => [id, type]),
    );
  }
});

test('each bench tells the saturation and the leak of each tube within the others’ intervals', () => {
  const lines = scenarios.map((scenario) =>
    pairsOf(scenario).map(({ tube, socket }) => {
      const { summary } = caseOf(scenario, tube, socket).tube.wear;
      return summary.filter(({ id }) => ['saturation', 'gridLeak'].includes(id));
    }),
  );
  for (const [pair, mine] of (lines[0] ?? []).entries())
    for (const [i, line] of mine.entries())
      for (const other of lines.slice(1)) {
        const theirs = other[pair]?.[i];
        expect(theirs?.low, line.title).toBeLessThan(line.high ?? 0);
        expect(theirs?.high, line.title).toBeGreaterThan(line.low ?? Infinity);
      }
});

test('and the verdicts agree', async () => {
  const verdicts: string[][] = [];
  for (const scenario of scenarios) {
    const of: string[] = [];
    for (const { tube, socket } of pairsOf(scenario)) {
      const report = await assess(caseOf(scenario, tube, socket), simulator, {
        draws: 32,
        changes: false,
      });
      of.push(`${tube.id} in ${socket.id}: ${report.verdict}`);
    }
    verdicts.push(of);
  }
  expect(verdicts[0]).toEqual([
    'shelf 1 in first audio: usable',
    'shelf 2 in first audio: usable',
    'shelf 3 in IF: unsuitable',
    'shelf 4 in IF: unsuitable',
  ]);
  expect(verdicts[1]).toEqual(verdicts[0]);
  expect(verdicts[2]).toEqual(verdicts[0]);
}, 240_000);
