import { firstCrossing } from '../../numerics/crossings.ts';
import { formatQuantity } from '../../units/format.ts';
import {
  AT_REST,
  demonstration,
  line,
  logSteps,
  look,
  restVolts,
  withLeak,
  type Lesson,
} from './lesson.ts';

const LEAKS_ohm = logSteps(1e6, 1e9, 16);
const OTHERS_ohm = [100e3, 470e3];
/** Share of the bias that counts as harm: the limit of the output stage. */
const SHARE = 0.1;

const say = (value: number, unit: 'ohm' | 'V'): string =>
  formatQuantity(value, unit, { digits: 2 });

/** Why the same leak is harmless in one socket and fatal in another. */
export const leakAndResistance: Lesson = {
  id: 'leak-and-resistance',
  title: 'Leakage and grid resistance',
  question: 'Why is the same leak harmless in one socket and fatal in another?',
  equation: 'ΔVg = (Vp − Vg) · Rg / (Rleak + Rg)',
  where:
    'Ohm’s law: the leak from the plate and the grid resistor are a divider. What it moves the grid by grows with the grid resistance alone.',
  sliders: [
    {
      key: 'gridResistor',
      title: 'grid resistor',
      unit: 'ohm',
      low: 47e3,
      high: 10e6,
      start: 2.2e6,
      scale: 'log',
    },
  ],
  async run({ gridResistor = 2.2e6 }, run) {
    const demo = demonstration('output-single-ended', '6AQ5');
    const resistors = [gridResistor, ...OTHERS_ohm];
    const found = await look(
      demo,
      resistors.flatMap((ohms) => [
        { condition: demo.newTube, knobs: { gridResistor: ohms } },
        // from a light leak to a heavy one
        ...LEAKS_ohm.toReversed().map((leak) => ({
          condition: withLeak(demo.newTube, ['grid', 'plate'], leak),
          knobs: { gridResistor: ohms },
        })),
      ]),
      run,
      [AT_REST],
      'leak',
    );
    const bias = (i: number): number | undefined => {
      const [g, k] = ['g', 'k'].map((node) => restVolts(found[i]!, node));
      return g === undefined || k === undefined ? undefined : g - k;
    };
    const volts = (i: number): number | undefined => restVolts(found[i]!, 'g');
    const size = LEAKS_ohm.length + 1;
    const shifts = resistors.map((_, r) => {
      const sound = volts(r * size);
      return LEAKS_ohm.map((__, i) => {
        const there = volts(r * size + size - 1 - i);
        return there === undefined || sound === undefined ? undefined : there - sound;
      });
    });
    const harm = SHARE * Math.abs(bias(0) ?? NaN);
    const fatal = resistors.map((_, r) =>
      firstCrossing(
        LEAKS_ohm.map(Math.log),
        shifts[r]!.map((shift) => shift ?? NaN),
        harm,
        { from: 'high' },
      ),
    );
    const told = (r: number): string =>
      fatal[r] === undefined ? 'no leak tried' : `a leak of ${say(Math.exp(fatal[r]), 'ohm')}`;
    return {
      picture: {
        id: 'learn-leak',
        caption:
          'How far a leak from the plate moves the grid of an output tube, at three grid resistors.',
        alt: `Grid shift against leakage resistance, both logarithmic. A tenth of the bias, ${say(harm, 'V')}, is reached by ${told(0)} at ${say(gridResistor, 'ohm')} and by ${told(1)} at ${say(OTHERS_ohm[0]!, 'ohm')}.`,
        x: { title: 'leak from grid to plate, Ω', scale: 'log', low: 1e6, high: 1e9 },
        y: { title: 'grid moves by, V', scale: 'log', low: 0.01, high: 100 },
        lines: resistors.map((ohms, r) => ({
          title: `grid resistor ${say(ohms, 'ohm')}`,
          role: r === 0 ? ('this' as const) : ('family' as const),
          points: line(LEAKS_ohm, shifts[r]!),
          label: say(ohms, 'ohm'),
        })),
        marks: [],
        limit: { y: harm, label: `a tenth of the bias, ${say(harm, 'V')}`, refused: 'above' },
      },
      finding: `At a grid resistor of ${say(gridResistor, 'ohm')}, ${told(0)} to the plate takes a tenth of the bias; at ${say(OTHERS_ohm[0]!, 'ohm')} it takes ${told(1)}.`,
    };
  },
};
