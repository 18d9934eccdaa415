import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { learnCommand } from '../../src/cli/commands/learn.ts';
import { findLesson, LESSONS } from '../../src/decide/learn/lessons.ts';
import type { LessonAnswer } from '../../src/decide/learn/lesson.ts';
import { Problem } from '../../src/problem.ts';
import { readTable } from '../../src/scenario/csv-table.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';

/** The lessons on the built command line: what the page shows, in words and for a program. */
const root = fileURLToPath(new URL('../../', import.meta.url));
function stagefit(...args: readonly string[]) {
  const done = spawnSync(process.execPath, ['dist/cli/stagefit.js', 'learn', ...args], {
    encoding: 'utf8',
    cwd: root,
    timeout: 60_000,
  });
  return { code: done.status, out: done.stdout, err: done.stderr };
}
const simulator = nodeSimulator();
afterAll(() => simulator.close());

describe('learn', () => {
  test('lists the lessons: each with its question, its sliders in the table', () => {
    const { code, out } = stagefit();
    expect(code).toBe(0);
    for (const { id, question } of LESSONS) expect(out).toContain(`${id.padEnd(20)} ${question}`);
    const { rows } = readTable(stagefit('--csv').out, 'stdout');
    expect(rows).toHaveLength(LESSONS.flatMap(({ sliders }) => sliders).length);
  });

  const moved = ['contact-bias', '--set', 'gridResistor=4M7'];

  test('one with its slider moved: the figures that the page computes there, in JSON and CSV alike', async () => {
    const same = await findLesson('contact-bias')!.run({ gridResistor: 4.7e6 }, { simulator });
    const { picture, finding, values } = JSON.parse(
      stagefit(...moved, '--json').out,
    ) as LessonAnswer & { values: Record<string, number> };
    expect(values).toEqual({ gridResistor: 4.7e6 });
    expect(picture.lines.map(({ title }) => title)).toEqual(
      same.picture.lines.map(({ title }) => title),
    );
    const flat = (answer: LessonAnswer): number[] =>
      answer.picture.lines.flatMap(({ points }) => points.flat());
    // to the engine's own tolerance
    for (const [i, value] of flat({ picture, finding }).entries())
      expect(value / flat(same)[i]!).toBeCloseTo(1, 4);
    const { header, rows } = readTable(stagefit(...moved, '--csv').out, 'stdout');
    expect(header.map(({ text }) => text).slice(0, 2)).toEqual(['curve', picture.x.title]);
    expect(rows.map((row) => [Number(row[1]!.text), Number(row[2]!.text)])).toEqual(
      picture.lines.flatMap(({ points }) => points),
    );
  });

  test('in words: question, relation, a line for every place, what is found, no line wider than 80', () => {
    const { code, out } = stagefit(...moved);
    expect(code).toBe(0);
    const { question } = findLesson('contact-bias')!;
    // numbers keep to their units by a no-break space
    expect(out.replaceAll('\u00A0', ' ')).toContain(question);
    expect(out).toMatch(/Ig − Irev = −Vg \/ Rg\n/);
    expect(out).toMatch(/gridResistor \(grid resistor\): 4\.7.MΩ/);
    expect(out.match(/^ +[\d.]+\s[nµ]A +[\d.]+ +[\d.]+$/gm)).toHaveLength(16);
    // what is found comes first, right after the question
    expect(out).toMatch(/the\s+grid moves by [\d.]+\s.?V\.\n\n {2}Ig = /);
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  const bad: readonly (readonly [string, readonly string[], readonly string[] | undefined, RegExp])[] = [
    ['a lesson that is not there', ['grid'], undefined, /no such lesson[\s\S]*grid[\s\S]*contact-bias/],
    ['a slider that it has not', ['contact-bias'], ['drive=3'], /--set[\s\S]*drive=3[\s\S]*gridResistor=/],
    ['a value out of its range', ['contact-bias'], ['gridResistor=1k'], /range[\s\S]*1k[\s\S]*1.MΩ to 22.MΩ/],
    ['a value that is none', ['contact-bias'], ['gridResistor=lots'], /cannot be read[\s\S]*lots/],
    ['a slider of no lesson', [], ['drive=3'], /stagefit learn LESSON/],
  ]; // prettier-ignore
  test.each(bad)('%s: refused, with what was expected', async (_, positionals, set, message) => {
    const options = set === undefined ? {} : { set };
    const refused = await learnCommand.run({ positionals, options }).catch((error) => error);
    expect(refused).toBeInstanceOf(Problem);
    expect((refused as Problem).toText()).toMatch(message);
  });
});
