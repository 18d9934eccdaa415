import type { Chart, ChartConfiguration, ChartDataset, Plugin, Scale } from 'chart.js';
import type { Picture, PictureLine, Role } from '../../src/report/picture.ts';
import { drawAreas, wordsFont, wordsWithRoom } from './draw-areas.ts';

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
const MARK_RADIUS = { this: 4, new: 6, reading: 3 } as const;

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
    // over a decade or so, skipping evenly through ticks of which most have no figure would leave one
    afterBuildTicks: (axis: Scale) => {
      if (scale === 'log' && axis.max / axis.min < 30)
        axis.ticks = axis.ticks.filter(({ value }) => tick(value, scale) !== '');
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
      ...(scale === 'log' ? {} : { includeBounds: false }),
      color: palette.ink3,
      font: { family: palette.sans, size: palette.tiny_px },
      maxTicksLimit: which === 'y' ? 6 : 7,
      maxRotation: 0,
      autoSkipPadding: 10,
      callback: (value: number | string) => tick(Number(value), scale),
    },
  };
}

/** 1, 2 and 5 of each decade on a logarithmic axis; kilo, mega and giga written short; the true minus. */
export function tick(value: number, scale: 'linear' | 'log'): string {
  if (scale === 'log') {
    const lead = value / 10 ** Math.floor(Math.log10(value) + 1e-9);
    if (![1, 2, 5].some((one) => Math.abs(lead - one) < 1e-6)) return '';
  }
  return short(value);
}

