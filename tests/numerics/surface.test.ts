import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { chebyshevPoints, chebyshevSurface } from '../../src/numerics/chebyshev.ts';
import { areasBelow, zeroLines } from '../../src/numerics/contour.ts';
import { spansAbove } from '../../src/numerics/spans.ts';

const surfaceOf = (
  f: (x: number, y: number) => number,
  x: readonly [number, number],
  y: readonly [number, number],
  nx: number,
  ny: number,
) =>
  chebyshevSurface(
    chebyshevPoints(...x, nx).map((px) => chebyshevPoints(...y, ny).map((py) => f(px, py))),
    x,
    y,
  );

describe('a surface through Chebyshev points', () => {
  test('is the polynomial itself where there are points enough', () => {
    const f = (x: number, y: number): number => 3 - 2 * x + x ** 3 * y - 0.5 * y ** 4;
    const surface = surfaceOf(f, [-2, 5], [1, 3], 5, 6);
    fc.assert(
      fc.property(
        fc.double({ min: -2, max: 5, noNaN: true }),
        fc.double({ min: 1, max: 3, noNaN: true }),
        (x, y) => {
          expect(surface.at(x, y)).toBeCloseTo(f(x, y), 8);
        },
      ),
    );
  });

  test('reaches the values at its points, which rise', () => {
    const points = chebyshevPoints(0, 1, 4);
    expect(points).toEqual([...points].sort((a, b) => a - b));
    // the points of the first kind for four: cos(π/8) and cos(3π/8) (Abramowitz and Stegun 22.16)
    expect(points[3]).toBeCloseTo((1 + Math.cos(Math.PI / 8)) / 2, 12);
    const surface = surfaceOf((x, y) => Math.sin(9 * x) / (y + 2), [0, 1], [0, 1], 4, 4);
    expect(surface.at(points[1]!, points[2]!)).toBeCloseTo(
      Math.sin(9 * points[1]!) / (points[2]! + 2),
      12,
    );
  });

  test('errs on a smooth function by less than five times its own doubt, and its doubt is large across a step', () => {
    const f = (x: number, y: number): number => Math.exp(-2 * x) * Math.atan(3 * y) + x * y;
    for (const n of [6, 8, 10, 12]) {
      const surface = surfaceOf(f, [-1, 1], [-1, 1], n, n);
      let worst = 0;
      for (let x = -1; x <= 1; x += 0.05)
        for (let y = -1; y <= 1; y += 0.05)
          worst = Math.max(worst, Math.abs(surface.at(x, y) - f(x, y)));
      expect(worst).toBeLessThan(5 * surface.doubt);
    }
    expect(surfaceOf((x) => Math.sign(x - 0.1), [-1, 1], [-1, 1], 12, 12).doubt).toBeGreaterThan(
      0.1,
    );
  });

  test('refuses values that are not there', () => {
    expect(() => chebyshevSurface([[1, Number.NaN]], [0, 1], [0, 1])).toThrow(RangeError);
    expect(() => chebyshevPoints(0, 1, 0)).toThrow(RangeError);
  });
});

describe('zero lines', () => {
  const axis = Array.from({ length: 41 }, (_, i) => -2 + 0.1 * i);
  const grid = (f: (x: number, y: number) => number): number[][] =>
    axis.map((x) => axis.map((y) => f(x, y)));

  test('a circle is one closed line at its radius', () => {
    const lines = zeroLines(
      axis,
      axis,
      grid((x, y) => 1.7 - x * x - y * y),
    );
    expect(lines).toHaveLength(1);
    const [line] = lines;
    expect(line![0]).toEqual(line!.at(-1));
    for (const [x, y] of line!) expect(Math.hypot(x, y)).toBeCloseTo(Math.sqrt(1.7), 2);
  });

  test('a straight line goes from edge to edge in one piece, exactly', () => {
    const lines = zeroLines(
      axis,
      axis,
      grid((x, y) => x + 2 * y - 0.13),
    );
    expect(lines).toHaveLength(1);
    for (const [x, y] of lines[0]!) expect(x + 2 * y).toBeCloseTo(0.13, 10);
  });

  test('no line where nothing passes through 0, none through a cell without a value', () => {
    expect(
      zeroLines(
        axis,
        axis,
        grid(() => 1),
      ),
    ).toEqual([]);
    const gap = zeroLines(
      axis,
      axis,
      grid((x, y) => (Math.abs(x) < 0.45 ? Number.NaN : y - 0.01)),
    );
    expect(gap).toHaveLength(2);
  });
});

describe('areas below 0', () => {
  test('of a plane: what lies under it, exactly; with the part above they are the whole', () => {
    const axis = [0, 1, 2, 3, 4];
    const values = axis.map((x) => axis.map((y) => x + y / 2 - 2.3));
    const size = (areas: ReturnType<typeof areasBelow>): number =>
      areas.reduce((sum, area) => {
        const twice = area.reduce((all, [x, y], n) => {
          const [x2, y2] = area[(n + 1) % area.length]!;
          return all + x * y2 - x2 * y;
        }, 0);
        return sum + Math.abs(twice) / 2;
      }, 0);
    // the trapezium between y = 0 (2.3 wide) and y = 4 (0.3 wide)
    expect(size(areasBelow(axis, axis, values))).toBeCloseTo((4 * (2.3 + 0.3)) / 2, 9);
    const above = values.map((row) => row.map((value) => -value));
    expect(size(areasBelow(axis, axis, values)) + size(areasBelow(axis, axis, above))).toBeCloseTo(
      16,
      9,
    );
  });
  test('none in a cell without a value', () => {
    expect(
      areasBelow(
        [0, 1],
        [0, 1],
        [
          [-1, -1],
          [-1, Number.NaN],
        ],
      ),
    ).toEqual([]);
  });
});

test('spans above 0 begin and end where a straight line between the points passes', () => {
  expect(spansAbove([0, 1, 2, 3, 4], [-1, 1, 1, -3, -1])).toEqual([[0.5, 2.25]]);
  expect(spansAbove([0, 1, 2], [1, -1, 1])).toEqual([
    [0, 0.5],
    [1.5, 2],
  ]);
  expect(spansAbove([0, 1], [-1, -1])).toEqual([]);
});
