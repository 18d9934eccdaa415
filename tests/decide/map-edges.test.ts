import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import { benchSet } from '../../src/decide/bench-set.ts';
import { acceptanceMap, type AcceptanceMap, type MapCell } from '../../src/decide/map.ts';
import { LEAKAGE_MINUTES } from '../../src/decide/reading-ladder.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';

/**
 * The edges of a map's intervals, which are simulated at a few points of its boundary and taken from there, against the
 * assessment itself: a bypassed stage on an instrument in percent (invented), at three emissions from weak to new.
 */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());
const FILE = new URL('../../scenarios/heater-hum/scenario.json', import.meta.url);
const scenario = readScenario(readFileSync(FILE, 'utf8'), readerContext('scenario.json'));
const socket = scenario.sockets.find(({ id }) => id === 'second')!;
const { newTube } = benchSet(scenario, socket, undefined, '12AX7');

describe('the edges of its intervals', () => {
  let map: AcceptanceMap;
  beforeAll(async () => {
    map = await acceptanceMap(scenario, socket, simulator, { path: ['grid', 'plate'] });
  }, 120_000);

  const verdictAt = async (i: number, k: number): Promise<string> => {
    const readings = {
      ...newTube,
      emission: [{ percent: map.emission.values[i]! }],
      leakage: [
        {
          megohms: map.leakage.values[k]! * 1e-6,
          minutes: LEAKAGE_MINUTES,
          path: ['grid', 'plate'] as const,
        },
      ],
    };
    const tube = { id: 'a tube', type: '12AX7', section: '1', readings };
    const few = { moreSeeds: false, changes: false, explain: false } as const;
    return (await assess(caseOf(scenario, tube, socket), simulator, few)).verdict;
  };
  /** First row from which on all is so, upwards; last row up to which all is so. */
  const edges = (column: readonly MapCell[]) => ({
    usable: column.findLastIndex(({ verdict }) => verdict !== 'usable') + 1,
    unsuitable: column.findIndex(({ verdict }) => verdict !== 'unsuitable') - 1,
  });

  test.each([15, 22, 36])(
    'two cells off them, column %i says what the assessment says',
    async (i) => {
      const { usable, unsuitable } = edges(map.cells[i]!);
      expect(usable - unsuitable).toBeGreaterThan(1);
      expect(await verdictAt(i, unsuitable - 2)).toBe('unsuitable');
      if (usable + 2 < map.leakage.values.length)
        expect(await verdictAt(i, usable + 2)).toBe('usable');
    },
    60_000,
  );
});
