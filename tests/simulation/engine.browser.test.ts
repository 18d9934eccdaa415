import { afterAll, describe, expect, test } from 'vitest';
import { browserSimulator } from '../../src/simulation/browser/simulator.ts';
import { BAD, DIVIDER, ENDLESS, TABLE } from '../engine/circuits.ts';

const simulator = browserSimulator({ workers: 2 });
afterAll(() => simulator.close());

const middle = async (): Promise<number | undefined> => {
  const result = await simulator.run(DIVIDER);
  return result.ok ? result.vectors['v(2)']![0] : undefined;
};

describe('the engine in a web worker', () => {
  test('answers an operating point and a table', async () => {
    expect(await middle()).toBeCloseTo(2.5, 9);
    const table = await simulator.run(TABLE);
    expect(table).toMatchObject({ ok: true, runId: TABLE.runId });
    if (table.ok) expect([...table.vectors['v(x)']!]).toEqual([1, 3, 5]);
  });

  test.each(BAD)('$what: refused, and the next run is right', async ({ request, why }) => {
    expect(await simulator.run(request)).toMatchObject({ ok: false, runId: request.runId, why });
    expect(await middle()).toBeCloseTo(2.5, 9);
  });

  test('a run beyond its time limit is stopped', async () => {
    expect(await simulator.run(ENDLESS, { timeout_ms: 150 })).toMatchObject({ why: 'timeout' });
    expect(await middle()).toBeCloseTo(2.5, 9);
  });

  test('a run is cancelled while it computes', async () => {
    const stop = new AbortController();
    setTimeout(() => stop.abort(), 150);
    expect(await simulator.run(ENDLESS, { signal: stop.signal })).toMatchObject({
      why: 'cancelled',
    });
    expect(await middle()).toBeCloseTo(2.5, 9);
  });
});
