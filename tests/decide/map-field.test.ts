import { describe, expect, test } from 'vitest';
import { fillField, isInside } from '../../src/decide/map-field.ts';
import type { Margins } from '../../src/decide/map-guess.ts';

const axis = Array.from({ length: 41 }, (_, i) => i / 40);

/** Fills the field of known functions and compares every cell with the function itself. */
async function wrongCells(
  of: (x: number, y: number) => Margins,
): Promise<{ wrong: number; computed: number; inside: number }> {
  let computed = 0;
  const field = await fillField(axis, axis, of(0, 0).length, {
    nodes: 8,
    compute: (points) => {
      computed += points.length;
      return Promise.resolve(points.map(([x, y]) => of(x, y)));
    },
  });
  expect(field.computed).toBe(computed);
  const all = axis.flatMap((x, i) =>
    axis.map((y, k) => [isInside(of(x, y)), isInside(field.margins[i]![k]!)] as const),
  );
  return {
    wrong: all.filter(([truth, found]) => truth !== found).length,
    computed,
    inside: all.filter(([truth]) => truth).length,
  };
}

describe('the field behind a map', () => {
  test('smooth limits: every cell is right, and only the boundary is computed again', async () => {
    const { wrong, computed, inside } = await wrongCells((x, y) => [
      x - 0.3 - 0.2 * Math.sin(4 * y),
      1 - 0.05 * Math.exp(5 * (1 - y)),
    ]);
    expect(inside).toBeGreaterThan(200);
    expect(wrong).toBe(0);
    expect(computed).toBeLessThan(64 + 100);
  });

  test('across a branch nothing is interpolated: a corner without numbers is found to the cell', async () => {
    const { wrong, computed } = await wrongCells((x, y) => [
      x + y < 0.52 ? undefined : 0.4 + x,
      y - 0.1,
    ]);
    expect(wrong).toBe(0);
    expect(computed).toBeLessThan(64 + 450);
  });

  test('a jump between numbers, which a polynomial cannot follow, is found to the cell', async () => {
    const { wrong } = await wrongCells((x, y) => [x < 0.47 + 0.2 * y ? -4 : 2]);
    expect(wrong).toBe(0);
  });

  test('a cliff, where what a polynomial is off at one place tells little of the next: its border, and little more', async () => {
    const { wrong, computed } = await wrongCells((x, y) => [
      y > 0.25 + 0.5 * x * x ? 0.4 + y : -3 * Math.tanh(8 * (0.3 + 0.5 * x * x - y)),
      0.5 - x,
    ]);
    expect(wrong).toBe(0);
    expect(computed).toBeLessThan(64 + 160);
  });

  test('all inside or all outside needs no more than the nodes', async () => {
    expect(await wrongCells(() => [1])).toMatchObject({ wrong: 0, computed: 64 });
    expect(await wrongCells(() => [undefined])).toMatchObject({ wrong: 0, computed: 64 });
  });
});
