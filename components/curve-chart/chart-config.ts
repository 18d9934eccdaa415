import type { ChartConfiguration, ChartDataset, Plugin, Scale } from 'chart.js';
import type { Picture, PictureLine, Role } from '../../src/report/picture.ts';
import { PREFIX_POWER, type Prefix } from '../../src/units/symbols.ts';
import { drawAnnotations } from './draw-annotations.ts';
import { drawAreas } from './draw-areas.ts';

/** Colours and faces of the page, read from the tokens by the wrapper: a canvas cannot use CSS variables. */
export interface Palette {
  readonly ink: string;
  readonly ink2: string;
  readonly ink3: string;
  readonly rule: string;
  readonly wash: string;
  readonly paper: string;
  readonly sans: string;
  readonly serif: string;
  /** Size of figures on the axes, px. */
  readonly tiny_px: number;
}

type Point = { x: number; y: number };
type LineData = ChartDataset<'line' | 'scatter', Point[]>;

const WIDTH: Readonly<Record<Role, number>> = {
  this: 2,
  new: 1.4,
  family: 1,
  load: 1,
  projected: 2,
  boundary: 2.4,
  edge: 1.4,
  level: 1,
};
const DASH: Readonly<Record<Role, number[]>> = {
  this: [],
  new: [5, 3],
  family: [],
  load: [],
  projected: [2, 4],
  boundary: [],
  edge: [7, 4],
  level: [1, 3],
};
/** Lines over a plane turn back: they are drawn straight from point to point. */
const OVER_A_PLANE: readonly Role[] = ['boundary', 'edge', 'level'];
export const MARK_RADIUS = { this: 4, new: 6, reading: 3 } as const;

/** A picture as a Chart.js configuration. Pure: tested without a canvas. */
export function chartConfig(
  picture: Picture,
  palette: Palette,
): ChartConfiguration<'line' | 'scatter', Point[]> {
  const colour = (role: Role): string =>
    role === 'new' || role === 'family' || role === 'level' ? palette.ink3 : palette.ink;
  const band = (line: PictureLine, end: 0 | 1): LineData => ({
    type: 'line',
    label: '',
    data: line.points.map(([x], i) => ({ x, y: line.band![i]![end] })),
    borderWidth: 0,
    pointRadius: 0,
    pointHitRadius: 0,
    fill: end === 1 ? '-1' : false,
    backgroundColor: withAlpha(colour(line.role), 0.16),
  });
  const bands = picture.lines
    .filter((line) => line.band !== undefined)
    .flatMap((line) => [band(line, 0), band(line, 1)]);
  const lines = picture.lines.map((line): LineData => ({
    type: 'line',
    label: line.title,
    data: line.points.map(([x, y]) => ({ x, y })),
    borderColor: colour(line.role),
    borderWidth: WIDTH[line.role],
    borderDash: DASH[line.role],
    pointRadius: 0,
    pointHitRadius: 6,
    cubicInterpolationMode: OVER_A_PLANE.includes(line.role) ? 'default' : 'monotone',
    fill: false,
  }));
  const marks = picture.marks.map((mark): LineData => ({
    type: 'scatter',
    label: mark.title,
    data: [{ x: mark.x, y: mark.y }],
    pointRadius: MARK_RADIUS[mark.role],
    pointBackgroundColor: mark.role === 'new' ? 'transparent' : palette.ink,
    pointBorderColor: mark.role === 'new' ? palette.ink3 : palette.ink,
    pointBorderWidth: 1.5,
  }));
  return {
    type: 'line',
    data: { datasets: [...marks, ...lines, ...bands] },
    options: {
      animation: false,
      responsive: true,
      maintainAspectRatio: false,
      locale: 'en',
      layout: { padding: { top: 22, right: 34, left: 0, bottom: 2 } },
      interaction: { mode: 'nearest', intersect: false },
      plugins: {
        legend: { display: false },
        tooltip: {
          enabled: true,
          displayColors: false,
          animation: false,
          backgroundColor: palette.paper,
          borderColor: palette.ink3,
          borderWidth: 1,
          cornerRadius: 0,
          titleColor: palette.ink,
          bodyColor: palette.ink,
          titleFont: { family: palette.sans, size: 12 },
          bodyFont: { family: palette.sans, size: 12 },
          filter: (item) => item.dataset.label !== '',
          callbacks: {
            title: () => '',
            label: (item) =>
              `${item.dataset.label}: ${short(item.parsed.x)}, ${short(item.parsed.y)}`,
          },
        },
      },
      scales: { x: axis(picture, 'x', palette), y: axis(picture, 'y', palette) },
    },
    plugins: [annotations(picture, palette)],
  };
}

