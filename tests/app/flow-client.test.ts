import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { FlowClient, type PortEvents } from '../../src/app/flow/client.ts';
import type { FromFlow, ToFlow } from '../../src/app/flow/protocol.ts';

interface FakePort {
  readonly sent: ToFlow[];
  readonly events: PortEvents;
  ended: boolean;
}

function client(): {
  flow: FlowClient;
  ports: FakePort[];
  heard: FromFlow[];
  crashes: [string, boolean][];
} {
  const ports: FakePort[] = [];
  const heard: FromFlow[] = [];
  const crashes: [string, boolean][] = [];
  const flow = new FlowClient(
    (events) => {
      const port: FakePort = { sent: [], events, ended: false };
      ports.push(port);
      return { post: (message) => port.sent.push(message), terminate: () => (port.ended = true) };
    },
    {
      message: (message) => heard.push(message),
      crashed: (text, again) => crashes.push([text, again]),
    },
  );
  return { flow, ports, heard, crashes };
}

const INPUT = { kind: 'run' as const, text: '{}', tube: 'a', socket: 'b' };
const progress = (id: number): FromFlow => ({
  kind: 'progress',
  id,
  what: 'intervals',
  done: 1,
  all: 2,
});

beforeEach(() => vi.useFakeTimers());
afterEach(() => vi.useRealTimers());

test('one worker for all runs; answers to an earlier input are not heard', () => {
  const { flow, ports, heard } = client();
  flow.warmUp();
  flow.run(INPUT);
  flow.run({ ...INPUT, tube: 'c' });
  expect(ports).toHaveLength(1);
  ports[0]!.events.message(progress(1));
  ports[0]!.events.message(progress(2));
  expect(heard).toEqual([progress(2)]);
});

test('a worker that dies is replaced and gets the same input; a second death on it gives up', () => {
  const { flow, ports, crashes } = client();
  flow.run(INPUT);
  ports[0]!.events.died('boom');
  expect(ports[0]!.ended).toBe(true);
  expect(ports[1]!.sent).toMatchObject([{ kind: 'run', tube: 'a' }]);
  ports[1]!.events.died('boom');
  expect(crashes).toEqual([
    ['boom', true],
    ['boom', false],
  ]);
  expect(ports).toHaveLength(2);
  flow.run(INPUT);
  expect(ports).toHaveLength(3);
});

test('a worker that falls silent counts as dead; one that is done does not', async () => {
  const { flow, ports, crashes } = client();
  flow.run(INPUT);
  ports[0]!.events.message({ kind: 'done', id: 1 });
  await vi.advanceTimersByTimeAsync(200_000);
  expect(crashes).toEqual([]);
  flow.run(INPUT);
  await vi.advanceTimersByTimeAsync(95_000);
  expect(crashes[0]).toEqual(['it did not answer', true]);
});

test('stop is sent for the run on the way; after cancel nothing of it is heard', () => {
  const { flow, ports, heard } = client();
  flow.run(INPUT);
  flow.stop();
  expect(ports[0]!.sent.at(-1)).toEqual({ kind: 'stop', id: 1 });
  flow.cancel();
  ports[0]!.events.message(progress(1));
  expect(heard).toEqual([]);
});
