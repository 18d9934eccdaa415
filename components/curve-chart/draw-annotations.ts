import type { Chart, ChartArea, Scale } from 'chart.js';
import type { Picture, PictureLine, PictureMark } from '../../src/report/picture.ts';
import type { Palette } from './chart-config.ts';
import { wordsFont, wordsWithRoom } from './draw-areas.ts';
import { boxOf, placeLabels, type Box, type Curve, type Label, type Spot } from './place-labels.ts';

/** Over the curves: limit, drop line, whiskers, and words directly at what they name. */

/** Words from here on stand too far from their mark to be its own without a line. */
const NEAR_px = 26;
/** Height of a line of words. */
const LINE_px = 13;
/** Of a mark, for words. */
const KEEP_OFF_px = 7;

interface Words extends Label {
  readonly text: string;
  readonly colour: string;
  readonly font: string;
  /** What a line leads to where the words stand far from it. */
  readonly from?: Spot;
}

interface Drawing {
  readonly ctx: CanvasRenderingContext2D;
  readonly area: ChartArea;
  readonly sx: Scale;
  readonly sy: Scale;
  readonly palette: Palette;
  readonly plain: string;
  readonly bold: string;
}

export function drawAnnotations(chart: Chart, picture: Picture, palette: Palette): void {
  const { ctx, chartArea: area, scales } = chart;
  const drawing: Drawing = {
    ctx,
    area,
    sx: scales['x']!,
    sy: scales['y']!,
    palette,
    plain: `12px ${palette.sans}`,
    bold: `650 12px ${palette.sans}`,
  };
  ctx.save();
  drawRules(drawing, picture);
  for (const mark of picture.marks) drawWhiskers(drawing, mark);
  const fixed = wordsWithRoom(chart, picture, palette).map(({ text, strong, x, y }): Words =>
    words(drawing, text, palette.ink, wordsFont(strong, palette), (width) => [
      { x: x - width / 2, y },
    ]),
  );
  const title = words(
    drawing,
    picture.y.title,
    palette.ink2,
    `italic 12.5px ${palette.serif}`,
    () => [{ x: 0, y: 12 }],
  );
  const movable = [
    ...ruleWords(drawing, picture),
    ...picture.marks.flatMap((mark) => markWords(drawing, mark)),
    ...picture.lines.flatMap((line) => lineWords(drawing, line)),
  ];
  const standing = [title, ...fixed];
  const spots = placeLabels(movable, {
    bounds: { left: 0, top: 2, right: chart.width, bottom: area.bottom + 2 },
    taken: [
      ...standing.map(({ spots: [spot], width }) => boxOf(spot!, width)),
      ...picture.marks.map((mark) => around(place(drawing, mark))),
    ],
    curves: [...picture.lines.map((line) => curve(drawing, line)), ...rules(drawing, picture)],
  });
  for (const one of standing) write(drawing, one, one.spots[0]!);
  movable.forEach((one, i) => {
    const spot = spots[i];
    if (spot !== undefined) write(drawing, one, spot);
  });
  ctx.restore();
}

function words(
  { ctx }: Drawing,
  text: string,
  colour: string,
  font: string,
  spots: (width: number) => readonly Spot[],
  more: Partial<Pick<Words, 'from' | 'optional'>> = {},
): Words {
  ctx.font = font;
  const { width } = ctx.measureText(text);
  return { text, colour, font, width, spots: spots(width), ...more };
}

/** On a rim of paper, so that a curve behind them does not go through them. */
function write(drawing: Drawing, { text, colour, font, from, width }: Words, spot: Spot): void {
  const { ctx, palette } = drawing;
  if (from !== undefined) {
    const to = {
      x: clamp(from.x, spot.x, spot.x + width),
      y: spot.y < from.y ? spot.y + 4 : spot.y - LINE_px + 2,
    };
    if (Math.hypot(to.x - from.x, to.y - from.y) > NEAR_px)
      stroke(drawing, 1, palette.ink3, [], [from, to]);
  }
  ctx.font = font;
  ctx.textAlign = 'left';
  ctx.lineWidth = 3;
  ctx.lineJoin = 'round';
  ctx.strokeStyle = palette.paper;
  ctx.strokeText(text, spot.x, spot.y);
  ctx.fillStyle = colour;
  ctx.fillText(text, spot.x, spot.y);
}

