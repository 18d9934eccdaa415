import type { Node } from '../types.ts';
import type {
  Drawing,
  LeakDrawing,
  PlacedSymbol,
  Terminal,
  TextLabel,
  ValueLabel,
  VoltageTag,
} from './drawing.ts';
import type { Point } from './geometry.ts';
import { zigzag } from './symbols.ts';
import { voltsText } from './text.ts';

/**
 * A drawing as SVG text. Classes and no colours: `drawing.css` gives each class its weight and its token.
 * Strokes keep their width at any scale (`vector-effect` in that sheet and on each path, for viewers without it).
 */

export interface SvgOptions {
  /** Volts to chassis by node; a node that is missing or NaN shows a dash. Without it no tags are drawn. */
  readonly nodeVolts?: {
    readonly newTube: Readonly<Record<Node, number>>;
    readonly thisTube: Readonly<Record<Node, number>>;
  };
  /** `text`: values are written; `none`: left to the fields that a page lays over the drawing. Default `text`. */
  readonly values?: 'text' | 'none';
  /** What a screen reader says after the title. */
  readonly description?: string;
  /** Makes the ids of title and description unique on a page. */
  readonly idPrefix?: string;
  /** Style put into the SVG itself, for files that stand alone. */
  readonly style?: string;
}

/** Pixels of a grid unit at scale 1. */
export const UNIT_px = 10;

const px = (units: number): number => Math.round(units * UNIT_px * 100) / 100;
const short = (number: number): number => Math.round(number * 1000) / 1000;
const escape = (text: string): string =>
  text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');
const line = (points: readonly Point[]): string =>
  points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${px(x)} ${px(y)}`).join('');
const path = (name: string, d: string): string =>
  `<path class="${name}" vector-effect="non-scaling-stroke" d="${d}"/>`;
const dot = ([x, y]: Point): string => `<circle class="dot" cx="${px(x)}" cy="${px(y)}" r="2.4"/>`;

/** The drawing as one `<svg>` element, `viewBox` 600 wide. */
export function toSvg(drawing: Drawing, options: SvgOptions = {}): string {
  const { idPrefix = 'drawing', description } = options;
  const described = description === undefined ? '' : ` ${idPrefix}-description`;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" class="schematic" viewBox="0 0 ${px(drawing.width)} ${px(drawing.height)}" role="img" aria-labelledby="${idPrefix}-title${described}">`,
    `<title id="${idPrefix}-title">${escape(drawing.title)}</title>`,
    description === undefined
      ? ''
      : `<desc id="${idPrefix}-description">${escape(description)}</desc>`,
    options.style === undefined ? '' : `<style><![CDATA[${options.style}]]></style>`,
    drawing.leak === null ? '' : washSvg(drawing.leak),
    drawing.wires.map((wire) => path('wire', line([wire.from, wire.to]))).join(''),
    drawing.symbols.map(symbolSvg).join(''),
    drawing.terminals.map(terminalSvg).join(''),
    drawing.dots.map(({ at }) => dot(at)).join(''),
    drawing.leaders.map(({ from, to }) => path('leader', line([from, to]))).join(''),
    drawing.leak === null ? '' : leakSvg(drawing.leak),
    drawing.labels.map((label) => labelSvg(label, drawing.leak)).join(''),
    options.values === 'none' ? '' : drawing.values.map(valueSvg).join(''),
    options.nodeVolts === undefined ? '' : tagsSvg(drawing.tags, options.nodeVolts),
    '</svg>',
  ]
    .filter((piece) => piece !== '')
    .join('\n');
}

function placedGroup(name: string, at: Point, turn: number, inside: string, part = ''): string {
  const data = part === '' ? '' : ` data-part="${escape(part)}"`;
  const rotate = turn === 0 ? '' : ` rotate(${turn})`;
  return `<g class="${name}"${data} transform="translate(${px(at[0])} ${px(at[1])})${rotate} scale(${UNIT_px})">${inside}</g>`;
}