function short(value: number | null): string {
  if (value === null) return '';
  const size = Math.abs(value);
  const [scaled, suffix] =
    size >= 1e9
      ? [value / 1e9, '\u00a0G']
      : size >= 1e6
        ? [value / 1e6, '\u00a0M']
        : size >= 1e4
          ? [value / 1e3, '\u00a0k']
          : [value, ''];
  return `${String(Number(scaled.toPrecision(4))).replace('-', '\u2212')}${suffix}`;
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

function drawAnnotations(chart: Chart, picture: Picture, palette: Palette): void {
  const { ctx, chartArea, scales } = chart;
  const [sx, sy] = [scales['x']!, scales['y']!];
  const stroke = (width: number, colour: string, dash: number[], path: () => void): void => {
    ctx.beginPath();
    ctx.setLineDash(dash);
    ctx.lineWidth = width;
    ctx.strokeStyle = colour;
    path();
    ctx.stroke();
    ctx.setLineDash([]);
  };
  const write = (
    text: string,
    x: number,
    y: number,
    align: CanvasTextAlign,
    colour: string,
    font: string,
  ): void => {
    ctx.font = font;
    const half = align === 'center' ? ctx.measureText(text).width / 2 : ctx.measureText(text).width;
    const at =
      align === 'right'
        ? Math.max(x, half)
        : align === 'center'
          ? clamp(x, half, chart.width - half)
          : Math.min(x, chart.width - half);
    ctx.textAlign = align;
    ctx.lineWidth = 3;
    ctx.lineJoin = 'round';
    ctx.strokeStyle = palette.paper;
    ctx.strokeText(text, at, y);
    ctx.fillStyle = colour;
    ctx.fillText(text, at, y);
  };
  const plain = `12px ${palette.sans}`;
  const bold = `650 12px ${palette.sans}`;
  ctx.save();
  const { limit, at } = picture;
  if (limit !== undefined) {
    const y = sy.getPixelForValue(limit.y);
    if (y >= chartArea.top - 1 && y <= chartArea.bottom + 1) {
      stroke(1.5, palette.ink, [], () => {
        ctx.moveTo(chartArea.left, y);
        ctx.lineTo(chartArea.right, y);
      });
      write(
        limit.label,
        chartArea.right - 4,
        limit.refused === 'above' ? y - 6 : y + 14,
        'right',
        palette.ink,
        plain,
      );
    }
  }
  if (at !== undefined) {
    const x = sx.getPixelForValue(at.x);
    stroke(1, palette.ink3, [2, 3], () => {
      ctx.moveTo(x, chartArea.bottom);
      ctx.lineTo(x, chartArea.top);
    });
    write(
      at.label,
      x - 6,
      chartArea.top + 12,
      x - chartArea.left > chartArea.width / 2 ? 'right' : 'left',
      palette.ink2,
      plain,
    );
  }
  for (const { text, strong, x, y } of wordsWithRoom(chart, picture, palette))
    write(text, x, y, 'center', palette.ink, wordsFont(strong, palette));
  for (const mark of picture.marks) {
    const [x, y] = [sx.getPixelForValue(mark.x), sy.getPixelForValue(mark.y)];
    if (mark.low !== undefined && mark.high !== undefined) {
      const [a, b] = [sy.getPixelForValue(mark.low), sy.getPixelForValue(mark.high)].map((v) =>
        clamp(v, chartArea.top, chartArea.bottom),
      );
      stroke(1.6, palette.ink, [], () => {
        ctx.moveTo(x, a!);
        ctx.lineTo(x, b!);
        for (const end of [a!, b!]) {
          ctx.moveTo(x - 4, end);
          ctx.lineTo(x + 4, end);
        }
      });
    }
    if (mark.xLow !== undefined && mark.xHigh !== undefined) {
      const [a, b] = [mark.xLow, mark.xHigh].map((one) =>
        clamp(sx.getPixelForValue(one), chartArea.left, chartArea.right),
      );
      stroke(1.6, palette.ink, [], () => {
        ctx.moveTo(a!, y);
        ctx.lineTo(b!, y);
        for (const end of [a!, b!]) {
          ctx.moveTo(end, y - 4);
          ctx.lineTo(end, y + 4);
        }
      });
    }
    if (mark.label !== undefined) {
      const right = x - chartArea.left > chartArea.width / 2;
      const up = mark.role === 'new' ? 18 : -10;
      write(
        mark.label,
        right ? x - 8 : x + 9,
        y + up,
        right ? 'right' : 'left',
        mark.role === 'new' ? palette.ink3 : palette.ink,
        mark.role === 'new' ? plain : bold,
      );
    }
  }
  const figures: number[] = [];
  for (const line of picture.lines) {
    const last = line.points
      .filter(([x, y]) => inside(sx.getPixelForValue(x), sy.getPixelForValue(y), chartArea))
      .at(-1);
    if (line.label === undefined || last === undefined) continue;
    if (line.role === 'new') {
      const [x, y] =
        line.points.find(([a, b]) =>
          inside(sx.getPixelForValue(a), sy.getPixelForValue(b), chartArea),
        ) ?? last;
      write(
        line.label,
        sx.getPixelForValue(x) + 2,
        sy.getPixelForValue(y) - 6,
        'left',
        palette.ink3,
        plain,
      );
      continue;
    }
    const ownEnd = ['family', 'this', 'level'].includes(line.role);
    if (line.role === 'level') {
      // levels that run close leave room for one figure only
      const y = sy.getPixelForValue(last[1]);
      if (figures.some((other) => Math.abs(other - y) < 13)) continue;
      figures.push(y);
    }
    write(
      line.label,
      sx.getPixelForValue(last[0]) + (ownEnd ? 5 : -4),
      sy.getPixelForValue(last[1]) + (ownEnd ? 4 : -6),
      ownEnd ? 'left' : 'right',
      line.role === 'family' || line.role === 'level' ? palette.ink3 : palette.ink,
      line.role === 'this' ? bold : plain,
    );
  }
  write(picture.y.title, 0, 12, 'left', palette.ink2, `italic 12.5px ${palette.serif}`);
  ctx.restore();
}

const clamp = (x: number, low: number, high: number): number => Math.min(high, Math.max(low, x));

const inside = (
  x: number,
  y: number,
  area: { left: number; right: number; top: number; bottom: number },
): boolean =>
  x >= area.left - 1 && x <= area.right + 1 && y >= area.top - 1 && y <= area.bottom + 1;
