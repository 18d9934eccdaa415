import { afterAll, describe, expect, test } from 'vitest';
import { findLesson, LESSONS } from '../../src/decide/learn/lessons.ts';
import type { LessonAnswer } from '../../src/decide/learn/lesson.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const starts = (id: string): Record<string, number> =>
  Object.fromEntries(findLesson(id)!.sliders.map(({ key, start }) => [key, start]));
const run = (id: string, values: Record<string, number> = {}): Promise<LessonAnswer> =>
  findLesson(id)!.run({ ...starts(id), ...values }, { simulator });

const lineOf = (answer: LessonAnswer, title: RegExp): readonly (readonly [number, number])[] =>
  answer.picture.lines.find((line) => title.test(line.title))!.points;

describe.each(LESSONS.map(({ id }) => id))('%s', (id) => {
  test('answers at its starting values with curves and a finding in numbers, in one sentence', async () => {
    const { picture, finding } = await run(id);
    expect(finding).toMatch(/\d.*\.$/);
    expect(finding).not.toMatch(/\.\s+\p{Lu}/u);
    for (const { points } of picture.lines) {
      expect(points.length).toBeGreaterThan(4);
      for (const [x, y] of points) expect(Number.isFinite(x) && Number.isFinite(y)).toBe(true);
    }
  });
});

test('leak and grid resistor: the grid moves as the textbook divider says while the tube draws no grid current', async () => {
  const answer = await run('leak-and-resistance', { gridResistor: 1e6 });
  // the plate sits a little under the 250 V supply
  for (const [leak, shift] of answer.picture.lines[0]!.points) {
    if (shift > 3) continue;
    const divider = (250 * 1e6) / (leak + 1e6);
    expect(shift / divider).toBeGreaterThan(0.92);
    expect(shift / divider).toBeLessThan(1);
  }
});

test('more grid resistance needs a lighter leak for the same harm', async () => {
  const [low, high] = [
    await run('leak-and-resistance', { gridResistor: 220e3 }),
    await run('leak-and-resistance', { gridResistor: 4.7e6 }),
  ];
  const first = (answer: LessonAnswer): number => answer.picture.lines[0]!.points[8]![1];
  expect(first(high)).toBeGreaterThan(5 * first(low));
});

test('runaway: fixed bias passes the rating at a lower grid resistor than cathode bias (the handbooks’ two limits)', async () => {
  const { picture } = await run('bias-and-runaway', { reverse: 2e-6 });
  const edge = (title: string): number =>
    picture.lines
      .find((line) => line.title === title)!
      .points.find(([, watts]) => watts > picture.limit!.y)?.[0] ?? Infinity;
  expect(edge('fixed bias')).toBeLessThan(edge('cathode bias'));
});

test('contact bias: 100 nA moves the grid by far less than Ohm’s law, and the curve stays below it', async () => {
  const answer = await run('contact-bias');
  const stage = lineOf(answer, /the stage/);
  for (const [amps, moved] of stage) expect(moved).toBeLessThan(1.02 * amps * 10e6);
  const near = stage.find(([amps]) => amps > 90e-9)!;
  expect(near[1]).toBeLessThan(0.3 * near[0] * 10e6);
});

test('a shared line: a heavier leak turns the sound stage up more, and a smaller line resistance less', async () => {
  const [low, high] = [
    await run('shared-line', { agcLineResistance: 470e3 }),
    await run('shared-line', { agcLineResistance: 3.3e6 }),
  ];
  // heavier leaks than these lift the line until the grids draw current
  const points = (answer: LessonAnswer) =>
    answer.picture.lines[0]!.points.filter(([leak]) => leak > 150e6);
  for (const [i, [, y]] of points(high).entries()) {
    if (i > 0) expect(y).toBeLessThanOrEqual(points(high)[i - 1]![1] + 1e-6);
    expect(points(low)[i]![1]).toBeLessThan(y);
  }
});

test('a tired cathode loses power before it loses idle current', async () => {
  const answer = await run('emission-and-peaks');
  const [idle, power] = [lineOf(answer, /idle/), lineOf(answer, /power/)];
  const at = (points: typeof idle, share: number): number =>
    points.find(([x]) => Math.abs(x - share) < 0.01)![1];
  expect(at(power, 1)).toBeLessThan(at(idle, 1));
  expect(at(power, 0.45)).toBeLessThan(at(power, 1));
});
