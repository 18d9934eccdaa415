import { sampledCurve } from '../../numerics/interpolate.ts';
import { formatQuantity } from '../../units/format.ts';
import { AT_REST, demonstration, line, logSteps, look, restVolts, type Lesson } from './lesson.ts';

const REVERSE_A = logSteps(1e-9, 1e-6, 16);
const TOLD_A = 100e-9;

const say = (value: number, unit: 'ohm' | 'A' | 'V'): string =>
  formatQuantity(value, unit, { digits: 2 });

/** Why a first audio stage with 10 megohms of grid resistance stands more than Ohm's law says. */
export const contactBias: Lesson = {
  id: 'contact-bias',
  title: 'Contact bias gives way',
  question: 'Why does a stage with 10 MΩ at its grid not fail at the first nanoampere?',
  equation: 'Ig = I0 · exp(Vg / (kT/e)),   Ig − Irev = −Vg / Rg',
  where:
    'The grid’s own electrons are its bias. Where reverse current takes some of them away, the grid rises a little and collects as many more: its curve is far steeper than the resistor (retarding field, textbook).',
  sliders: [
    {
      key: 'gridResistor',
      title: 'grid resistor',
      unit: 'ohm',
      low: 1e6,
      high: 22e6,
      start: 10e6,
      scale: 'log',
    },
  ],
  async run({ gridResistor = 10e6 }, run) {
    const demo = demonstration('rc-amplifier', '6AV6', {
      cathodeResistor: 0,
      plateLoad: 270e3,
      gridResistor,
    });
    const found = await look(
      demo,
      [0, ...REVERSE_A].map((gridEmission_A) => ({
        condition: { ...demo.newTube, gridEmission_A },
      })),
      run,
      [AT_REST],
      'contact',
    );
    const [sound, ...grids] = found.map((outcome) => restVolts(outcome, 'g'));
    const moved = grids.map((volts) =>
      volts === undefined || sound === undefined ? undefined : volts - sound,
    );
    const at = sampledCurve(
      line(REVERSE_A, moved).map(([x]) => Math.log(x)),
      line(REVERSE_A, moved).map(([, y]) => y),
    ).at(Math.log(TOLD_A));
    const ohm_V = TOLD_A * gridResistor;
    const sentence =
      at === undefined
        ? 'The engine found no rest for this stage.'
        : `${say(TOLD_A, 'A')} of reverse current through ${say(gridResistor, 'ohm')} would be ${say(ohm_V, 'V')} by Ohm’s law alone; the grid moves by ${say(at, 'V')}.`;
    return {
      picture: {
        id: 'learn-contact',
        caption:
          'How far reverse current moves a contact-biased grid, and what the resistor alone would make of it.',
        alt: sentence,
        x: { title: 'reverse grid current, A', scale: 'log', low: 1e-9, high: 1e-6 },
        y: { title: 'grid moves by, V', scale: 'log', low: 1e-4, high: 10 },
        lines: [
          { title: 'the stage', role: 'this', points: line(REVERSE_A, moved), label: 'the stage' },
          {
            title: 'the resistor alone',
            role: 'load',
            points: REVERSE_A.map((amps) => [amps, amps * gridResistor] as const),
            label: 'Ohm’s law',
          },
        ],
        marks: [],
      },
      finding: sentence,
    };
  },
};
