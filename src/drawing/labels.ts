import type { Part } from '../types.ts';
import type { DrawingOptions, PlacedSymbol, Terminal, TextLabel, ValueLabel } from './drawing.ts';
import { placed, plus, turned, unionOf, type Box, type Point } from './geometry.ts';
import type { Candidate } from './room.ts';
import {
  fieldWidth,
  fieldWidth_ch,
  idRun,
  idWidth,
  LINE_u,
  nameWidth,
  textBox,
  valueText,
} from './text.ts';

/** The ways in which a part's id, name and value can stand beside its symbol, best first. */

const GAP_u = 0.5;
/** Baseline below the middle line, for text of 12 to 14 px. */
const BASELINE_u = 0.45;
/** Middle line of a label above or below a lying part. */
const LYING_u = 2;
const SIDE_SHIFTS_u = [0, -0.5, 0.5, -1, 1, -1.5, 1.5, -2, 2];

type Side = 'start' | 'end';

export function labelChoices(
  symbol: PlacedSymbol,
  part: Part,
  options: DrawingOptions,
): Candidate[] {
  const text = new PartText(part, options);
  switch (symbol.shape.form) {
    case 'twoPin':
      return twoPinChoices(symbol, text);
    case 'transformer':
      return transformerChoices(symbol, text);
    case 'tube':
      return tubeChoices(symbol, text);
    case 'block':
      return blockChoices(symbol, text);
  }
}

/** A part's words, set at a point. */
class PartText {
  readonly value: string;
  readonly second: string;

  constructor(
    private readonly part: Part,
    options: DrawingOptions,
  ) {
    this.value = valueText(part, options.values);
    this.second =
      part.kind === 'tube'
        ? (options.tubeTypes?.[part.tube] ?? '')
        : part.kind === 'block'
          ? part.title
          : part.kind === 'tank'
            ? ''
            : (part.name ?? '');
  }

  private get idWidth(): number {
    return idWidth(idRun(this.part.id));
  }

  private id(at: Point, anchor: TextLabel['anchor']): TextLabel {
    return {
      of: this.part.id,
      role: 'id',
      run: idRun(this.part.id),
      at: plus(at, [0, BASELINE_u]),
      anchor,
      box: textBox(at, this.idWidth, anchor),
    };
  }

  private words(at: Point, anchor: TextLabel['anchor']): TextLabel[] {
    if (this.second === '') return [];
    const role = this.part.kind === 'tube' ? 'type' : 'name';
    return [nameLabel(this.part.id, role, this.second, at, anchor)];
  }

  private field(at: Point, anchor: Side): ValueLabel[] {
    return valueLabels(this.part, this.value, at, anchor);
  }

  /** Id above, value or name below. */
  stacked([x, y]: Point, anchor: Side): Candidate {
    const below: Point = [x, y + LINE_u / 2];
    return {
      labels: [this.id([x, y - LINE_u / 2], anchor), ...this.words(below, anchor)],
      values: this.field(below, anchor),
    };
  }

  get lineWidth(): number {
    const rest = this.value !== '' ? fieldWidth(this.value) : nameWidth(this.second);
    return this.idWidth + (rest > 0 ? GAP_u + rest : 0);
  }

  /** Id and value in one line from `x`. */
  line([x, y]: Point): Candidate {
    const after: Point = [x + this.idWidth + GAP_u, y];
    return {
      labels: [this.id([x, y], 'start'), ...this.words(after, 'start')],
      values: this.field(after, 'start'),
    };
  }

  centred([x, y]: Point): Candidate {
    return {
      labels: [
        this.id([x, y - LINE_u / 2], 'middle'),
        ...this.words([x, y + LINE_u / 2], 'middle'),
      ],
      values: [],
    };
  }
}

function nameLabel(
  of: string,
  role: TextLabel['role'],
  text: string,
  at: Point,
  anchor: TextLabel['anchor'],
): TextLabel {
  return {
    of,
    role,
    run: idRun(text),
    at: plus(at, [0, BASELINE_u]),
    anchor,
    box: textBox(at, nameWidth(text), anchor),
  };
}

