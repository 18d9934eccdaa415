import { findLesson, LESSONS } from '../../decide/learn/lessons.ts';
import type { Lesson, Slider } from '../../decide/learn/lesson.ts';
import { Problem } from '../../problem.ts';
import { columnsOf, type Table } from '../../report/csv.ts';
import { lessonText } from '../../report/lesson-text.ts';
import { pictureTable } from '../../report/tables.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import { formatQuantity } from '../../units/format.ts';
import { parseQuantity } from '../../units/quantity.ts';
import type { Command, ExitCode, Invocation } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';

export const learnCommand: Command = {
  name: 'learn',
  usage: 'learn [LESSON] [--set KEY=VALUE]… [--json | --csv]',
  summary: 'why leakage, bias and emission matter as they do: live circuits in figures',
  help: `Without a name: the lessons. With one: its question, the relation behind it, a circuit simulated as you
ask, and what is found. --set moves one of its sliders.

  stagefit learn
  stagefit learn leak-and-resistance
  stagefit learn leak-and-resistance --set gridResistor=470k --csv > leak.csv

Every figure is computed by the engine that the verdicts come from.`,
  options: { set: 'list', ...FORMS },
  positionals: { least: 0, most: 1 },
  async run({ positionals, options }): Promise<ExitCode> {
    checkForms(options);
    const name = positionals[0];
    if (name === undefined) {
      if (options['set'] !== undefined)
        throw new Problem('usage', '--set moves a slider of a lesson', {
          place: '--set',
          expected: 'stagefit learn LESSON --set KEY=VALUE',
        });
      process.stdout.write(
        document(options, {
          json: () => LESSONS.map(aboutLesson),
          csv: listTable,
          text: () => LESSONS.map(({ id, question }) => `${id.padEnd(20)} ${question}\n`).join(''),
        }),
      );
      return 0;
    }
    const lesson = findLesson(name);
    if (lesson === undefined)
      throw new Problem('unknown-name', 'there is no such lesson', {
        found: name,
        expected: LESSONS.map(({ id }) => id).join(', '),
      });
    const values = slidersAt(lesson, options['set']);
    const simulator = nodeSimulator({ workers: 2 });
    try {
      const answer = await lesson.run(values, { simulator });
      process.stdout.write(
        document(options, {
          json: () => ({ ...aboutLesson(lesson), values, ...answer }),
          csv: () => pictureTable(answer.picture),
          text: () => lessonText(lesson, values, answer),
        }),
      );
      return 0;
    } finally {
      simulator.close();
    }
  },
};

const aboutLesson = ({ id, title, question, equation, where, sliders }: Lesson): object => ({
  id,
  title,
  question,
  equation,
  where,
  sliders,
});

const listTable = (): Table => ({
  columns: columnsOf('lesson title question slider sliderTitle unit low high start'),
  rows: LESSONS.flatMap(({ id, title, question, sliders }) =>
    sliders.map(({ key, title: sliderTitle, unit, low, high, start }) => ({
      lesson: id,
      title,
      question,
      slider: key,
      sliderTitle,
      unit,
      low,
      high,
      start,
    })),
  ),
});

/** Where the sliders stand: at their start, or where `--set` puts them. Throws `Problem`. */
function slidersAt(
  { sliders }: Lesson,
  given: Invocation['options'][string],
): Record<string, number> {
  const values = Object.fromEntries(sliders.map(({ key, start }) => [key, start]));
  for (const text of Array.isArray(given) ? (given as readonly string[]) : []) {
    const [key = '', value] = text.split('=', 2);
    const slider = sliders.find((one) => one.key === key);
    if (slider === undefined || value === undefined)
      throw new Problem('usage', 'this is no slider of the lesson with a value', {
        place: '--set',
        found: text,
        expected: sliders.map((one) => `${one.key}=${said(one, one.start)}`).join(', '),
      });
    values[key] = valueOf(slider, value);
  }
  return values;
}

function valueOf(slider: Slider, text: string): number {
  const parsed = parseQuantity(text, slider.unit);
  const expected = `${said(slider, slider.low)} to ${said(slider, slider.high)}`;
  if (!parsed.ok)
    throw new Problem('usage', `${slider.key} cannot be read`, {
      place: '--set',
      found: parsed.found,
      expected: `${parsed.expected}, ${expected}`,
    });
  if (parsed.value < slider.low || parsed.value > slider.high)
    throw new Problem('usage', `${slider.key} is out of the lesson's range`, {
      place: '--set',
      found: text,
      expected,
    });
  return parsed.value;
}

const said = ({ unit }: Slider, value: number): string =>
  formatQuantity(value, unit, { digits: 3 });
