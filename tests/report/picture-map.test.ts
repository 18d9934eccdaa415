import { describe, expect, test } from 'vitest';
import { chartConfig } from '../../components/curve-chart/chart-config.ts';
import { boundaryRows, mapPicture } from '../../src/report/picture-map.ts';
import { tableOf } from '../../src/report/picture.ts';
import { MAP } from './map-fixture.ts';
import { PALETTE } from './palette.ts';

describe('the map as a picture', () => {
  const picture = mapPicture(MAP);

  test('boundary, ends of the interval and levels are told apart by their strokes; figures in megohms', () => {
    const { datasets } = chartConfig(picture, PALETTE).data;
    const stroke = (title: string) => {
      const found = datasets.find(({ label }) => label === title);
      if (found === undefined || !('borderDash' in found)) throw new Error(title);
      return JSON.stringify([found.borderDash, found.borderWidth]);
    };
    const strokes = ['a limit is met', 'end of usable', 'least margin +50\u00a0%'].map(stroke);
    expect(new Set(strokes).size).toBe(3);
    expect(stroke('end of unsuitable')).toBe(strokes[1]);
    expect(Math.min(...picture.lines[0]!.points.map(([, y]) => y))).toBeCloseTo(1, 6);
  });

  test('the tube stands there with both its intervals, a new one beside it, each in the table', () => {
    const [fresh, own] = picture.marks;
    expect(fresh).toMatchObject({ role: 'new', x: 100 });
    expect(own).toMatchObject({ role: 'this', x: 60, xLow: 54, xHigh: 66, low: 15, high: 25 });
    expect(tableOf(picture).rows[1]).toEqual(['tin 1', '60', '20', '54 to 66; 15 to 25']);
  });

  test('a leakage above the scale reaches to the top of the map', () => {
    const { marks } = mapPicture({
      ...MAP,
      point: { ...MAP.point!, leakage: { value: 9e12, low: 1e9, high: null } },
    });
    const top = MAP.leakage.values.at(-1)! * 1e-6;
    expect(marks[1]).toMatchObject({ y: top, low: 1000, high: top });
  });

  test('each word stands among cells of its verdict, and the alternative text has the finding', () => {
    const words = picture.words!;
    expect(words.map(({ text }) => text.split(':')[0])).toEqual([
      'usable',
      'marginal',
      'unsuitable',
      'end of the scale',
    ]);
    for (const { text, x, y } of words.slice(0, 3)) {
      const i = MAP.emission.values.indexOf(x);
      const k = MAP.leakage.values.findIndex((ohms) => Math.abs(ohms * 1e-6 - y) < 1e-9);
      expect(MAP.cells[i]![k]!.verdict).toBe(text.split(':')[0]);
    }
    for (const sentence of MAP.finding.sentences) expect(picture.alt).toContain(sentence);
  });

  test('rows that are unsuitable whatever the emission are left out, and it says so', () => {
    const refused = { ...MAP.cells[0]![0]!, verdict: 'unsuitable' } as const;
    const all = MAP.cells.map((column) => column.map(() => refused));
    const none = mapPicture({ ...MAP, cells: all, point: null });
    expect(none.y.low).toBeCloseTo(MAP.leakage.values[3]! * 1e-6, 6);
    expect(none.caption).toMatch(/Below 16\sMΩ it is unsuitable at any emission\./);
    expect(picture.y.low).toBeCloseTo(1, 6);
    expect(picture.caption).not.toContain('Below');
  });

  test('below usable it is hatched, below marginal refused: the areas are those of the plane', () => {
    const share = (look: string): number =>
      picture
        .areas!.find((area) => area.look === look)!
        .polygons.reduce((sum, polygon) => {
          const flat = polygon.map(([x, y]) => [x, Math.log(y)] as const);
          return (
            sum +
            Math.abs(
              flat.reduce((all, [x, y], n) => {
                const [x2, y2] = flat[(n + 1) % flat.length]!;
                return all + x * y2 - x2 * y;
              }, 0) / 2,
            )
          );
        }, 0) /
      (100 * Math.log(4 ** (8 / 1.5)));
    // under the lines i + k = 9.6 and 6.4 of an 8 × 8 square; the margin's squeezing bends neither
    expect(share('hatched')).toBeCloseTo(1 - 6.4 ** 2 / 2 / 64, 2);
    expect(share('refused')).toBeCloseTo(6.4 ** 2 / 2 / 64, 2);
  });

  test('the boundary by emission: the highest first, what lies above the scale said so', () => {
    const rows = boundaryRows(MAP, 8);
    expect(rows.map(({ emission }) => emission)).toEqual(['110\u00a0%', '10\u00a0%']);
    expect(rows[0]!.usable).toMatch(/^from 4\.4\sMΩ$/);
    expect(rows[0]!.unsuitable).toBe('none');
    expect(rows[1]!.usable).toBe('none');
    expect(rows[1]!.unsuitable).toMatch(/^up to 370\sMΩ$/);
  });
});
