import type { Lesson, LessonAnswer } from '../decide/learn/lesson.ts';
import { formatQuantity } from '../units/format.ts';
import type { Unit } from '../types.ts';
import type { Picture, PictureAxis } from './picture.ts';
import { wrap } from './text.ts';

/** A lesson as text, at most 80 columns: its question, what is found, the relation, every figure of the picture. */
export function lessonText(
  { title, question, equation, where, sliders }: Lesson,
  values: Readonly<Record<string, number>>,
  { picture, finding }: LessonAnswer,
): string {
  return [
    title,
    '',
    ...wrap(question),
    '',
    ...wrap(finding),
    '',
    // relations stand side by side, well apart
    ...equation.split(/ {2,}/).flatMap((relation) => wrap(relation, 2)),
    ...wrap(where, 2),
    '',
    ...sliders.flatMap(({ key, title: what, unit }) =>
      wrap(`${key} (${what}): ${formatQuantity(values[key] ?? 0, unit, { digits: 3 })}`),
    ),
    '',
    ...wrap(picture.caption),
    '',
    ...figures(picture),
    '',
  ].join('\n');
}

const WIDTH = 80;
const FIRST = 14;
const WIDEST = 24;
const UNITS: Readonly<Record<string, Unit>> = { Ω: 'ohm', A: 'A', V: 'V' };

/** Of a place on an axis whose title ends in its unit. */
function placeOn({ title }: PictureAxis): (value: number) => string {
  const unit = UNITS[title.split(', ').at(-1) ?? ''] ?? '';
  return (value) => formatQuantity(value, unit, { digits: 3 });
}

const short = (value: number): string => formatQuantity(value, '', { digits: 3 });

/** A line for every x at which a curve has a point, a column for every curve. */
function figures({ x, y, lines, limit }: Picture): string[] {
  const xs = [...new Set(lines.flatMap(({ points }) => points.map(([at]) => at)))].sort(
    (a, b) => a - b,
  );
  const width = Math.min(WIDEST, Math.floor((WIDTH - FIRST) / lines.length));
  const place = placeOn(x);
  const heads = lines.map(({ title }) => wrap(title, 0, width - 2));
  const deep = Math.max(...heads.map(({ length }) => length));
  return [
    ...wrap(`Down: ${x.title}. Across: ${y.title}.`),
    ...(limit === undefined ? [] : wrap(`Limit: ${limit.label}.`)),
    '',
    ...Array.from(
      { length: deep },
      (_, i) =>
        ' '.repeat(FIRST) +
        heads.map((head) => (head[i - deep + head.length] ?? '').padStart(width)).join(''),
    ),
    ...xs.map(
      (at) =>
        place(at).padStart(FIRST) +
        lines
          .map(({ points }) => {
            const point = points.find(([one]) => one === at);
            return (point === undefined ? '' : short(point[1])).padStart(width);
          })
          .join(''),
    ),
  ];
}
