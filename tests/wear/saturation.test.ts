import { afterAll, describe, expect, test } from 'vitest';
import { readFileSync } from 'node:fs';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { quantile } from '../../src/numerics/quantiles.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { Report, TubeCondition } from '../../src/types.ts';
import { readBench } from '../../src/wear/bench.ts';
import type { InstrumentProfile } from '../../src/wear/profile.ts';
import { lineOf, pointAt, saturationAt } from '../../src/wear/saturation.ts';
import { dropFor, readingOf, split, type SplitAssumptions } from '../../src/wear/split.ts';
import { wearFrom } from '../../src/wear/wear.ts';
import { BENCHES, OUTPUT } from './benches.ts';

const at = (s0: number, q = 0.8): SplitAssumptions => ({
  n: 2,
  q,
  s0,
  r: 0.58,
  c: 0.99,
  largestArea: 1.1,
});

describe('all pairs of area and saturation that one emission leaves', () => {
  test('read that emission, and their drop is the forward one', () => {
    for (const q of [1, 0.8, 0.5])
      for (const e of [0.2, 0.6, 1]) {
        const of = at(20, q);
        const line = lineOf(e, 20, of);
        for (const share of [0, 0.3, 0.7, 1]) {
          const point = pointAt(line.least_y * (line.most_y / line.least_y) ** share, line);
          const read = readingOf(point.area, point.s, of);
          expect(read.e).toBeCloseTo(e, 6);
          expect(dropFor(e, point.y, of)).toBeCloseTo(read.d, 6);
        }
      }
  });

  test('a drop with hardly an error gives the closed form back', () => {
    for (const [e, d] of [
      [0.75, 0.12],
      [0.5, 0.25],
    ] as const) {
      const of = at(5);
      const found = saturationAt(0.5, lineOf(e, 5, of), { fraction: d, sd: 1e-4 });
      expect(found.s / split(e, d, of).s).toBeCloseTo(1, 2);
      expect(found.area / split(e, d, of).area).toBeCloseTo(1, 2);
    }
  });

  test('a drop of no worth leaves every size of saturation as likely as any other', () => {
    const line = lineOf(0.9, 250, at(250));
    const [least, most] = [pointAt(line.most_y, line).s, pointAt(line.least_y, line).s];
    const none = saturationAt(0.5, line, { fraction: 0.1, sd: 30 }).s;
    expect(Math.log(none) / Math.log(saturationAt(0.5, line).s)).toBeCloseTo(1, 1);
    // near the middle of the logarithms: only near the largest area does a step of area count for more
    expect(Math.log(none / least) / Math.log(most / least)).toBeGreaterThan(0.45);
    expect(Math.log(none / least) / Math.log(most / least)).toBeLessThan(0.65);
  });

  test('the more it drops, or the less it reads, the less saturation at every share of the draws', () => {
    const s = (e: number, d: number, u: number): number =>
      saturationAt(u, lineOf(e, 100, at(100)), { fraction: d, sd: 0.0122 }).s;
    for (const u of [0.02, 0.25, 0.5, 0.75, 0.98]) {
      for (let d = 0; d < 0.42; d += 0.01)
        expect(s(0.8, d + 0.01, u)).toBeLessThanOrEqual(s(0.8, d, u) * (1 + 1e-9));
      for (let e = 0.1; e < 1; e += 0.05) expect(s(e, 0.3, u)).toBeLessThan(s(e + 0.05, 0.3, u));
    }
  });

  test('has no steps', () => {
    for (const u of [0.05, 0.5, 0.95])
      for (let d = 0; d < 0.45; d += 0.001) {
        const s = (fraction: number): number =>
          saturationAt(u, lineOf(0.6, 100, at(100)), { fraction, sd: 0.0122 }).s;
        expect(Math.abs(Math.log(s(d + 1e-5) / s(d)))).toBeLessThan(0.01);
      }
  });
});

/** An output tube of 0.4 A saturation, tested at 5 mA. */
const KNOWN = BENCHES['percent, X and q known']!;
const SMALL_TEST: InstrumentProfile = {
  ...KNOWN,
  emission: { ...KNOWN.emission, testCurrents_A: { '6V6GT': 0.005 } },
};
const ERRORS = [
  'newSaturation', 'testCurrent', 'compression', 'blendSharpness', 'emissionReading',
  'dropReading', 'cathodeLag', 'workFunction', 'heaterExponent', 'spaceChargeFall',
]; // prettier-ignore

