import { spawn, spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

/** The built command. Readings are invented. */
const root = fileURLToPath(new URL('../../../', import.meta.url));
const program = join(root, 'dist/cli/stagefit.js');
const SET = 'scenarios/record-player/scenario.json';
const BROKEN = '{"tube":"t2","type":"6AV6"';

const line = (i: number): string =>
  JSON.stringify({
    tube: `t${i}`,
    type: '6AV6',
    section: 'triode',
    readings: {
      emission: { percent: 45 + 6 * i },
      leakage: [{ megohms: 20 + 90 * i, atVolts: 100 }],
    },
  });
const lines = Array.from({ length: 5 }, (_, i) => (i === 2 ? BROKEN : line(i)));

interface Ran {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

function batch(input: readonly string[], args: readonly string[] = []): Promise<Ran> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [program, 'batch', SET, '--draws', '0', ...args], {
      cwd: root,
    });
    let [out, err] = ['', ''];
    child.stdout.on('data', (data: Buffer) => (out += data.toString()));
    child.stderr.on('data', (data: Buffer) => (err += data.toString()));
    child.on('close', (code) => resolve({ code, out, err }));
    child.stdin.end(input.map((each) => `${each}\n`).join(''));
  });
}

describe('stagefit batch', () => {
  test('answers a line each in order, a broken one in its place; a split file gives the same lines', async () => {
    const [whole, first, second] = await Promise.all([
      batch(lines, ['--workers', '2']),
      batch(lines.slice(0, 2), ['--workers', '1']),
      batch(lines.slice(2), ['--workers', '1']),
    ]);
    const answers = whole.out
      .trimEnd()
      .split('\n')
      .map((each) => JSON.parse(each) as { tube?: string; error?: { code: string } });
    expect(answers.map(({ tube, error }) => tube ?? error?.code)).toEqual(
      lines.map((_, i) => (i === 2 ? 'not-json' : `t${i}`)),
    );
    expect(whole.code).toBe(2);
    expect(whole.err).toContain('1 of 5 lines could not be read');
    expect(first.out + second.out).toBe(whole.out);
    expect(first.code).toBe(1);
  }, 120_000);

  test('says what is wrong with its options, and with no input at all', () => {
    const run = (args: readonly string[], input = ''): Ran => {
      const done = spawnSync(process.execPath, [program, 'batch', ...args], {
        cwd: root,
        input,
        encoding: 'utf8',
      });
      return { code: done.status, out: done.stdout, err: done.stderr };
    };
    for (const [args, said] of [
      [[SET], 'there were no readings'],
      [[SET, '--workers', '0'], '1 to 256'],
      [[SET, '--draws', 'many'], '0 to 1000'],
      [[SET, '--socket', 'V9'], 'no socket of that name'],
      [['-'], 'standard input'],
      [['none.json'], 'no such file'],
    ] as const) {
      const { code, out, err } = run(args);
      expect(code, err).toBe(2);
      expect(out).toBe('');
      expect(err).toContain(said);
    }
  }, 60_000);
});
