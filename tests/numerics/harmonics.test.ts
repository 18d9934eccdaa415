import { all, create } from 'mathjs';
import { describe, expect, test } from 'vitest';
import {
  cycleHarmonics,
  fundamental,
  harmonic,
  meanOf,
  thdPercent,
  valueAtPeak,
} from '../../src/numerics/harmonics.ts';

const phases = (count: number, of: (theta: number) => number): number[] =>
  Array.from({ length: count }, (_, k) => of(((k + 0.5) * Math.PI) / count));
const cycle = (count: number, of: (theta: number) => number): number[] =>
  Array.from({ length: count }, (_, k) => of((2 * Math.PI * k) / count));

describe('harmonics from phase samples', () => {
  test('a sum of cosines gives its own amplitudes, mean and peak value back', () => {
    const samples = phases(
      8,
      (t) => 5 - 3 * Math.cos(t) + 0.4 * Math.cos(2 * t) - 0.3 * Math.cos(3 * t),
    );
    expect(meanOf(samples)).toBeCloseTo(5, 12);
    expect(fundamental(samples)).toBeCloseTo(-3, 12);
    expect(harmonic(samples, 2)).toBeCloseTo(0.4, 12);
    expect(harmonic(samples, 3)).toBeCloseTo(-0.3, 12);
    expect(harmonic(samples, 4)).toBeCloseTo(0, 12);
    expect(thdPercent(samples)).toBeCloseTo((100 * 0.5) / 3, 10);
    expect(valueAtPeak(samples)).toBeCloseTo(5 - 3 + 0.4 - 0.3, 12);
  });

  test('a half-wave rectified cosine has the mean, fundamental and second harmonic of its Fourier series', () => {
    // Handbook series of the half-wave rectified cosine: 1/π, 1/2, 2/(3π).
    const samples = phases(512, (t) => Math.max(0, Math.cos(t)));
    expect(meanOf(samples)).toBeCloseTo(1 / Math.PI, 5);
    expect(fundamental(samples)).toBeCloseTo(0.5, 5);
    expect(harmonic(samples, 2)).toBeCloseTo(2 / (3 * Math.PI), 5);
  });

  test('what the samples cannot tell is not a number', () => {
    expect(meanOf([])).toBeNaN();
    expect(fundamental([4])).toBeNaN();
    expect(harmonic([1, 2, 3], 3)).toBeNaN();
    expect(thdPercent([1, -1])).toBeNaN();
    expect(thdPercent(phases(8, (t) => 7 + Math.cos(2 * t)))).toBeNaN();
    expect(thdPercent(phases(8, () => 0))).toBeNaN();
  });
});

describe('harmonics from whole-cycle samples', () => {
  test('they agree with the fast Fourier transform of mathjs for any wave', () => {
    const mathjs = create(all ?? {}, {});
    for (const count of [16, 31]) {
      const samples = cycle(count, (t) => Math.exp(Math.sin(t) + 0.3 * Math.cos(2 * t)) + 0.1 * t);
      const bins = mathjs.fft(samples) as unknown as { re: number; im: number }[];
      const { mean, amplitudes } = cycleHarmonics(samples);
      expect(mean).toBeCloseTo((bins[0]?.re ?? NaN) / count, 12);
      expect(amplitudes).toHaveLength(Math.ceil(count / 2) - 1);
      amplitudes.forEach((amplitude, index) => {
        const bin = bins[index + 1];
        expect(amplitude).toBeCloseTo((2 * Math.hypot(bin?.re ?? NaN, bin?.im ?? NaN)) / count, 12);
      });
    }
  });

  test('a square wave has 48.3 % of harmonic distortion', () => {
    // Closed form: √(π²/8 − 1) of the fundamental.
    const samples = cycle(4096, (t) => (t + 1e-9 < Math.PI ? 1 : -1));
    expect(cycleHarmonics(samples).thdPercent).toBeCloseTo(
      100 * Math.sqrt(Math.PI ** 2 / 8 - 1),
      1,
    );
  });

  test('an even wave has the same distortion from half a cycle of phases and from the whole cycle', () => {
    const wave = (t: number): number =>
      Math.cos(t) + 0.2 * Math.cos(2 * t) + 0.05 * Math.cos(5 * t);
    expect(cycleHarmonics(cycle(32, wave)).thdPercent).toBeCloseTo(
      thdPercent(phases(16, wave)),
      10,
    );
    expect(cycleHarmonics(cycle(32, wave), 2).thdPercent).toBeCloseTo(20, 10);
  });
});
