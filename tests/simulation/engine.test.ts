import { afterAll, describe, expect, test } from 'vitest';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { SimRequest } from '../../src/types.ts';
import { BAD, CHARGING, DIVIDER, ENDLESS, LOW_PASS, TABLE } from '../engine/circuits.ts';

const simulator = nodeSimulator();
afterAll(() => simulator.close());

async function vector(request: SimRequest, name: string): Promise<Float64Array> {
  const result = await simulator.run(request);
  if (!result.ok) throw new Error(`${result.why}: ${result.text}`);
  return result.vectors[name]!;
}
const middle = async (): Promise<number> => (await vector(DIVIDER, 'v(2)'))[0]!;

describe('good runs', () => {
  test('a divider halves its voltage', async () => {
    expect(await middle()).toBeCloseTo(2.5, 9);
  });

  test('a table of knob values is one run', async () => {
    expect([...(await vector(TABLE, 'v(x)'))]).toEqual([1, 3, 5]);
  });

  test('a capacitor charges as 1 - exp(-t / RC)', async () => {
    // circuit theory: first-order step response
    const result = await simulator.run(CHARGING);
    if (!result.ok) throw new Error(result.text);
    const { time, 'v(2)': volts } = result.vectors;
    for (let i = 0; i < time!.length; i++)
      expect(Math.abs(volts![i]! - (1 - Math.exp(-time![i]! / 1e-3)))).toBeLessThan(2e-4);
  });

  test('a low pass is at (1 - j) / 2 at its corner', async () => {
    const [re, im] = await vector(LOW_PASS, 'v(2)');
    expect(re).toBeCloseTo(0.5, 9);
    expect(im).toBeCloseTo(-0.5, 9);
  });

  test('the same netlist gives the same bits, whatever ran between', async () => {
    const before = await vector(CHARGING, 'v(2)');
    await simulator.run(BAD.find(({ why }) => why === 'noConvergence')!.request);
    await middle();
    expect(await vector(CHARGING, 'v(2)')).toEqual(before);
  });
});

describe('bad runs are refused, and the next run is right', () => {
  test.each(BAD)('$what', async ({ request, why, says }) => {
    const result = await simulator.run(request);
    expect(result).toMatchObject({ ok: false, runId: request.runId, why });
    if (!result.ok) expect(result.text).toMatch(says);
    expect(await middle()).toBeCloseTo(2.5, 9);
  });

  test('a netlist that begins otherwise', async () => {
    expect(await simulator.run({ ...DIVIDER, runId: 'other' })).toMatchObject({
      ok: false,
      why: 'parse',
    });
  });
});

describe('time limit and cancel', () => {
  test('a run beyond its limit is stopped', async () => {
    const result = await simulator.run(ENDLESS, { timeout_ms: 150 });
    expect(result).toMatchObject({ ok: false, why: 'timeout', text: 'no answer within 150 ms' });
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

  test('a run is cancelled in the queue, and before it was asked for', async () => {
    const stop = new AbortController();
    const first = simulator.run(DIVIDER);
    const second = simulator.run(TABLE, { signal: stop.signal });
    stop.abort();
    expect(await second).toMatchObject({ ok: false, why: 'cancelled' });
    expect(await first).toMatchObject({ ok: true });
    expect(await simulator.run(TABLE, { signal: stop.signal })).toMatchObject({ why: 'cancelled' });
  });

  test('a cancelled run that ends by itself does not cost the engine', async () => {
    const stop = new AbortController();
    const run = simulator.run(CHARGING, { signal: stop.signal });
    await Promise.resolve();
    stop.abort();
    expect(await run).toMatchObject({ why: 'cancelled' });
    expect(await middle()).toBeCloseTo(2.5, 9);
  });
});

describe('several engines', () => {
  test('share one queue, and every answer is to its own question', async () => {
    const pool = nodeSimulator({ workers: 2 });
    const requests = Array.from({ length: 60 }, (_, i) => ({
      ...DIVIDER,
      runId: 'same',
      netlist: DIVIDER.netlist.replace(DIVIDER.runId, 'same').replace('V1 1 0 5', `V1 1 0 ${i}`),
    }));
    const results = await Promise.all(requests.map((request) => pool.run(request)));
    results.forEach((result, i) => {
      expect(result.ok && result.vectors['v(2)']![0]).toBeCloseTo(i / 2, 9);
    });
    pool.close();
  });

  test('one may be stopped while the other goes on', async () => {
    const pool = nodeSimulator({ workers: 2 });
    const [long, short] = await Promise.all([
      pool.run(ENDLESS, { timeout_ms: 400 }),
      pool.run(DIVIDER),
    ]);
    expect(long).toMatchObject({ ok: false, why: 'timeout' });
    expect(short).toMatchObject({ ok: true });
    pool.close();
  });

  test('closing settles what runs and what waits', async () => {
    const pool = nodeSimulator();
    const runs = [pool.run(ENDLESS), pool.run(DIVIDER)];
    setTimeout(() => pool.close(), 100);
    for (const result of await Promise.all(runs))
      expect(result).toMatchObject({ ok: false, why: 'cancelled' });
    expect(await pool.run(DIVIDER)).toMatchObject({
      ok: false,
      why: 'cancelled',
      text: 'the simulator is closed',
    });
  });
});