function valueLabels(part: Part, text: string, at: Point, anchor: Side): ValueLabel[] {
  if (text === '') return [];
  const edits = 'edits' in part ? part.edits : undefined;
  return [
    {
      of: part.id,
      ...(edits === undefined ? {} : { edits }),
      text,
      at,
      anchor,
      width_ch: fieldWidth_ch(text),
      box: textBox(at, fieldWidth(text), anchor),
    },
  ];
}

function twoPinChoices(symbol: PlacedSymbol, text: PartText): Candidate[] {
  const centre = placed([0, 3], symbol.at, symbol.turn);
  const body = unionOf(symbol.body);
  if (symbol.turn === 90 || symbol.turn === 270) {
    const left = centre[0] - text.lineWidth / 2;
    const lines = [-LYING_u, LYING_u, -LYING_u - 1, LYING_u + 1].flatMap((dy) =>
      [0, 1, -1, 2, -2].map((dx) => text.line([left + dx, centre[1] + dy])),
    );
    const stacks = [-LYING_u - LINE_u / 2, LYING_u + LINE_u / 2].map((dy) =>
      text.stacked([centre[0] - 2, centre[1] + dy], 'start'),
    );
    return [...lines, ...stacks];
  }
  const beside = (away: number): Candidate[] =>
    (['start', 'end'] as const).flatMap((anchor) =>
      SIDE_SHIFTS_u.map((dy) => {
        const x = anchor === 'start' ? body.right + away : body.left - away;
        const at: Point = [x, centre[1] + dy];
        const choice = text.stacked(at, anchor);
        if (away < 1) return choice;
        const near = anchor === 'start' ? body.right + 0.2 : body.left - 0.2;
        const edge = anchor === 'start' ? x - 0.2 : x + 0.2;
        return {
          ...choice,
          leaders: [{ of: symbol.part, from: [near, at[1]] as Point, to: [edge, at[1]] as Point }],
        };
      }),
    );
  return [...beside(0.6), ...beside(2.5), ...beside(4.5)];
}

/** Beside or above the can; the ways in and out have their own words. */
function transformerChoices(symbol: PlacedSymbol, text: PartText): Candidate[] {
  const can = symbol.body[0]!;
  const middle = (can.top + can.bottom) / 2;
  const left = (can.left + can.right) / 2 - text.lineWidth / 2;
  const beside = SIDE_SHIFTS_u.flatMap((dy) => [
    text.stacked([can.left - 0.8, middle + dy], 'end'),
    text.stacked([can.right + 0.8, middle + dy], 'start'),
  ]);
  const lines = [0, 2, -2, 4, -4].flatMap((dx) => [
    text.line([left + dx, can.top - 1.3]),
    text.line([left + dx, can.bottom + 1.4]),
  ]);
  return [...beside, ...lines];
}

function tubeChoices(symbol: PlacedSymbol, text: PartText): Candidate[] {
  const [x, y] = symbol.at;
  // level with the shoulder of the envelope
  const across = 0.9 * Math.max(...symbol.body.map((b) => b.right - x));
  const up = 0.8 * Math.max(...symbol.body.map((b) => y - b.top));
  return [-up, up, -up - 1, up + 1].flatMap((dy) =>
    [0, 1, 2].flatMap((out) => [
      text.stacked([x - across - out, y + dy], 'end'),
      text.stacked([x + across + out, y + dy], 'start'),
    ]),
  );
}

function blockChoices(symbol: PlacedSymbol, text: PartText): Candidate[] {
  const body = unionOf(symbol.body);
  return [text.centred([(body.left + body.right) / 2, (body.top + body.bottom) / 2])];
}

