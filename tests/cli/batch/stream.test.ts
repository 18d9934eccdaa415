import { setTimeout as sleep } from 'node:timers/promises';
import { describe, expect, test } from 'vitest';
import { inOrder, linesOf, LONGEST_LINE, type InputLine } from '../../../src/cli/batch/stream.ts';

async function all<T>(items: AsyncIterable<T>): Promise<T[]> {
  const found: T[] = [];
  for await (const item of items) found.push(item);
  return found;
}

async function* chunks(bytes: Uint8Array, size: number): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

const split = (text: string, size: number): Promise<InputLine[]> =>
  all(linesOf(chunks(new TextEncoder().encode(text), size)));

describe('lines', () => {
  test('are the same however the bytes come, in the middle of a letter too', async () => {
    const text = '{"tube":"µ1"}\r\n\n  \n{"tube":"Röhre"}\n{"tube":"last"}';
    const expected = ['{"tube":"µ1"}\r', '{"tube":"Röhre"}', '{"tube":"last"}'];
    for (const size of [1, 2, 3, 7, 1000])
      expect((await split(text, size)).map((line) => 'text' in line && line.text)).toEqual(
        expected,
      );
    expect(await split('', 5)).toEqual([]);
  });

  test('one that is too long is told by its length and not kept; the next is whole', async () => {
    const long = 'x'.repeat(3 * LONGEST_LINE);
    for (const size of [1000, 65_536, 1e7])
      expect(await split(`a\n${long}\nb\n${long}`, size)).toEqual([
        { text: 'a' },
        { tooLong: long.length },
        { text: 'b' },
        { tooLong: long.length },
      ]);
  });
});

describe('answers', () => {
  test('keep the order of 100,000 lines, whatever each takes, in flat memory and a bounded window', async () => {
    const count = 100_000;
    const window = 32;
    let [read, answered, most] = [0, 0, 0];
    async function* source(): AsyncGenerator<Uint8Array> {
      const encoder = new TextEncoder();
      for (let i = 0; i < count; i += 100) {
        const part = Array.from({ length: 100 }, (_, k) => `{"tube":"t${i + k}"}\n`);
        yield encoder.encode(part.join(''));
      }
    }
    async function* counted(): AsyncGenerator<InputLine> {
      for await (const line of linesOf(source())) {
        read += 1;
        yield line;
      }
    }
    const work = async (line: InputLine): Promise<string> => {
      most = Math.max(most, read - answered);
      // quick and slow ones mixed: some answer at once, some much later than those behind them
      if (read % 97 === 0) await sleep(1);
      return 'text' in line ? line.text.padEnd(2000) : '';
    };
    let heap: number | undefined;
    for await (const answer of inOrder(counted(), window, work)) {
      expect(answer.startsWith(`{"tube":"t${answered}"}`)).toBe(true);
      answered += 1;
      if (answered === 10_000) heap = process.memoryUsage().heapUsed;
    }
    expect(answered).toBe(count);
    // one line is read ahead of the window, and one is on its way out
    expect(most).toBeLessThanOrEqual(window + 2);
    // 100,000 answers of 2 kB would be 200 MB
    expect(process.memoryUsage().heapUsed - heap!).toBeLessThan(60e6);
  }, 60_000);

  test('are given while the next line is still awaited', async () => {
    let release: () => void = () => undefined;
    const later = new Promise<void>((resolve) => (release = resolve));
    async function* source(): AsyncGenerator<number> {
      yield 1;
      await later;
      yield 2;
    }
    const answers = inOrder(source(), 8, async (n) => n * 10);
    expect((await answers.next()).value).toBe(10);
    release();
    expect((await answers.next()).value).toBe(20);
    expect((await answers.next()).done).toBe(true);
  });
});
