import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import { benchSet } from '../../src/decide/bench-set.ts';
import { acceptanceMap, type AcceptanceMap } from '../../src/decide/map.ts';
import { Stopped } from '../../src/measure/subjects.ts';
import { mapCsv, mapText } from '../../src/report/map-text.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { Report } from '../../src/types.ts';

/** The map of an invented preamplifier, all of the leakage from its grid to its plate. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());
const FILE = new URL('../../scenarios/bench-said-otherwise/scenario.json', import.meta.url);
const scenario = readScenario(readFileSync(FILE, 'utf8'), readerContext('scenario.json'));
const given = scenario.sockets.find(({ id }) => id === 'preamplifier')!;
// more bias than the scenario has, so that no electron current of the grid enters the closed form below
const GRID_ohm = 220e3;
const socket = {
  ...given,
  values: {
    ...given.values,
    cathodeResistor: { ...given.values['cathodeResistor']!, value: 3300 },
    gridResistor: { ...given.values['gridResistor']!, value: GRID_ohm },
  },
};
const tube = scenario.tubes.find(({ id }) => id === 'called bad')!;
const set = benchSet(scenario, socket, undefined, '12AX7');

const caseAt = (divisions: number, ohms: number) =>
  caseOf(
    scenario,
    {
      id: 'a tube',
      type: '12AX7',
      section: '1',
      readings: {
        ...set.newTube,
        starvedHeater: tube.readings.starvedHeater!,
        emission: [{ divisions }],
        leakage: [{ megohms: ohms * 1e-6, minutes: 10, path: ['grid', 'plate'] }],
      },
    },
    socket,
  );
const reportAt = (divisions: number, ohms: number): Promise<Report> =>
  assess(caseAt(divisions, ohms), simulator, { draws: 0 });

describe('the acceptance map', () => {
  let map: AcceptanceMap;
  beforeAll(async () => {
    map = await acceptanceMap(scenario, socket, simulator, { tube, path: ['plate', 'grid'] });
  }, 120_000);

  test('is exact to a cell along its boundary: each side is what the assessment of that very cell says', async () => {
    const border = map.cells.flatMap((column, i) =>
      column.flatMap((cell, k) => (cell.inside && column[k - 1]?.inside === false ? [[i, k]] : [])),
    );
    expect(border.length).toBeGreaterThan(5);
    for (const [i, k] of [border[0]!, border[Math.floor(border.length / 2)]!])
      for (const down of [0, 1]) {
        const report = await reportAt(map.emission.values[i!]!, map.leakage.values[k! - down]!);
        const missed = report.measures.filter(({ margin }) => margin !== null && margin < 0);
        expect(missed.length === 0, `${i} ${k} ${down}`).toBe(down === 0);
      }
  }, 120_000);

  test('where bias shift ends it, plate voltage and leak divide to the limit: Vp·Rg/(Rg + Rleak)', async () => {
    const line = map.contours.find(({ measure }) => measure === 'biasShift')!.lines[0]!;
    const [divisions, ohms] = line.reduce((a, b) =>
      Math.abs(b[0] - 50) < Math.abs(a[0] - 50) ? b : a,
    );
    const report = await reportAt(divisions, ohms);
    const value = (id: string): number => report.measures.find((one) => one.id === id)!.value!;
    const leak = caseAt(divisions, ohms)
      .tube.wear.condition({})
      .leaks.find(({ between }) => between.includes('plate'))!;
    const divided = (value('plateVoltage') * GRID_ohm) / (GRID_ohm + 1 / leak.siemens);
    expect(value('biasShift')).toBeCloseTo(0.3, 2);
    expect(Math.abs(divided / value('biasShift') - 1)).toBeLessThan(0.03);
  }, 60_000);

  test('two cells off its edges, usable and unsuitable are what the assessment with intervals says', async () => {
    const i = 30;
    const column = map.cells[i]!;
    const usable = column.findIndex((_, k) =>
      column.slice(k).every(({ verdict }) => verdict === 'usable'),
    );
    const unsuitable = column.findLastIndex(({ verdict }) => verdict === 'unsuitable');
    expect(usable - unsuitable).toBeGreaterThan(1);
    expect(
      column.slice(unsuitable + 1, usable).every(({ verdict }) => verdict === 'marginal'),
    ).toBe(true);
    const verdict = async (k: number): Promise<string> =>
      (
        await assess(caseAt(map.emission.values[i]!, map.leakage.values[k]!), simulator, {
          moreSeeds: false,
          changes: false,
          explain: false,
        })
      ).verdict;
    expect(await verdict(usable + 2)).toBe('usable');
    expect(await verdict(unsuitable - 2)).toBe('unsuitable');
    expect(await verdict(Math.round((usable + unsuitable) / 2))).toBe('marginal');
  }, 60_000);

  test('its finding is read off the cells: at the tube’s emission, usable where they are', () => {
    const { finding } = map;
    expect(finding).toMatchObject({ of: 'called bad', emission: 36 });
    const spans = finding.usableLeakage_ohm;
    const near = map.emission.values.findIndex((value) => value > 36);
    const change = map.cells[near]!.findIndex(({ verdict }) => verdict === 'usable');
    expect(spans).toHaveLength(1);
    expect(Math.abs(Math.log(spans[0]![0] / map.leakage.values[change]!))).toBeLessThan(
      2 * Math.log(map.leakage.values[1]! / map.leakage.values[0]!),
    );
    expect(finding.sentences[1]).toMatch(/At an emission of 36\sdivisions \(called bad\), .* up/);
  });

  test('fewer than a quarter of the cells are simulated, and the tube stands where it was read', () => {
    expect(map.simulated).toBeLessThan((41 * 41) / 4);
    expect(map.point).toMatchObject({
      emission: { value: 36 },
      leakage: { low: 500e6, high: null },
    });
    expect(map.emission.unit).toBe('divisions');
  });

  test('as text it fits 80 columns, as a table it has a line a cell', () => {
    for (const line of mapText(map).split('\n'))
      expect(Array.from(line).length, line).toBeLessThanOrEqual(80);
    expect(mapCsv(map).trim().split('\n')).toHaveLength(1 + 41 * 41);
  });

  test('a path that the tube has not is refused; a stopped map stops', async () => {
    await expect(
      acceptanceMap(scenario, socket, simulator, { path: ['grid', 'screen'] }),
    ).rejects.toThrow(/no such path/);
    const stop = new AbortController();
    stop.abort();
    await expect(
      acceptanceMap(scenario, socket, simulator, { signal: stop.signal }),
    ).rejects.toThrow(Stopped);
  });
});
