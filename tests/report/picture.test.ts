import { describe, expect, test } from 'vitest';
import { chartConfig, tick } from '../../components/curve-chart/chart-config.ts';
import { drawable, tableOf, type Picture } from '../../src/report/picture.ts';
import { warmUpPicture } from '../../src/report/picture-warm-up.ts';
import { EXAMPLE_PROFILE } from '../../src/wear/profile.ts';
import { PALETTE } from './palette.ts';

const PICTURE: Picture = {
  id: 'x',
  caption: 'A caption.',
  alt: 'In words.',
  x: { title: 'ohms', scale: 'log', low: 1 },
  y: { title: 'volts', scale: 'linear' },
  lines: [
    {
      title: 'this tube',
      role: 'this',
      points: [
        [0, 1],
        [10, 2],
        [100, Number.NaN],
        [1000, 4],
      ],
      band: [
        [0, 2],
        [1, 3],
        [2, 4],
        [3, 5],
      ],
    },
    {
      title: 'new tube',
      role: 'new',
      points: [
        [10, 0.1],
        [1000, 0.2],
      ],
    },
  ],
  marks: [{ title: 'here', role: 'this', x: 10, y: 2 }],
};

describe('a picture as data', () => {
  test('what a logarithmic axis cannot show is dropped and counted, with its band', () => {
    const { picture, dropped } = drawable(PICTURE);
    expect(dropped).toBe(2);
    expect(picture.lines[0]!.points).toEqual([
      [10, 2],
      [1000, 4],
    ]);
    expect(picture.lines[0]!.band).toEqual([
      [1, 3],
      [3, 5],
    ]);
  });

  test('the table holds every number, with a true minus', () => {
    const { head, rows } = tableOf({
      ...PICTURE,
      marks: [{ title: 'here', role: 'this', x: 10, y: -2, low: -3, high: -1 }],
    });
    expect(head).toEqual(['', 'ohms', 'volts', '90 %']);
    expect(rows[0]).toEqual(['here', '10', '−2', '−3 to −1']);
    expect(rows).toHaveLength(7);
  });
});

describe('a picture as a chart configuration, without a canvas', () => {
  test('a new tube is dashed and grey, this one solid and ink; a band is two edges that fill between', () => {
    const { data } = chartConfig(drawable(PICTURE).picture, PALETTE);
    const named = (label: string) => data.datasets.find((one) => one.label === label)!;
    expect(named('this tube')).toMatchObject({
      borderColor: '#111111',
      borderDash: [],
      borderWidth: 2,
    });
    expect(named('new tube')).toMatchObject({ borderColor: '#333333', borderDash: [5, 3] });
    const edges = data.datasets.filter(({ label }) => label === '');
    expect(edges.map((edge) => ('fill' in edge ? edge.fill : undefined))).toEqual([false, '-1']);
    expect(edges[1]!.data).toEqual([
      { x: 10, y: 3 },
      { x: 1000, y: 5 },
    ]);
  });

  test('axes are as the picture says, nothing moves, no legend stands beside', () => {
    const { options } = chartConfig(PICTURE, PALETTE);
    expect(options).toMatchObject({
      animation: false,
      plugins: { legend: { display: false } },
      scales: { x: { type: 'logarithmic', min: 1 }, y: { type: 'linear' } },
    });
  });

  test('ticks: 1, 2 and 5 of a decade, short', () => {
    expect([1e6, 2e6, 3e6, 5e9, 20, 1e5].map((value) => tick(value, 'log'))).toEqual([
      '1\u00a0M',
      '2\u00a0M',
      '',
      '5\u00a0G',
      '20',
      '100\u00a0k',
    ]);
    expect([1e-9, 2e-8, 0.999999999999e-6, 5e-4, 0.01].map((value) => tick(value, 'log'))).toEqual([
      '1\u00a0n',
      '20\u00a0n',
      '1\u00a0µ',
      '500\u00a0µ',
      '0.01',
    ]);
    expect([-2.5, 0, 1e-17].map((value) => tick(value, 'linear'))).toEqual(['−2.5', '0', '0']);
  });
});

describe('the warm-up curve', () => {
  const line = {
    id: 'gridLeak',
    title: '',
    unit: 'ohm' as const,
    value: 290e6,
    low: 215e6,
    high: 385e6,
    known: 'read' as const,
  };
  test('readings as they come, then the hot value with its interval', () => {
    const picture = warmUpPicture(
      [
        { minutes: 1, megohms: 900 },
        { minutes: 8, microamps: 0.3 },
      ],
      EXAMPLE_PROFILE,
      [line],
    )!;
    expect(picture.lines.map(({ role }) => role)).toEqual(['this', 'projected']);
    // 90 V through 0.3 uA is 300 Mohm
    expect(picture.lines[0]!.points[1]).toEqual([8, expect.closeTo(300, 6)]);
    expect(picture.marks.at(-1)).toMatchObject({ role: 'this', y: 290, low: 215, high: 385 });
    expect(picture.alt).toContain('hot in the set 290\u00a0MΩ');
  });
  test('above the scale is marked and never joined into a line; without minutes there is nothing to draw', () => {
    expect(warmUpPicture([{ minutes: 10, aboveMegohms: 500 }], EXAMPLE_PROFILE, [])!.lines).toEqual(
      [],
    );
    expect(warmUpPicture([{ megohms: 900 }], EXAMPLE_PROFILE, undefined)).toBeUndefined();
  });
});