/** Words at the open ends of a transformer's other winding: where the signal comes from or goes to. */
export function wayChoices(symbol: PlacedSymbol, part: Part): Candidate[] {
  if (part.kind !== 'tank' || part.name === undefined) return [];
  const words = part.name;
  const [can, ...ends] = symbol.body as readonly [Box, ...Box[]];
  const out = turned([1, 0], symbol.turn)[0];
  const end = unionOf(ends);
  const at = (x: number, y: number, anchor: Side): Candidate => ({
    labels: [nameLabel(part.id, 'name', words, [x, y], anchor)],
    values: [],
  });
  const middle = (end.top + end.bottom) / 2;
  return out > 0
    ? [
        at(can.right + 0.8, middle, 'start'),
        at(end.right + 0.6, middle, 'start'),
        at(end.right, end.top - 1.2, 'end'),
        at(end.right, end.bottom + 1.2, 'end'),
      ]
    : [
        at(end.left, end.top - 1.2, 'start'),
        at(end.left, end.bottom + 1.2, 'start'),
        at(can.left - 0.8, middle, 'end'),
      ];
}

/** A rail's name at its sign, and at its first sign the value. `valued` is the supply whose value stands there. */
export function railChoices(
  terminal: Terminal,
  rail: { readonly id: string; readonly name?: string },
  valued: Part | undefined,
  options: DrawingOptions,
): Candidate[] {
  const run = idRun(rail.name ?? rail.id);
  const text = valued === undefined ? '' : valueText(valued, options.values);
  const ownWidth = nameWidth(rail.name ?? rail.id);
  const rest = text === '' ? 0 : GAP_u + fieldWidth(text);
  const [x, y] = placed([0, -1.25], terminal.at, terminal.turn);
  const fieldsAt = (at: Point): ValueLabel[] =>
    valued === undefined ? [] : valueLabels(valued, text, at, 'start');
  const from = (left: number, middle: number): Candidate => ({
    labels: [
      {
        of: rail.id,
        role: 'name',
        run,
        at: [left, middle + BASELINE_u],
        anchor: 'start',
        box: textBox([left, middle], ownWidth, 'start'),
      },
    ],
    values: fieldsAt([left + ownWidth + GAP_u, middle]),
  });
  /** Name over value. */
  const stack = (left: number, middle: number): Candidate => ({
    labels: from(left, middle - LINE_u / 2).labels,
    values: fieldsAt([left, middle + LINE_u / 2]),
  });
  /** The same, ending left of the sign. */
  const stackLeft = stack(x - 0.9 - Math.max(ownWidth, rest - GAP_u), y);
  const right = [0, -0.5, 0.5].map((dy) => from(x + 0.9, y + dy));
  const left = [0, -0.5, 0.5].map((dy) => from(x - 0.9 - ownWidth - rest, y + dy));
  const above = [0, 1, 2, 3, 4].flatMap((dx) => [
    from(x - 0.4 - dx, y - 1.5),
    from(x - 0.4 - dx, y + 1.6),
  ]);
  const over = [stack(x + 0.9, y), stack(x - 0.4, y - 2.3), stack(x - 0.4, y + 2.3)];
  return terminal.turn === 270
    ? [...left, stackLeft, ...above, ...over, ...right]
    : [...right, ...left, ...above, ...over];
}

/** Pin numbers, 0.4 u off the lead and just outside the envelope. */
export function pinLabels(symbol: PlacedSymbol, options: DrawingOptions): TextLabel[] {
  const numbers = options.pinNumbers?.[symbol.part];
  if (numbers === undefined) return [];
  return symbol.pins.flatMap((pin) => {
    const number = Object.entries(numbers).find(([electrode]) => electrode === pin.name)?.[1];
    if (number === undefined) return [];
    const level = pin.out[0] !== 0;
    const at: Point = level
      ? [pin.at[0] - 0.2 * pin.out[0], pin.at[1] - 1.05]
      : [pin.at[0] + 0.4, pin.at[1] - (pin.out[1] > 0 ? 0.6 : -0.35)];
    const anchor = level ? 'middle' : 'start';
    const b = textBox(at, 0.65 * number.length, anchor);
    return [
      {
        of: symbol.part,
        role: 'pin' as const,
        run: { text: number },
        at: plus(at, [0, 0.4]),
        anchor,
        box: { ...b, top: at[1] - 0.6, bottom: at[1] + 0.5 },
      },
    ];
  });
}
