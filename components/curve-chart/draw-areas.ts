import type { Chart } from 'chart.js';
import type { Picture, PictureArea, PictureWords } from '../../src/report/picture.ts';
import type { Palette } from './chart-config.ts';

/** Space between the hatching's lines, px. */
const HATCH = 7;

/** Parts of a plane, under the lines: a wash for what is refused, slanting lines for what is in doubt, so that hue tells neither. */
export function drawAreas(chart: Chart, areas: readonly PictureArea[], palette: Palette): void {
  const { ctx, chartArea, scales } = chart;
  const [sx, sy] = [scales['x'], scales['y']];
  if (sx === undefined || sy === undefined) return;
  const { left, right, top, bottom, width, height } = chartArea;
  for (const { look, polygons } of areas) {
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, top, width, height);
    ctx.clip();
    ctx.beginPath();
    for (const polygon of polygons) {
      polygon.forEach(([x, y], i) => {
        const at = [sx.getPixelForValue(x), sy.getPixelForValue(y)] as const;
        if (i === 0) ctx.moveTo(...at);
        else ctx.lineTo(...at);
      });
      ctx.closePath();
    }
    if (look === 'refused') {
      ctx.fillStyle = palette.wash;
      ctx.fill();
    } else {
      ctx.clip();
      ctx.beginPath();
      for (let x = left - height; x < right; x += HATCH) {
        ctx.moveTo(x, bottom);
        ctx.lineTo(x + height, top);
      }
      ctx.strokeStyle = palette.rule;
      ctx.lineWidth = 1.2;
      ctx.stroke();
    }
    ctx.restore();
  }
}

export const wordsFont = (strong: boolean, palette: Palette): string =>
  strong ? `650 12px ${palette.sans}` : `italic 12.5px ${palette.serif}`;

/** Height of a line of words, px. */
const LINE = 15;

/** Words where they are written, px: within the plane, and without those that would lie on others; strong ones always are. */
export function wordsWithRoom(
  chart: Chart,
  { words = [] }: Picture,
  palette: Palette,
): readonly PictureWords[] {
  const { ctx, chartArea, scales } = chart;
  const [sx, sy] = [scales['x'], scales['y']];
  if (sx === undefined || sy === undefined) return [];
  const taken: { x: number; y: number; half: number }[] = [];
  return words.flatMap((word) => {
    ctx.font = wordsFont(word.strong, palette);
    const half = ctx.measureText(word.text).width / 2;
    const x = Math.min(
      Math.max(sx.getPixelForValue(word.x), chartArea.left + half + 4),
      chartArea.right - half - 4,
    );
    const y = sy.getPixelForValue(word.y) + 4;
    const meets = taken.some(
      (one) => Math.abs(one.y - y) < LINE && Math.abs(one.x - x) < one.half + half + 4,
    );
    if (meets && !word.strong) return [];
    taken.push({ x, y, half });
    return [{ ...word, x, y }];
  });
}
