/**
 * A picture as data: what is drawn, what it says in words, and the same as a table. Views draw it and compute nothing.
 * All numbers are in the axis's shown unit ("mA", "MΩ"), so that a view needs no conversion.
 */
export interface PictureAxis {
  /** With its unit: "plate current, mA". */
  readonly title: string;
  readonly scale: 'linear' | 'log';
  readonly low?: number;
  readonly high?: number;
}

/**
 * `this` and `new` as everywhere; `family`: other curves of the set; `load`: a load line; `projected`: not yet read; of a map `boundary`:
 * where a limit is met, `edge`: where its interval ends, `level`: another height.
 */
export type Role = 'this' | 'new' | 'family' | 'load' | 'projected' | 'boundary' | 'edge' | 'level';

export interface PictureLine {
  readonly title: string;
  readonly role: Role;
  readonly points: readonly (readonly [x: number, y: number])[];
  /** Written at the line's end. */
  readonly label?: string;
  /** 90 % band, same x as the points. */
  readonly band?: readonly (readonly [low: number, high: number])[];
}

export interface PictureMark {
  readonly title: string;
  readonly role: 'this' | 'new' | 'reading';
  readonly x: number;
  readonly y: number;
  readonly low?: number;
  readonly high?: number;
  /** The interval along x. */
  readonly xLow?: number;
  readonly xHigh?: number;
  readonly label?: string;
}

/** A part of the picture, behind everything; a later one covers an earlier one. */
export interface PictureArea {
  readonly look: 'hatched' | 'refused';
  readonly polygons: readonly (readonly (readonly [x: number, y: number])[])[];
}

/** Words in the picture, their middle at a point. */
export interface PictureWords {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly strong: boolean;
}

export interface PictureLimit {
  readonly y: number;
  readonly label: string;
  /** Which side is refused. */
  readonly refused: 'above' | 'below';
}

export interface Picture {
  readonly id: string;
  /** One sentence: what the picture shows. */
  readonly caption: string;
  /** What a reader who cannot see it must know, with numbers. */
  readonly alt: string;
  readonly x: PictureAxis;
  readonly y: PictureAxis;
  readonly lines: readonly PictureLine[];
  readonly marks: readonly PictureMark[];
  readonly limit?: PictureLimit;
  readonly areas?: readonly PictureArea[];
  readonly words?: readonly PictureWords[];
  /** A value of x that is marked with a dotted drop line. */
  readonly at?: { readonly x: number; readonly label: string };
}

/** The picture without what a logarithmic axis cannot show, and how many points that were. */
export function drawable(picture: Picture): {
  readonly picture: Picture;
  readonly dropped: number;
} {
  const shows = (axis: PictureAxis, value: number): boolean =>
    Number.isFinite(value) && (axis.scale === 'linear' || value > 0);
  let dropped = 0;
  const keep = (x: number, y: number): boolean => {
    const ok = shows(picture.x, x) && shows(picture.y, y);
    if (!ok) dropped += 1;
    return ok;
  };
  const lines = picture.lines.map((line): PictureLine => {
    const kept = line.points.map(([x, y]) => keep(x, y));
    return {
      ...line,
      points: line.points.filter((_, i) => kept[i]),
      ...(line.band === undefined ? {} : { band: line.band.filter((_, i) => kept[i]) }),
    };
  });
  const marks = picture.marks.filter(({ x, y }) => keep(x, y));
  return { picture: { ...picture, lines, marks }, dropped };
}

/** Every number of the picture: one row per point, in the order of drawing. */
export function tableOf(picture: Picture): {
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
} {
  const round = (value: number): string =>
    String(Number(value.toPrecision(4))).replace('-', '\u2212');
  const rows = [
    ...picture.marks.map((mark) => [
      mark.title,
      round(mark.x),
      round(mark.y),
      [
        [mark.xLow, mark.xHigh],
        [mark.low, mark.high],
      ]
        .flatMap(([low, high]) =>
          low === undefined || high === undefined ? [] : [`${round(low)} to ${round(high)}`],
        )
        .join('; '),
    ]),
    ...picture.lines.flatMap((line) =>
      line.points.map(([x, y], i) => {
        const band = line.band?.[i];
        return [
          line.title,
          round(x),
          round(y),
          band === undefined ? '' : `${round(band[0])} to ${round(band[1])}`,
        ];
      }),
    ),
  ];
  return { head: ['', picture.x.title, picture.y.title, '90 %'], rows };
}