function stroke(
  { ctx }: Drawing,
  width: number,
  colour: string,
  dash: number[],
  ...paths: readonly (readonly Spot[])[]
): void {
  ctx.beginPath();
  ctx.setLineDash(dash);
  ctx.lineWidth = width;
  ctx.strokeStyle = colour;
  for (const path of paths)
    path.forEach(({ x, y }, i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)));
  ctx.stroke();
  ctx.setLineDash([]);
}

// ---------------------------------------------------------------- limit and drop line

/** Where the limit lies, if it is in sight. */
function limitAt({ sy, area }: Drawing, { limit }: Picture): number | undefined {
  if (limit === undefined) return undefined;
  const y = sy.getPixelForValue(limit.y);
  return y >= area.top - 1 && y <= area.bottom + 1 ? y : undefined;
}

function rules(drawing: Drawing, picture: Picture): Curve[] {
  const { area, sx } = drawing;
  const y = limitAt(drawing, picture);
  const x = picture.at === undefined ? undefined : sx.getPixelForValue(picture.at.x);
  return [
    ...(y === undefined
      ? []
      : [
          [
            [area.left, y],
            [area.right, y],
          ] as const,
        ]),
    ...(x === undefined
      ? []
      : [
          [
            [x, area.bottom],
            [x, area.top],
          ] as const,
        ]),
  ];
}

function drawRules(drawing: Drawing, picture: Picture): void {
  const { area, sx, palette } = drawing;
  const y = limitAt(drawing, picture);
  if (y !== undefined)
    stroke(
      drawing,
      1.5,
      palette.ink,
      [],
      [
        { x: area.left, y },
        { x: area.right, y },
      ],
    );
  if (picture.at === undefined) return;
  const x = sx.getPixelForValue(picture.at.x);
  stroke(
    drawing,
    1,
    palette.ink3,
    [2, 3],
    [
      { x, y: area.bottom },
      { x, y: area.top },
    ],
  );
}

function ruleWords(drawing: Drawing, picture: Picture): Words[] {
  const { area, sx, palette, plain } = drawing;
  const { limit, at } = picture;
  const y = limitAt(drawing, picture);
  const found: Words[] = [];
  if (limit !== undefined && y !== undefined) {
    const lines = limit.refused === 'above' ? [y - 6, y + 14] : [y + 14, y - 6];
    found.push(
      words(drawing, limit.label, palette.ink, plain, (width) =>
        lines.flatMap((line) => [
          { x: area.right - 4 - width, y: line },
          { x: area.left + 4, y: line },
        ]),
      ),
    );
  }
  if (at !== undefined) {
    const x = sx.getPixelForValue(at.x);
    found.push(
      words(drawing, at.label, palette.ink2, plain, (width) => {
        const [left, right] = [x - 6 - width, x + 6];
        const sides = x - area.left > area.width / 2 ? [left, right] : [right, left];
        return [12, 12 + LINE_px, area.height / 2].flatMap((down) =>
          sides.map((side) => ({ x: side, y: area.top + down })),
        );
      }),
    );
  }
  return found;
}

// ---------------------------------------------------------------- marks

const place = ({ sx, sy }: Drawing, { x, y }: PictureMark): Spot => ({
  x: sx.getPixelForValue(x),
  y: sy.getPixelForValue(y),
});

const around = ({ x, y }: Spot): Box => ({
  left: x - KEEP_OFF_px,
  top: y - KEEP_OFF_px,
  right: x + KEEP_OFF_px,
  bottom: y + KEEP_OFF_px,
});

