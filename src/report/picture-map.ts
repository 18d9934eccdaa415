import type { AcceptanceMap, MapCell, MapLine } from '../decide/map.ts';
import { areasBelow } from '../numerics/contour.ts';
import { spansAbove } from '../numerics/spans.ts';
import { formatQuantity } from '../units/format.ts';
import type { Picture, PictureArea, PictureLine, PictureMark, PictureWords } from './picture.ts';
import { lower } from '../units/title.ts';
import { squeeze } from '../verdict/margins.ts';

/** The acceptance map as a picture, and its boundary as a table by emission. */

/** Above the last row, so that what stands on it is seen. */
/** Words stand above their line, not on it. */
const ABOVE_LINE = 1.4;
const HEADROOM = 1.25;
const TITLES: Readonly<Record<MapLine['kind'], string>> = {
  limit: 'a limit is met',
  usable: 'end of usable',
  unsuitable: 'end of unsuitable',
  margin: 'least margin',
};

export function mapPicture(map: AcceptanceMap): Picture {
  const { emission, leakage } = map;
  const top_M = leakage.top_ohm * 1e-6;
  const [first, last] = [emission.values[0] ?? 0, emission.values.at(-1) ?? 0];
  const lowest = lowestRow(map);
  const low_ohm = leakage.values[lowest] ?? 1;
  const below =
    lowest === 0
      ? ''
      : ` Below ${formatQuantity(low_ohm, 'ohm', { digits: 2 })} it is unsuitable at any emission.`;
  return {
    id: 'map',
    caption: `Emission against grid leakage for ${map.socket.id}, ${map.tube.type}, as “${map.bench}” reads them: where it is usable, marginal and unsuitable.${below}`,
    alt:
      [
        `${map.socket.id}: ${map.socket.title}, ${map.tube.type}.`,
        ...map.finding.sentences,
        map.sentences[0] ?? '',
      ].join(' ') + below,
    x: {
      title: `emission, ${emission.unit}`,
      scale: 'linear',
      low: first,
      high: last,
    },
    y: {
      title: 'grid leakage, M\u03a9',
      scale: 'log',
      low: low_ohm * 1e-6,
      high: (leakage.values.at(-1) ?? 1) * 1e-6 * HEADROOM,
    },
    lines: [
      ...map.lines.flatMap(linesOf),
      {
        title: 'end of the scale',
        role: 'load',
        points: [
          [first, top_M],
          [last, top_M],
        ],
      },
    ],
    marks: marksOf(map),
    areas: areasOf(map),
    words: [
      ...wordsOf(map, lowest),
      {
        text: 'end of the scale',
        x: first + 0.35 * (last - first),
        y: ABOVE_LINE * top_M,
        strong: false,
      },
    ],
  };
}

/** Rows that are drawn below the lowest thing that happens, of as many that are unsuitable throughout. */
const ROWS_BELOW = 6;

/** The first row that is drawn: what lies below it is unsuitable whatever the emission. */
function lowestRow({ cells, leakage, point }: AcceptanceMap): number {
  const happens = leakage.values.findIndex(
    (ohms, k) =>
      cells.some((column) => column[k]?.verdict !== 'unsuitable') ||
      (point !== null && point.leakage.low <= ohms),
  );
  return Math.max(0, (happens < 0 ? leakage.values.length : happens) - ROWS_BELOW);
}

/** The longest line of a level carries its figure. */
function linesOf({ kind, margin, lines }: MapLine): PictureLine[] {
  const longest = Math.max(...lines.map(({ length }) => length));
  const percent = `${margin > 0 ? '+' : '\u2212'}${Math.round(100 * Math.abs(margin))}\u00a0%`;
  return lines.map((line): PictureLine => ({
    title: kind === 'margin' ? `${TITLES.margin} ${percent}` : TITLES[kind],
    role: kind === 'limit' ? 'boundary' : kind === 'margin' ? 'level' : 'edge',
    points: line.map(([x, ohms]) => [x, ohms * 1e-6] as const),
    ...(kind === 'margin' && line.length === longest ? { label: percent } : {}),
  }));
}

function marksOf({ newTube, point, leakage }: AcceptanceMap): PictureMark[] {
  const top = leakage.values.at(-1) ?? 0;
  return [
    {
      title: 'a new tube',
      role: 'new',
      x: newTube.emission,
      y: newTube.leakage_ohm * 1e-6,
      label: 'new tube',
    },
    ...(point === null
      ? []
      : [
          {
            title: point.tube,
            role: 'this',
            x: point.emission.value,
            y: Math.min(point.leakage.value, top) * 1e-6,
            xLow: point.emission.low,
            xHigh: point.emission.high,
            low: point.leakage.low * 1e-6,
            high: (point.leakage.high ?? top) * 1e-6,
            label: point.tube,
          } as const,
        ]),
  ];
}