function symbolSvg({ part, shape, at, turn }: PlacedSymbol): string {
  const strokes = shape.strokes.map(([name, d]) => path(name, d)).join('');
  const dots = shape.dots
    .map(([x, y]) => `<circle class="dot" cx="${x}" cy="${y}" r=".22"/>`)
    .join('');
  return placedGroup(`symbol ${shape.name}`, at, turn, strokes + dots, part);
}

const SIGNS: Readonly<Record<Terminal['sign'], string>> = {
  supply:
    path('wire', 'M0 0V-.9') + path('open', 'M0 -1.6a.35 .35 0 1 1 0 .7a.35 .35 0 1 1 0 -.7Z'),
  chassis: path('wire', 'M0 0V.7') + path('part', 'M-1.2 .7H1.2M-.75 1.15H.75M-.3 1.6H.3'),
};

const terminalSvg = ({ sign, at, turn }: Terminal): string =>
  placedGroup(`terminal ${sign}`, at, turn, SIGNS[sign]);

function labelSvg({ role, run, at, anchor }: TextLabel, leak: LeakDrawing | null): string {
  const status = role === 'leak' && leak !== null ? ` status-${leak.status}` : '';
  const lowered =
    run.sub === undefined ? '' : `<tspan class="sub" dy="2.5">${escape(run.sub)}</tspan>`;
  return `<text class="${role}${status}" x="${px(at[0])}" y="${px(at[1])}" text-anchor="${anchor}">${escape(run.text)}${lowered}</text>`;
}

/** As it stands in a field: underlined where it can be edited. */
function valueSvg({ edits, text, at, anchor, box }: ValueLabel): string {
  const key = edits === undefined ? '' : ` data-edits="${escape(edits)}"`;
  const rule =
    edits === undefined
      ? ''
      : path(
          'field',
          line([
            [box.left, box.bottom],
            [box.right, box.bottom],
          ]),
        );
  return `<g class="value"${key}>${rule}<text x="${px(at[0])}" y="${px(at[1] + 0.45)}" text-anchor="${anchor}">${escape(text)}</text></g>`;
}

function tagsSvg(
  tags: readonly VoltageTag[],
  { newTube, thisTube }: NonNullable<SvgOptions['nodeVolts']>,
): string {
  return tags
    .map(({ node, at, anchor, leader }) => {
      const side = anchor === 'start' ? 1 : -1;
      const [x, y] = [px(at[0]), px(at[1])];
      const text = (name: string, volts: number | undefined, dy: number): string =>
        `<text class="${name}" x="${x + side * 11}" y="${y + dy}" text-anchor="${anchor}">${voltsText(volts)}</text>`;
      return [
        `<g class="tag" data-node="${escape(node)}">`,
        leader === undefined ? '' : path('leader', line([leader.from, leader.to])),
        `<circle class="new" cx="${x + side * 4}" cy="${y - 4}" r="2.6"/>`,
        text('new', newTube[node], 0),
        `<circle class="this" cx="${x + side * 4}" cy="${y + 10}" r="3"/>`,
        text('this', thisTube[node], 14),
        '</g>',
      ].join('');
    })
    .join('');
}

const washSvg = ({ wash, status }: LeakDrawing): string =>
  wash.length < 2 ? '' : path(`wash status-${status}`, line(wash));

function leakSvg({ from, to, status, leader, arrows }: LeakDrawing): string {
  const height = to[1] - from[1];
  const tooth = Math.min(2, 0.7 * height);
  const start = (height - tooth) / 2;
  const zig = zigzag(start, start + tooth, 2, Math.min(0.4, tooth / 4));
  const heads = arrows
    .map(
      ({ at, turn }) =>
        `<path class="arrow" transform="translate(${px(at[0])} ${px(at[1])}) rotate(${turn})" d="M-4 -4L4 0L-4 4Z"/>`,
    )
    .join('');
  return [
    `<g class="leak status-${status}">`,
    placedGroup(
      'path',
      from,
      0,
      path('zigzag', `M0 0V${short(start)}${zig.replace('M', 'L')}V${short(height)}`),
    ),
    dot(from),
    dot(to),
    leader === null ? '' : path('leader', line(leader)),
    heads,
    '</g>',
  ].join('');
}
