import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

/** accept, map and place as the command line has them: bad input, and one document on stdout. */
const root = fileURLToPath(new URL('../../', import.meta.url));
function stagefit(...args: readonly string[]) {
  const done = spawnSync(process.execPath, ['dist/cli/stagefit.js', ...args], {
    encoding: 'utf8',
    cwd: root,
    timeout: 110_000,
    maxBuffer: 1e8,
  });
  return { code: done.status, out: done.stdout, err: done.stderr };
}
const FILE = 'scenarios/bench-said-otherwise/scenario.json';

describe('accept, map, place', () => {
  const bad: readonly (readonly [string, readonly string[], RegExp])[] = [
    ['a socket that is not there', ['accept', FILE, '--socket', 'V9'], /--socket[\s\S]*V9[\s\S]*preamplifier, IF/],
    ['a type that is not there', ['accept', FILE, '--socket', 'IF', '--type', '6BA99'], /no such type[\s\S]*6BA99[\s\S]*6BA6/],
    ['a type that the stage cannot take', ['accept', FILE, '--socket', 'IF', '--type', '12AX7'], /does not fit this socket[\s\S]*pentode/],
    ['a tube that the stage cannot take', ['assess', FILE, '--tube', 'called bad', '--socket', 'IF'], /scenario\.json, called bad in IF: this tube does not fit[\s\S]*found[\s\S]*expected/],
    ['a map without a socket', ['map', FILE], /--socket/],
    ['no scenario', ['place'], /stagefit place SCENARIO/],
  ]; // prettier-ignore
  test.each(bad)(
    '%s: exit 2, a message with what was expected, nothing on stdout',
    (_, args, message) => {
      const { code, out, err } = stagefit(...args);
      expect(code).toBe(2);
      expect(err).toMatch(message);
      expect(out).toBe('');
    },
  );

  test('a map as a table: a head and a line a cell', () => {
    const { code, out, err } = stagefit('map', FILE, '--socket', 'preamplifier', '--csv');
    expect(code).toBe(0);
    expect(err).toBe('');
    const lines = out.trim().split('\r\n');
    expect(lines[0]).toBe(
      'emission_divisions,leakage_ohm,status,limit,margin,from,verdict,margin_low,margin_high',
    );
    expect(lines).toHaveLength(1 + 41 * 41);
    expect(lines.some((line) => line.includes(',inside,'))).toBe(true);
  }, 120_000);
});
