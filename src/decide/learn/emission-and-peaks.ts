import { interpolateLinear } from '../../numerics/interpolate.ts';
import type { MeasureValue } from '../../types.ts';
import { demonstration, line, look, type Lesson } from './lesson.ts';

/** Saturation current of the cathode over the peak that full drive asks of a new one; the tired end first. */
const SHARES = [0.3, 0.45, 0.6, 0.8, 1, 1.3, 1.7, 2.5];
const TOLD = 1;

const number = (value: MeasureValue | undefined): number | undefined =>
  typeof value === 'number' ? value : undefined;

/** Why an output tube can idle as new and still be worn out. */
export const emissionAndPeaks: Lesson = {
  id: 'emission-and-peaks',
  title: 'Emission and the peaks',
  question: 'Why can an output tube idle as if new and still be worn out?',
  equation: 'I = Isc / (1 + (Isc / Isat)²)^½',
  where:
    'Isc is what space charge lets pass, Isat what the cathode can give (the blend is this program’s, see models/README). The idle current is far below Isat; the peaks of full drive are not.',
  sliders: [
    { key: 'drive', title: 'drive, peak', unit: 'V', low: 4, high: 16, start: 12, scale: 'linear' },
  ],
  async run({ drive = 12 }, run) {
    const demo = demonstration('output-single-ended', '6V6GT', { drive });
    const sound = (await look(demo, [{ condition: demo.newTube }], run, undefined, 'new'))[0]!;
    const idle = number(sound.measures['plateCurrent']);
    const power = number(sound.measures['powerOutput']);
    if (idle === undefined || power === undefined)
      throw new Error('a new tube gives no power in its own stage');
    // a class A stage swings to about twice its idle current
    const peak_A = 2 * idle;
    const found = await look(
      demo,
      SHARES.toReversed().map((share) => ({
        condition: { ...demo.newTube, saturation_A: share * peak_A },
      })),
      run,
      undefined,
      'tired',
    );
    const percent = (id: string, of: number): (number | undefined)[] =>
      found
        .map(({ failed, measures }) => (failed === undefined ? number(measures[id]) : undefined))
        .map((value) => (value === undefined ? undefined : (100 * value) / of))
        .toReversed();
    const lines = [percent('plateCurrent', idle), percent('powerOutput', power)];
    const at = lines.map((ys) => {
      const points = line(SHARES, ys);
      return interpolateLinear(
        points.map(([x]) => x),
        points.map(([, y]) => y),
        TOLD,
      );
    });
    const whole = (value: number | undefined): string =>
      value === undefined ? 'an unknown share' : `${Math.round(value)} %`;
    const sentence = `With a cathode that can just give the peak current, the tube idles at ${whole(at[0])} of a new one’s current and gives ${whole(at[1])} of its power.`;
    return {
      picture: {
        id: 'learn-emission',
        caption: 'Idle current and power of an output tube against what its cathode can give.',
        alt: sentence,
        x: {
          title: 'saturation current over the peak of a new tube',
          scale: 'linear',
          low: 0,
          high: 2.5,
        },
        y: { title: 'of a new tube, %', scale: 'linear', low: 0, high: 110 },
        lines: [
          {
            title: 'idle current',
            role: 'new',
            points: line(SHARES, lines[0]!),
            label: 'idle current',
          },
          {
            title: 'power at this drive',
            role: 'this',
            points: line(SHARES, lines[1]!),
            label: 'power',
          },
        ],
        marks: [],
        at: { x: TOLD, label: 'just the peak' },
      },
      finding: sentence,
    };
  },
};
