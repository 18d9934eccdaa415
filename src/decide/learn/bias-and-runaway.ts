import { ionisation } from '../../../models/cathode.ts';
import { formatQuantity } from '../../units/format.ts';
import {
  AT_REST,
  demonstration,
  line,
  logSteps,
  look,
  restVolts,
  type Demonstration,
  type Lesson,
  type LessonRun,
} from './lesson.ts';

const RESISTORS_ohm = logSteps(47e3, 10e6, 25);

const say = (value: number, unit: 'ohm' | 'A' | 'W'): string =>
  formatQuantity(value, unit, { digits: 2 });

/** Plate current and dissipation along rising grid resistance, from the healthy side. */
async function along(
  demo: Demonstration,
  gasRatio: number,
  run: LessonRun,
  id: string,
): Promise<{ readonly amps: (number | undefined)[]; readonly watts: (number | undefined)[] }> {
  const found = await look(
    demo,
    RESISTORS_ohm.map((ohms) => ({
      condition: { ...demo.newTube, gasRatio },
      knobs: { gridResistor: ohms },
    })),
    run,
    [AT_REST],
    id,
  );
  const each = found.map((outcome) => {
    const [b, p, k] = ['b', 'p', 'k'].map((node) =>
      demo.circuit.watch.includes(node) ? restVolts(outcome, node) : 0,
    );
    const primary = demo.values['primaryResistance']!.value as number;
    if (b === undefined || p === undefined || k === undefined) return undefined;
    const amps = (b - p) / primary;
    return { amps, watts: amps * (p - k) };
  });
  return { amps: each.map((one) => one?.amps), watts: each.map((one) => one?.watts) };
}

/** Why the handbooks allow less grid resistance with fixed bias than with cathode bias. */
export const biasAndRunaway: Lesson = {
  id: 'bias-and-runaway',
  title: 'Cathode bias, fixed bias and runaway',
  question: 'Why do the handbooks allow a larger grid resistor with cathode bias?',
  equation: 'dVg = Rg · Γ · dIk,   dIk = gm · dVg / (1 + gm · Rk)',
  where:
    'Gas makes a grid current that follows the cathode current (Γ is their ratio); the grid resistor turns it into bias, and bias into more current. A cathode resistor takes part of it back.',
  sliders: [
    {
      key: 'reverse',
      title: 'reverse grid current of the tube as it starts',
      unit: 'A',
      low: 0.1e-6,
      high: 20e-6,
      start: 2e-6,
      scale: 'log',
    },
  ],
  async run({ reverse = 2e-6 }, run) {
    const cathode = demonstration('output-single-ended', '6V6GT');
    const fixed = demonstration('output-single-ended', '6V6GT', { fixedBias: -12.5 });
    const { idle_A, plate_V } = await idleOf(cathode, run);
    const gasRatio = reverse / (idle_A * ionisation(plate_V));
    const rated_W = cathode.model.ratings?.plate_W;
    const both = await Promise.all([
      along(fixed, gasRatio, run, 'fixed'),
      along(cathode, gasRatio, run, 'cathode'),
    ]);
    const edge = both.map(({ watts }) =>
      rated_W === undefined
        ? undefined
        : RESISTORS_ohm[watts.findIndex((watt) => watt === undefined || watt > rated_W)],
    );
    const told = (i: number): string =>
      edge[i] === undefined
        ? `no grid resistor up to ${say(RESISTORS_ohm.at(-1)!, 'ohm')}`
        : say(edge[i], 'ohm');
    const sentence = `With ${say(reverse, 'A')} of reverse grid current the plate passes its rating at ${told(0)} with fixed bias, and at ${told(1)} with cathode bias.`;
    return {
      picture: {
        id: 'learn-runaway',
        caption:
          'Plate dissipation of a gassy output tube against its grid resistor, fixed bias and cathode bias.',
        alt: sentence,
        x: { title: 'grid resistor, Ω', scale: 'log', low: 47e3, high: 10e6 },
        y: { title: 'plate dissipation, W', scale: 'linear', low: 0, high: 3 * (rated_W ?? 10) },
        lines: (['fixed bias', 'cathode bias'] as const).map((title, i) => ({
          title,
          role: i === 0 ? ('this' as const) : ('new' as const),
          points: line(RESISTORS_ohm, both[i]!.watts),
          label: title,
        })),
        marks: [],
        ...(rated_W === undefined
          ? {}
          : {
              limit: {
                y: rated_W,
                label: `rating ${say(rated_W, 'W')}`,
                refused: 'above' as const,
              },
            }),
      },
      finding: sentence,
    };
  },
};

async function idleOf(
  demo: Demonstration,
  run: LessonRun,
): Promise<{ readonly idle_A: number; readonly plate_V: number }> {
  const [outcome] = await look(demo, [{ condition: demo.newTube }], run, [AT_REST], 'idle');
  const k = restVolts(outcome!, 'k');
  const p = restVolts(outcome!, 'p');
  if (k === undefined || p === undefined)
    throw new Error('a new tube has no rest in its own stage');
  return { idle_A: k / (demo.values['cathodeResistor']!.value as number), plate_V: p - k };
}