/** What has no number lies outside. */
const squeezed = (margin: number | null): number => (margin === null ? -1 : squeeze(margin));

function areasOf({ emission, leakage, cells }: AcceptanceMap): PictureArea[] {
  const leakage_ln = leakage.values.map(Math.log);
  const below = (of: (cell: MapCell) => number | null): PictureArea['polygons'] =>
    areasBelow(
      emission.values,
      leakage_ln,
      cells.map((column) => column.map((cell) => squeezed(of(cell)))),
    ).map((area) => area.map(([x, ln]) => [x, Math.exp(ln) * 1e-6] as const));
  return [
    { look: 'hatched', polygons: below(({ low }) => low) },
    { look: 'refused', polygons: below(({ high }) => high) },
  ];
}

/** Each verdict's word where it has the most room; what makes the tube unsuitable, where there is room for it. */
function wordsOf(map: AcceptanceMap, lowest: number): PictureWords[] {
  const at = (is: (cell: MapCell) => boolean, least: number) => {
    const found = roomiest(
      map.cells.map((column) => column.map((cell, k) => k >= lowest && is(cell))),
    );
    return found === undefined || found.depth < least
      ? []
      : [
          {
            x: map.emission.values[found.i] as number,
            y: (map.leakage.values[found.k] as number) * 1e-6,
          },
        ];
  };
  const decided = map.contours.map(({ measure, title }) => ({ measure, title }));
  return [
    ...at(({ verdict }) => verdict === 'usable', 1).map((place) => ({
      ...place,
      text: 'usable',
      strong: true,
    })),
    ...at(({ verdict }) => verdict === 'marginal', 2).map((place) => ({
      ...place,
      text: 'marginal',
      strong: true,
    })),
    ...decided.flatMap(({ measure, title }) =>
      at((cell) => cell.verdict === 'unsuitable' && cell.measure === measure, 3).map((place) => ({
        ...place,
        text: `unsuitable: ${lower(title)}`,
        strong: false,
      })),
    ),
  ];
}

/** The cell that stays longest when a region is eaten away from its rim, and for how many rounds. */
function roomiest(
  region: readonly (readonly boolean[])[],
): { readonly i: number; readonly k: number; readonly depth: number } | undefined {
  let left = region;
  let cells: (readonly [i: number, k: number])[] = [];
  for (let depth = 0; ; depth++) {
    const now = left.flatMap((column, i) =>
      column.flatMap((is, k) => (is ? [[i, k] as const] : [])),
    );
    if (now.length === 0) {
      if (cells.length === 0) return undefined;
      const middle = [0, 1].map(
        (axis) => cells.reduce((sum, cell) => sum + (cell[axis] ?? 0), 0) / cells.length,
      );
      const far = ([i, k]: readonly [number, number]): number =>
        Math.hypot(i - (middle[0] ?? 0), k - (middle[1] ?? 0));
      const [i, k] = cells.reduce((a, b) => (far(b) < far(a) ? b : a));
      return { i, k, depth };
    }
    cells = now;
    const before = left;
    const kept = (i: number, k: number): boolean => before[i]?.[k] === true;
    left = before.map((column, i) =>
      column.map(
        (is, k) => is && kept(i - 1, k) && kept(i + 1, k) && kept(i, k - 1) && kept(i, k + 1),
      ),
    );
  }
}

/** What leakage is usable and what unsuitable, for every `step`th emission of the map; the highest first. */
export function boundaryRows(
  map: AcceptanceMap,
  step = 4,
): readonly { readonly emission: string; readonly usable: string; readonly unsuitable: string }[] {
  const leakage_ln = map.leakage.values.map(Math.log);
  const ohms = (ln: number): string => {
    const value = Math.exp(ln);
    const text = formatQuantity(value, 'ohm', { digits: 2 });
    return value > map.leakage.top_ohm * 1.001 ? `${text} (above the scale)` : text;
  };
  const [low, high] = [leakage_ln[0], leakage_ln.at(-1)];
  const say = (values: readonly number[]): string => {
    const spans = spansAbove(leakage_ln, values);
    if (spans.length === 0) return 'none';
    return spans
      .map(([from, to]) =>
        from === low && to === high
          ? 'any'
          : to === high
            ? `from ${ohms(from)}`
            : from === low
              ? `up to ${ohms(to)}`
              : `${ohms(from)} to ${ohms(to)}`,
      )
      .join('; ');
  };
  return map.cells
    .flatMap((column, i) =>
      i % step === 0
        ? [
            {
              emission: `${formatQuantity(map.emission.values[i] ?? 0, '', { digits: 3 })}\u00a0${map.emission.unit}`,
              usable: say(column.map((cell) => squeezed(cell.low))),
              unsuitable: say(column.map((cell) => -squeezed(cell.high))),
            },
          ]
        : [],
    )
    .toReversed();
}
