import type { Chart } from 'chart.js';
import type { PictureArea } from '../../src/report/picture.ts';
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
