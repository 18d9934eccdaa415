import { describe, expect, test } from 'vitest';
import type { FromWorker, StartThread, ToWorker } from '../../src/simulation/client.ts';
import { EnginePool } from '../../src/simulation/pool.ts';
import { DIVIDER, ENDLESS } from '../engine/circuits.ts';

/** A thread that answers as told; counts how often it was started and stopped. */
function threads(reply: (message: ToWorker) => FromWorker | undefined): {
  start: StartThread;
  count: { started: number; stopped: number };
} {
  const count = { started: 0, stopped: 0 };
  const start: StartThread = (events) => {
    count.started++;
    return Promise.resolve({
      post: (message) => {
        const answer = reply(message);
        if (answer !== undefined) queueMicrotask(() => events.message(answer));
      },
      stop: () => void count.stopped++,
    });
  };
  return { start, count };
}

const good = ({ serial, netlist }: ToWorker): FromWorker => ({
  serial,
  answer: {
    plots: [
      {
        title: netlist.split('\n')[0]!.toLowerCase(),
        plotName: 'Operating Point',
        complex: false,
        points: 1,
        scale: 'v(1)',
        vectors: { 'v(1)': Float64Array.of(5), 'v(2)': Float64Array.of(2.5) },
      },
    ],
    lines: [],
  },
});

describe('the life of an engine', () => {
  test('it starts with the first run and is renewed after some thousand', async () => {
    const { start, count } = threads(good);
    const pool = new EnginePool('test', 1, start);
    expect(count.started).toBe(0);
    for (let i = 0; i < 1500; i++) expect((await pool.run(DIVIDER)).ok).toBe(true);
    expect(count).toEqual({ started: 1, stopped: 1 });
    await pool.run(DIVIDER);
    expect(count).toEqual({ started: 2, stopped: 1 });
  });

  test('a second one starts only when two runs meet', async () => {
    const { start, count } = threads(good);
    const pool = new EnginePool('test', 2, start);
    await pool.run(DIVIDER);
    await pool.run(DIVIDER);
    expect(count.started).toBe(1);
    await Promise.all([pool.run(DIVIDER), pool.run(DIVIDER)]);
    expect(count.started).toBe(2);
  });

  test('it is ended after an answer to another question', async () => {
    const { start, count } = threads((message) => ({
      ...good({ ...message, netlist: '* stagefit old ~0' }),
    }));
    expect(await new EnginePool('test', 1, start).run(DIVIDER)).toMatchObject({
      ok: false,
      why: 'incomplete',
    });
    expect(count.stopped).toBe(1);
  });

  test('it is ended after it died, and its last words are told', async () => {
    const { start, count } = threads(({ serial }) => ({
      serial,
      died: 'the engine aborted: out of memory',
    }));
    expect(await new EnginePool('test', 1, start).run(DIVIDER)).toMatchObject({
      ok: false,
      why: 'crash',
      text: 'the engine aborted: out of memory',
    });
    expect(count.stopped).toBe(1);
  });

  test('an answer with a foreign serial is not heard, and the time limit ends the wait', async () => {
    const { start } = threads((message) => ({ ...good(message), serial: message.serial - 1 }));
    expect(await new EnginePool('test', 1, start).run(DIVIDER, { timeout_ms: 30 })).toMatchObject({
      why: 'timeout',
    });
  });

  test('an engine that cannot start is a result, and so is one that never comes', async () => {
    const broken = new EnginePool('test', 1, () => Promise.reject(new Error('no such file')));
    expect(await broken.run(DIVIDER)).toMatchObject({
      ok: false,
      why: 'crash',
      text: expect.stringContaining('no such file') as string,
    });
    const never = new EnginePool('test', 1, () => new Promise(() => undefined));
    expect(await never.run(DIVIDER, { timeout_ms: 30 })).toMatchObject({
      ok: false,
      why: 'timeout',
    });
  });

  test('a cancelled run that does not end is ended with its engine', async () => {
    const { start, count } = threads((message) =>
      message.netlist.includes('endless') ? undefined : good(message),
    );
    const pool = new EnginePool('test', 1, start);
    const stop = new AbortController();
    const endless = pool.run(ENDLESS, { signal: stop.signal });
    const next = pool.run(DIVIDER);
    setTimeout(() => stop.abort(), 5);
    expect(await endless).toMatchObject({ why: 'cancelled' });
    expect(await next).toMatchObject({ ok: true });
    expect(count).toEqual({ started: 2, stopped: 1 });
  });
});