function axis(picture: Picture, which: 'x' | 'y', palette: Palette) {
  const { scale, low, high, title } = picture[which];
  return {
    type: scale === 'log' ? ('logarithmic' as const) : ('linear' as const),
    ...(low === undefined ? {} : { min: low }),
    ...(high === undefined ? {} : { max: high }),
    afterBuildTicks: (axis: Scale) => {
      if (scale === 'log') axis.ticks = axis.ticks.filter(({ value }) => hasRoom(value, axis));
    },
    border: { color: palette.ink3, display: which === 'x' },
    grid: {
      color: palette.rule,
      display: which === 'y',
      drawTicks: which === 'x',
      tickColor: palette.ink3,
      tickLength: 4,
    },
    title:
      which === 'x'
        ? {
            display: true,
            align: 'end' as const,
            text: title,
            color: palette.ink2,
            font: { family: palette.serif, size: 12.5, style: 'italic' as const },
            padding: 0,
          }
        : { display: false },
    ticks: {
      // a curve's own end is no figure to read off
      ...(scale === 'log' ? { autoSkip: false } : { includeBounds: false }),
      color: palette.ink3,
      font: { family: palette.sans, size: palette.tiny_px },
      maxTicksLimit: which === 'y' ? 6 : 7,
      maxRotation: 0,
      autoSkipPadding: 10,
      callback: (value: number | string) => tick(Number(value), scale),
    },
  };
}

/** Of a decade, px, from which 1, 2 and 5 of it have room for their figures; below it has only its first. */
const DECADE_px = { across: 135, up: 45 };

function hasRoom(value: number, { chart, max, min, axis }: Scale): boolean {
  if (tick(value, 'log') === '') return false;
  const decades = Math.log10(max / min);
  const across = axis === 'x';
  const room = (across ? chart.width : chart.height) / decades;
  const power = Math.log10(value);
  const isFirst = Math.abs(power - Math.round(power)) < 1e-6;
  return isFirst || decades < 1.5 || room >= (across ? DECADE_px.across : DECADE_px.up);
}

/** 1, 2 and 5 of each decade on a logarithmic axis; prefixes for what is large or small; the true minus. */
export function tick(value: number, scale: 'linear' | 'log'): string {
  if (scale === 'log') {
    const lead = value / 10 ** Math.floor(Math.log10(value) + 1e-9);
    if (![1, 2, 5].some((one) => Math.abs(lead - one) < 1e-6)) return '';
  }
  return short(value);
}

/** From which size on a figure is written with each prefix. */
const PREFIXES: readonly (readonly [from: number, Prefix])[] = [
  [1e9, 'G'],
  [1e6, 'M'],
  [1e4, 'k'],
  [1e-2, ''],
  [1e-3, 'm'],
  [1e-6, 'µ'],
  [1e-9, 'n'],
  [0, 'p'],
];

function short(value: number | null): string {
  if (value === null) return '';
  if (Math.abs(value) < 1e-13) return '0';
  // a decade of a logarithmic axis may come out a little low
  const size = Math.abs(value) * (1 + 1e-9);
  const prefix = PREFIXES.find(([from]) => size >= from)![1];
  const figure = String(Number((value / 10 ** PREFIX_POWER[prefix]).toPrecision(4)));
  return `${figure.replace('-', '\u2212')}${prefix === '' ? '' : `\u00a0${prefix}`}`;
}

function withAlpha(colour: string, alpha: number): string {
  const found = /^rgba?\(\s*(\d+)[ ,]+(\d+)[ ,]+(\d+)/.exec(colour);
  if (found !== null) return `rgba(${found[1]}, ${found[2]}, ${found[3]}, ${alpha})`;
  return /^#[0-9a-f]{6}$/i.test(colour)
    ? `${colour}${Math.round(alpha * 255)
        .toString(16)
        .padStart(2, '0')}`
    : colour;
}

/** What Chart.js has no word for: the refused side, the limit, the drop line, whiskers, direct labels, the y title. */
function annotations(picture: Picture, palette: Palette): Plugin<'line' | 'scatter'> {
  return {
    id: 'annotations',
    beforeDatasetsDraw(chart) {
      const { ctx, chartArea, scales } = chart;
      const { limit } = picture;
      drawAreas(chart, picture.areas ?? [], palette);
      if (limit === undefined) return;
      const y = clamp(scales['y']!.getPixelForValue(limit.y), chartArea.top, chartArea.bottom);
      ctx.save();
      ctx.fillStyle = palette.wash;
      if (limit.refused === 'above')
        ctx.fillRect(chartArea.left, chartArea.top, chartArea.width, y - chartArea.top);
      else ctx.fillRect(chartArea.left, y, chartArea.width, chartArea.bottom - y);
      ctx.restore();
    },
    afterDatasetsDraw(chart) {
      drawAnnotations(chart, picture, palette);
    },
  };
}

const clamp = (x: number, low: number, high: number): number => Math.min(high, Math.max(low, x));