const read = (area: number, saturation_A: number, profile: InstrumentProfile, count: number) => {
  const truth: TubeCondition = {
    area,
    saturation_A,
    gasRatio: 0,
    gridEmission_A: 0,
    contactShift_V: 0,
    interface_ohm: 0,
    leaks: [],
  };
  return latinHypercube(ERRORS, count, 'small test').map((errors) => {
    const readings = readBench(truth, profile, OUTPUT, errors, { starvedHeater: true });
    const wear = wearFrom(readings, profile, OUTPUT);
    const names = wear.unknowns.map(({ name }) => name);
    const drawn = latinHypercube(names, 100, 'i').map((draw) => wear.condition(draw).saturation_A);
    return { wear, low_A: quantile(drawn, 0.05), high_A: quantile(drawn, 0.95) };
  });
};

describe('a large tube at a small test current', () => {
  test('that is good does not come out weak: it cannot be told, and a larger current is advised', () => {
    const all = read(1, 0.4, SMALL_TEST, 60);
    // nine in ten, since a reading may err by more than its accuracy
    expect(all.filter(({ high_A }) => high_A > 0.2).length).toBeGreaterThanOrEqual(54);
    expect(all.filter(({ wear }) => wear.blind !== undefined).length).toBeGreaterThanOrEqual(52);
    const { wear } = all.find((one) => one.wear.blind !== undefined)!;
    expect(wear.blind?.why).toMatch(/too small to tell the saturation/);
    expect(wear.blind?.advice).toMatch(/larger test current, best near 80\smA/);
    expect(wear.summary.find(({ id }) => id === 'saturation')?.value).toBeNull();
    expect(wear.untold.join(' ')).toMatch(/larger test current/);
    expect(wear.plausiblyBad('starvedHeater')[0]?.saturation_A).toBeLessThan(0.1);
    expect(wear.sentences[0]).not.toMatch(/ample/);
  });

  test('that is ruined is no better for it', () => {
    for (const { wear, high_A } of read(0.8, 0.004, SMALL_TEST, 60)) {
      expect(wear.blind).toBeUndefined();
      expect(high_A).toBeLessThan(0.012);
    }
  });

  test('at a test current that suits it, is told', () => {
    for (const { wear, low_A } of read(1, 0.4, KNOWN, 30)) {
      expect(wear.blind).toBeUndefined();
      expect(low_A).toBeGreaterThan(0.1);
    }
  });
});

describe('a rectifier read at a few milliamperes', () => {
  const simulator = nodeSimulator({ workers: 1 });
  afterAll(() => simulator.close());
  const text = readFileSync(
    new URL('../../scenarios/superhet-front/scenario.json', import.meta.url),
    'utf8',
  );
  const verdict = (percent: number, drop_percent: number): Promise<Report> => {
    const scenario = readScenario(
      text.replace(/"5Y3GT": 0\.12/, '"5Y3GT": 0.004'),
      readerContext('scenario.json'),
    );
    expect(scenario.bench.emission.testCurrents_A).toEqual({ '5Y3GT': 0.004 });
    const tube = scenario.tubes.find(({ id }) => id === 'rectifier')!;
    const readings = {
      emission: [{ percent }],
      starvedHeater: { heater_percent: 90, drop_percent },
    };
    const socket = scenario.sockets.find(({ id }) => id === 'V5')!;
    return assess(caseOf(scenario, { ...tube, readings }, socket), simulator, {
      draws: 24,
      moreSeeds: false,
      changes: false,
    });
  };

  test('is undetermined where it reads as a new one, and says what to do', async () => {
    const report = await verdict(98, 3);
    expect(report.verdict).toBe('undetermined');
    expect(report.decidedBy.sentence).toMatch(/test current of about 4\smA/);
    expect(report.decidedBy.sentence).toMatch(/again at a larger test current, best near 200\smA/);
    expect(report.howSure?.advice).toMatch(/larger test current/);
  });

  test('is unsuitable where it drops by a fifth', async () => {
    expect((await verdict(50, 20)).verdict).toBe('unsuitable');
  });
});