function drawWhiskers(drawing: Drawing, mark: PictureMark): void {
  const { area, sx, sy, palette } = drawing;
  const { x, y } = place(drawing, mark);
  if (mark.low !== undefined && mark.high !== undefined) {
    const [a, b] = [mark.low, mark.high].map((one) =>
      clamp(sy.getPixelForValue(one), area.top, area.bottom),
    ) as [number, number];
    const end = (at: number): Spot[] => [
      { x: x - 4, y: at },
      { x: x + 4, y: at },
    ];
    const whisker = [
      { x, y: a },
      { x, y: b },
    ];
    stroke(drawing, 1.6, palette.ink, [], whisker, end(a), end(b));
  }
  if (mark.xLow !== undefined && mark.xHigh !== undefined) {
    const [a, b] = [mark.xLow, mark.xHigh].map((one) =>
      clamp(sx.getPixelForValue(one), area.left, area.right),
    ) as [number, number];
    const end = (at: number): Spot[] => [
      { x: at, y: y - 4 },
      { x: at, y: y + 4 },
    ];
    const whisker = [
      { x: a, y },
      { x: b, y },
    ];
    stroke(drawing, 1.6, palette.ink, [], whisker, end(a), end(b));
  }
}

/** Beside the mark on the side with room, then above and below, then a line or two further off. */
function markWords(drawing: Drawing, mark: PictureMark): Words[] {
  if (mark.label === undefined) return [];
  const { area, palette, plain, bold } = drawing;
  const { x, y } = place(drawing, mark);
  const isNew = mark.role === 'new';
  const heights = isNew ? [18, -10, 34, -26, 50, -42] : [-10, 18, -26, 34, -42, 50];
  return [
    words(
      drawing,
      mark.label,
      isNew ? palette.ink3 : palette.ink,
      isNew ? plain : bold,
      (width) => {
        const [left, right] = [x - 8 - width, x + 9];
        const sides = x - area.left > area.width / 2 ? [left, right] : [right, left];
        return heights.flatMap((up) =>
          [...sides, x - width / 2].map((side) => ({ x: side, y: y + up })),
        );
      },
      { from: { x, y } },
    ),
  ];
}

// ---------------------------------------------------------------- lines

/** Where else along a curve its name may stand, when its end is taken. */
const ALONG = [0.9, 0.8, 0.65, 0.5, 0.35, 0.2, 0.1];

const curve = ({ sx, sy }: Drawing, { points }: PictureLine): Curve =>
  points.map(([x, y]) => [sx.getPixelForValue(x), sy.getPixelForValue(y)] as const);

/** A new tube's name stands at the start of its curve, every other's at its end; both move along it where that is taken. */
function lineWords(drawing: Drawing, line: PictureLine): Words[] {
  const { area, palette, plain, bold } = drawing;
  const { label, role } = line;
  const seen = curve(drawing, line).filter(([x, y]) => inside(x, y, area));
  const [first, last] = [seen[0], seen.at(-1)];
  if (label === undefined || first === undefined || last === undefined) return [];
  const quiet = role === 'family' || role === 'level' || role === 'new';
  return [
    words(
      drawing,
      label,
      quiet ? palette.ink3 : palette.ink,
      role === 'this' ? bold : plain,
      (width) => {
        const along = ALONG.flatMap((share) => {
          const [x, y] = seen[Math.round(share * (seen.length - 1))]!;
          return [
            { x: x - width / 2, y: y - 8 },
            { x: x - width / 2, y: y + 17 },
            { x: x + 7, y: y + 12 },
            { x: x - width - 7, y: y - 4 },
          ];
        });
        const [x, y] = last;
        const end = [4, -6, 14].map((up) => ({ x: x + 5, y: y + up }));
        const before = [-6, 15].map((up) => ({ x: x - 4 - width, y: y + up }));
        if (role === 'new')
          return [
            ...[-6, 15].map((up) => ({ x: first[0] + 2, y: first[1] + up })),
            ...end,
            ...along.toReversed(),
          ];
        if (role === 'level') return end.slice(0, 1);
        if (role === 'family') return end;
        return role === 'this' ? [...end, ...before, ...along] : [...before, ...end, ...along];
      },
      // curves that run close leave room for the figure of one
      { optional: role === 'level' || role === 'family' },
    ),
  ];
}

const clamp = (x: number, low: number, high: number): number => Math.min(high, Math.max(low, x));

const inside = (x: number, y: number, area: ChartArea): boolean =>
  x >= area.left - 1 && x <= area.right + 1 && y >= area.top - 1 && y <= area.bottom + 1;
