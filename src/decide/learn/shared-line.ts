import { lineTube, settledLine, type LineTube } from '../../stage/agc-line.ts';
import { firstCrossing } from '../../numerics/crossings.ts';
import { formatQuantity } from '../../units/format.ts';
import { demonstration, line, logSteps, look, withLeak, type Lesson } from './lesson.ts';

const LEAKS_ohm = logSteps(10e6, 3e9, 14);
/** What the detector makes of a strong station, held: the loop is left open to show the line alone. */
const SOURCE_V = -8;
/** A line that has moved by half a volt: the limit of the stage. */
const HARM_V = 0.5;

const say = (value: number, unit: 'ohm' | 'V' | '×'): string =>
  formatQuantity(value, unit, { digits: 2 });

/** Why one leaky tube on an AGC line upsets stages whose own tubes are good. */
export const sharedLine: Lesson = {
  id: 'shared-line',
  title: 'One leaky tube on a shared line',
  question: 'Why does one leaky tube upset stages whose own tubes are good?',
  equation: '(Vline − Vdet) / R + Σ Ig(Vline) = 0',
  where:
    'Kirchhoff’s law at the AGC line: what any tube puts onto it must flow off through the line’s resistance R. Every grid on the line then sits where the line sits.',
  sliders: [
    {
      key: 'agcLineResistance',
      title: 'resistance of the line',
      unit: 'ohm',
      low: 220e3,
      high: 4.7e6,
      start: 2.2e6,
      scale: 'log',
    },
  ],
  async run({ agcLineResistance = 2.2e6 }, run) {
    const demo = demonstration('agc-if-amplifier', '6BA6');
    const { agcLine } = demo.stage;
    const step = demo.stage.steps.filter(({ id }) => id === agcLine?.step);
    if (agcLine === undefined || step.length === 0) throw new Error('this stage has no AGC line');
    const found = await look(
      demo,
      [
        { condition: demo.newTube },
        ...LEAKS_ohm.toReversed().map((ohms) => ({
          condition: withLeak(demo.newTube, ['grid', 'plate'], ohms),
        })),
      ],
      run,
      step,
      'line',
    );
    const tubes = found.map((outcome): LineTube | undefined =>
      outcome.failed === undefined ? lineTube(agcLine.curve(outcome.traces)) : undefined,
    );
    const sound = tubes[0];
    if (sound === undefined) throw new Error('a new tube has no rest in its own stage');
    const settle = (all: readonly LineTube[]): number | undefined =>
      settledLine(
        { resistance_ohm: agcLineResistance, leakage_ohm: 1e13, clamp_V: null, tubes: all },
        () => SOURCE_V,
      );
    const healthy = settle([sound, sound]);
    const lines = tubes
      .slice(1)
      .map((leaky) => (leaky === undefined ? undefined : settle([leaky, sound])))
      .toReversed();
    const gains = lines.map((volts) => (volts === undefined ? undefined : sound.gain(volts)));
    const gain_0 = healthy === undefined ? undefined : sound.gain(healthy);
    const decibels = gains.map((gain) =>
      gain === undefined || gain_0 === undefined ? undefined : 20 * Math.log10(gain / gain_0),
    );
    const fatal =
      healthy === undefined
        ? undefined
        : firstCrossing(
            LEAKS_ohm.map(Math.log),
            lines.map((volts) => (volts ?? NaN) - healthy),
            HARM_V,
            { from: 'high' },
          );
    const worst = decibels.reduce<number>(
      (best, value, i) => ((value ?? -Infinity) > (decibels[best] ?? -Infinity) ? i : best),
      0,
    );
    const at = decibels[worst];
    const sentence =
      fatal === undefined || at === undefined
        ? `At ${say(agcLineResistance, 'ohm')} no leak tried moves the line by ${say(HARM_V, 'V')}.`
        : `At ${say(agcLineResistance, 'ohm')} a leak of ${say(Math.exp(fatal), 'ohm')} in one tube moves the line by ${say(HARM_V, 'V')}; at ${say(LEAKS_ohm[worst]!, 'ohm')} the sound stage beside it is turned up by ${Math.round(at)} dB.`;
    return {
      picture: {
        id: 'learn-line',
        caption:
          'By how much a sound stage is turned up when the tube of another stage on its AGC line leaks from plate to grid, the detector held at a strong station. Heavier leaks drive every grid on the line into its own current, which damps the tuned circuits.',
        alt: sentence,
        x: { title: 'leak of the other tube, Ω', scale: 'log', low: 10e6, high: 3e9 },
        y: { title: 'gain of the sound stage, dB more', scale: 'linear', low: -10, high: 30 },
        lines: [
          {
            title: 'the sound stage on the same line',
            role: 'this',
            points: line(LEAKS_ohm, decibels),
            label: say(agcLineResistance, 'ohm'),
          },
        ],
        marks: [],
      },
      finding: sentence,
    };
  },
};
