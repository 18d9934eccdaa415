import { describe, expect, test } from 'vitest';
import { latinHypercube } from '../../src/numerics/latin-hypercube.ts';
import { readCathode } from '../../src/wear/cathode.ts';
import { calibration, compression, testCurrent } from '../../src/wear/instrument.ts';
import { gridPaths, pathAt } from '../../src/wear/paths.ts';
import { EXAMPLE_PROFILE, type InstrumentProfile } from '../../src/wear/profile.ts';
import { wearFrom } from '../../src/wear/wear.ts';
import { BENCHES, OUTPUT, SMALL } from './benches.ts';

const KNOWN = BENCHES['percent, X and q known'] ?? EXAMPLE_PROFILE;
const GOOD = {
  emission: [{ percent: 98 }],
  starvedHeater: { drop_percent: 4 },
  leakage: [{ aboveMegohms: 250, minutes: 10 }],
  heaterCathode: [{ aboveMegohms: 250, minutes: 10 }],
};
const line = (wear: ReturnType<typeof wearFrom>, id: string) =>
  wear.summary.find((one) => one.id === id);

describe('what the readings tell', () => {
  test('a good tube comes out near new, with its saturation as a bound and never a number', () => {
    const wear = wearFrom(GOOD, KNOWN, SMALL);
    const { area, saturation_A, leaks } = wear.condition({});
    expect(area).toBeGreaterThan(0.9);
    expect(area).toBeLessThan(1.1);
    expect(saturation_A).toBeGreaterThan(0.05);
    expect(leaks.find(({ between }) => between.includes('grid'))?.siemens).toBeLessThan(1e-9);
    expect(line(wear, 'reserve')?.value).toBeNull();
    expect(line(wear, 'reserve')?.said).toMatch(/^above/);
    expect(line(wear, 'gridLeak')?.value).toBeNull();
  });

  test('readings of 73 % and a drop of 25 % are a saturated cathode, not a lost area', () => {
    const wear = wearFrom(
      { ...GOOD, emission: [{ percent: 73 }], starvedHeater: { drop_percent: 25 } },
      KNOWN,
      OUTPUT,
    );
    expect(line(wear, 'reserve')?.value).toBeGreaterThan(0.8);
    expect(line(wear, 'reserve')?.value).toBeLessThan(1.5);
    expect(wear.sentences[0]).toMatch(/saturates at/);
    expect(wear.condition({}).saturation_A).toBeCloseTo(
      (line(wear, 'reserve')?.value ?? 0) * 0.08,
      9,
    );
  });

  test('a fully saturated cathode has no area in the report', () => {
    const wear = wearFrom(
      { ...GOOD, emission: [{ percent: 24 }], starvedHeater: { drop_percent: 43 } },
      KNOWN,
      OUTPUT,
    );
    expect(line(wear, 'area')?.value).toBeNull();
    expect(line(wear, 'area')?.said).toMatch(/fully saturated/);
    expect(wear.sentences[0]).toMatch(/fully saturated/);
    expect(line(wear, 'reserve')?.value).toBeLessThan(0.35);
  });

  test('without the test current a percentage leaves saturation in amperes wide', () => {
    const width = (profile: InstrumentProfile): number => {
      const saturation = line(
        wearFrom(
          { ...GOOD, emission: [{ percent: 73 }], starvedHeater: { drop_percent: 25 } },
          profile,
          OUTPUT,
        ),
        'saturation',
      );
      return Math.log((saturation?.high ?? 1) / (saturation?.low ?? 1));
    };
    expect(width(EXAMPLE_PROFILE)).toBeGreaterThan(3 * width(KNOWN));
    expect(wearFrom(GOOD, EXAMPLE_PROFILE, OUTPUT).untold.join(' ')).toMatch(
      /test current of this type is not known/,
    );
  });

  test('an emission that rises, or shelf stock, is a lower bound with the advice to run it', () => {
    const rising = wearFrom(
      {
        emission: [
          { percent: 50, minutes: 3 },
          { percent: 62, minutes: 10 },
        ],
      },
      KNOWN,
      OUTPUT,
    );
    const steady = wearFrom({ emission: [{ percent: 62, minutes: 10 }] }, KNOWN, OUTPUT);
    expect(line(rising, 'area')?.said).toMatch(/^at least/);
    expect(rising.sentences.join(' ')).toMatch(/read again/);
    expect(rising.condition({}).area).toBeCloseTo(steady.condition({}).area, 12);
    expect(line(rising, 'area')?.high).toBeGreaterThan(line(steady, 'area')?.high ?? 9);
    expect(
      wearFrom(
        { emission: [{ percent: 62 }], noticed: ['shelfStock'] },
        KNOWN,
        OUTPUT,
      ).sentences.join(' '),
    ).toMatch(/lower bound/);
    expect(
      wearFrom(
        { emission: [{ percent: 62 }], hoursSinceLastUsed: 90_000 },
        KNOWN,
        OUTPUT,
      ).sentences.join(' '),
    ).toMatch(/lower bound/);
  });

  test('a drop read too early is taken as too small', () => {
    const at = (heldSeconds: number) =>
      wearFrom(
        { emission: [{ percent: 70 }], starvedHeater: { drop_percent: 18, heldSeconds } },
        KNOWN,
        OUTPUT,
      ).condition({});
    expect(at(15).saturation_A).toBeLessThan(0.8 * at(120).saturation_A);
  });

  test('a transconductance stands in for an emission, and disagreement with one is said', () => {
    const wear = wearFrom({ transconductance: { percent: 60 } }, KNOWN, SMALL);
    expect(wear.condition({}).area).toBeGreaterThan(0.59);
    expect(wear.condition({}).area).toBeLessThan(0.75);
    expect(wear.plausiblyBad('emission')).toEqual([]);
    expect(
      wearFrom({ ...GOOD, transconductance: { percent: 50 } }, KNOWN, SMALL).sentences.join(' '),
    ).toMatch(/does not agree/);
  });

  test('shelf observations change advice, never a number', () => {
    const plain = wearFrom(GOOD, KNOWN, SMALL);
    const seen = wearFrom(
      { ...GOOD, noticed: ['blueGlow', 'changesWhenTapped', 'comesAndGoesWithHeat'] },
      KNOWN,
      SMALL,
    );
    expect(seen.condition({})).toEqual(plain.condition({}));
    expect(seen.untold.length).toBe(plain.untold.length + 3);
  });

  test('is pure: the same readings give the same condition under the same draw', () => {
    const draw = { leakPath: 0.7, emissionReading: -1.1, gas: 0.3, newSaturation: 1 };
    expect(wearFrom(GOOD, KNOWN, SMALL).condition(draw)).toEqual(
      wearFrom(GOOD, KNOWN, SMALL).condition(draw),
    );
  });
});

describe('readings that are missing', () => {
  test('count as plausibly bad, never as good', () => {
    const wear = wearFrom({}, KNOWN, OUTPUT);
    expect(wear.plausiblyBad('emission')[0]?.area).toBeLessThan(0.6);
    expect(wear.plausiblyBad('starvedHeater')[0]?.saturation_A).toBeLessThan(
      wear.condition({}).saturation_A,
    );
    // or as saturated as new, and then small: an emission of 60 % without a drop is either
    const [weak, small] = wearFrom({ emission: [{ percent: 60 }] }, KNOWN, OUTPUT).plausiblyBad(
      'starvedHeater',
    );
    expect(small!.area).toBeLessThan(0.65);
    expect(weak!.area).toBeGreaterThan(0.8);
    expect(weak!.saturation_A).toBeLessThan(small!.saturation_A);
    expect(wear.plausiblyBad('leakage')[0]?.leaks.some(({ siemens }) => siemens >= 2e-7)).toBe(
      true,
    );
    expect(wear.plausiblyBad('gridCurrent')[0]?.gasRatio).toBeGreaterThanOrEqual(1e-4);
    expect(
      wear.plausiblyBad('heaterCathode')[0]?.leaks.some(({ siemens }) => siemens >= 1e-6),
    ).toBe(true);
    for (const id of ['saturation', 'gridLeak', 'gas']) expect(line(wear, id)?.value).toBeNull();
  });

  test('readings that were taken are not', () => {
    const wear = wearFrom(GOOD, KNOWN, OUTPUT);
    for (const reading of ['emission', 'starvedHeater', 'leakage', 'heaterCathode'] as const)
      expect(wear.plausiblyBad(reading)).toEqual([]);
  });

  test('a cold leakage reading clears a small tube of grid current by prior, an output tube never', () => {
    expect(wearFrom(GOOD, KNOWN, OUTPUT).plausiblyBad('gridCurrent')).toHaveLength(1);
    expect(wearFrom(GOOD, KNOWN, SMALL).plausiblyBad('gridCurrent')).toEqual([]);
    const wear = wearFrom(GOOD, KNOWN, SMALL);
    expect(wear.untold.join(' ')).toMatch(
      /Gas was not tested: the leakage was read without plate current/,
    );
    expect(line(wear, 'gas')?.known).toBe('prior');
    const withCurrent = { ...KNOWN, leakage: { ...KNOWN.leakage, withPlateCurrent: true } };
    expect(wearFrom(GOOD, withCurrent, OUTPUT).plausiblyBad('gridCurrent')).toEqual([]);
    const read = {
      ...GOOD,
      gridCurrent: {
        microamps: 3,
        plateVolts: 250,
        screenVolts: 250,
        gridVolts: -12.5,
        minutes: 20,
      },
    };
    expect(wearFrom(read, KNOWN, OUTPUT).condition({}).gasRatio).toBeGreaterThan(2e-5);
  });

  test('a leakage read with the grid positive is no leakage reading', () => {
    const profile: InstrumentProfile = {
      ...KNOWN,
      leakage: { ...KNOWN.leakage, grid: 'positive' },
    };
    const wear = wearFrom(GOOD, profile, SMALL);
    expect(wear.plausiblyBad('leakage')).toHaveLength(1);
    expect(wear.untold.join(' ')).toMatch(/grid positive/);
  });

  test('every unknown of the draw is declared, and every draw is finite and physical', () => {
    const readings = {
      ...GOOD,
      leakage: [
        { megohms: 60, minutes: 1 },
        { megohms: 30, minutes: 4 },
      ],
    };
    for (const tube of [OUTPUT, SMALL])
      for (const profile of Object.values(BENCHES)) {
        const wear = wearFrom(
          {
            ...readings,
            emission:
              profile.emission.scale.kind === 'percent'
                ? [{ percent: 60 }]
                : profile.emission.scale.kind === 'zones'
                  ? [{ zone: 'low' }]
                  : profile.emission.scale.kind === 'milliamps'
                    ? [{ milliamps: 15 }]
                    : [{ divisions: 20 }],
          },
          profile,
          tube,
        );
        const names = wear.unknowns.map(({ name }) => name);
        expect(new Set(names).size).toBe(names.length);
        const asked = new Set<string>();
        const spy = new Proxy({}, { get: (_, name) => (asked.add(String(name)), 0) });
        wear.condition(spy);
        wear.newTube(spy);
        expect([...asked].filter((name) => !names.includes(name))).toEqual([]);
        for (const draw of latinHypercube(names, 300, 'finite')) {
          const { area, saturation_A, gasRatio, gridEmission_A, leaks } = wear.condition(draw);
          for (const value of [
            area,
            saturation_A,
            gasRatio,
            gridEmission_A,
            ...leaks.map(({ siemens }) => siemens),
          ]) {
            expect(Number.isFinite(value)).toBe(true);
            expect(value).toBeGreaterThan(0);
          }
          expect(area).toBeLessThan(3);
        }
      }
  });
});

describe('paths of a leak', () => {
  test('sum to one, and favour the neighbours on the base', () => {
    const paths = gridPaths(OUTPUT);
    expect(paths.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 12);
    // Octal beam tube: the screen sits beside the grid (pins 4 and 5; EIA 7AC, from memory).
    expect(paths[0]?.between).toEqual(['grid', 'screen']);
    const capped = gridPaths({ ...OUTPUT, topCap: 'grid' });
    const of = (list: typeof paths, other: string): number =>
      list.find(({ between }) => between[1] === other)?.weight ?? 0;
    expect(of(capped, 'screen')).toBeLessThan(of(paths, 'screen'));
    expect(gridPaths(OUTPUT, ['cathode']).map(({ weight }) => weight)).toEqual([1]);
  });

  test('are drawn in proportion, the likeliest in the middle', () => {
    const paths = gridPaths(OUTPUT);
    expect(pathAt(paths, 0.5)).toBe(paths[0]);
    for (const path of paths) {
      const hits = Array.from({ length: 1000 }, (_, i) => pathAt(paths, (i + 0.5) / 1000)).filter(
        (one) => one === path,
      );
      expect(Math.abs(hits.length / 1000 - path.weight)).toBeLessThan(0.0021);
    }
  });

  test('a stated path is the only one, with weight 1; onPath moves an unstated leak whole', () => {
    const stated = wearFrom(
      { leakage: [{ megohms: 20, minutes: 10, path: ['grid', 'plate'] }] },
      KNOWN,
      OUTPUT,
    );
    expect(stated.paths.map(({ weight }) => weight)).toEqual([1]);
    const open = wearFrom({ leakage: [{ megohms: 20, minutes: 10 }] }, KNOWN, OUTPUT);
    for (const path of open.paths) {
      const grid = open.onPath(path).leaks.filter(({ between }) => between.includes('grid'));
      expect(grid.map(({ between }) => between)).toEqual([path.between]);
    }
  });
});

describe('the instrument', () => {
  test('two tubes of known emission tell its compression', () => {
    // At q = 0.5 areas of .78 and .27 read .90 and .50: closed form, from memory.
    const emission = {
      ...EXAMPLE_PROFILE.emission,
      accuracy_percent: 3,
      knownTubes: [
        { type: '6V6GT', true_percent: 100, reading: 100 },
        { type: '6V6GT', true_percent: 78, reading: 90 },
        { type: '6V6GT', true_percent: 27, reading: 50 },
      ],
    };
    const fit = calibration(emission, OUTPUT);
    expect(Math.abs((fit?.q?.median ?? 0) - 0.5)).toBeLessThan(0.05);
    expect(Math.abs(fit?.lnGain ?? 1)).toBeLessThan(0.04);
    expect(compression(emission, OUTPUT).known).toBe('read');
    expect(wearFrom(GOOD, { ...KNOWN, emission }, OUTPUT).sentences.join(' ')).toMatch(
      /calibrated by 3 known tubes: good to ± \d+ % for this type; .* gives way to \d+ %/,
    );
    // One known tube says the gain the better the more is known of the compression.
    const one = { ...EXAMPLE_PROFILE.emission, knownTubes: [emission.knownTubes[1]!] };
    const terminals = { ...one, openTerminal_V: 20, newTubeTerminal_V: 10 };
    expect(calibration(terminals, OUTPUT)?.sd).toBeLessThan(
      0.7 * (calibration(one, OUTPUT)?.sd ?? 0),
    );
    expect(Math.abs(calibration(terminals, OUTPUT)?.lnGain ?? 1)).toBeLessThan(0.02);
    // Known tubes of another type say less of this one.
    expect(calibration(emission, SMALL)?.sd).toBeGreaterThan((fit?.sd ?? 1) + 0.01);
  });

  test('test volts and load give the test current and the compression through the tube’s own diode law', () => {
    // 0.7 mA/V^1.5 on 15 V through 100 ohm: 15 = V + 0.07·V^1.5, V = 11.8 V (solved by hand), 28 to 32 mA.
    const emission = { ...EXAMPLE_PROFILE.emission, test_V: 15, load_ohm: 100 };
    const { median_A, known } = testCurrent(emission, OUTPUT);
    expect(known).toBe('read');
    expect(15 - 100 * median_A).toBeCloseTo((median_A / 0.7e-3) ** (2 / 3), 6);
    expect(compression(emission, OUTPUT).at(0)).toBeCloseTo(1 - (100 * median_A) / 15, 6);
    expect(testCurrent(EXAMPLE_PROFILE.emission, OUTPUT).known).toBe('prior');
  });

  test('a zone is an interval and no more', () => {
    const zones = BENCHES['three zones'] ?? EXAMPLE_PROFILE;
    const { low, high } =
      line(wearFrom({ emission: [{ zone: 'middle' }] }, zones, SMALL), 'area') ?? {};
    const sharp = line(wearFrom({ emission: [{ percent: 60 }] }, KNOWN, SMALL), 'area');
    expect(Math.log((high ?? 1) / (low ?? 1))).toBeGreaterThan(
      Math.log((sharp?.high ?? 1) / (sharp?.low ?? 1)),
    );
  });

  test('the drop says which end of a zone it was', () => {
    const zones = BENCHES['three zones'] ?? EXAMPLE_PROFILE;
    // Much saturation in a high reading needs more area than a tube has, unless the reading was at the lower end.
    const read = (drop_percent: number) =>
      readCathode(
        { emission: [{ zone: 'high' }], starvedHeater: { drop_percent } },
        zones,
        SMALL,
        'r',
      ).at({}).emission;
    expect(read(25)).toBeLessThan(read(4) - 0.05);
    expect(read(4)).toBeLessThan(1.1);
  });

  test('a reading near the edge of a zone may belong to the next, by the accuracy of the test', () => {
    const zones = BENCHES['three zones'] ?? EXAMPLE_PROFILE;
    const wide = { ...zones, emission: { ...zones.emission, accuracy_percent: 30 } };
    const low = (profile: InstrumentProfile) =>
      line(wearFrom({ emission: [{ zone: 'middle' }] }, profile, SMALL), 'area')?.low ?? 1;
    expect(low(wide)).toBeLessThan(low(zones) - 0.01);
  });
});

describe('the contact potential', () => {
  // European data handbooks hold the ECC83's onset of grid current to −0.9 V, others' to −1.3 V (from memory): its grids are more alike.
  test('spreads as its type does, where that is known', () => {
    const shift = (tube: typeof SMALL) =>
      wearFrom(GOOD, KNOWN, tube).condition({ contactPotential: 1 }).contactShift_V;
    expect(shift(SMALL)).toBeCloseTo(0.182, 6);
    expect(shift({ ...SMALL, contactPotential_sd: 0.12 })).toBeCloseTo(0.12, 6);
    const narrow = wearFrom(GOOD, KNOWN, { ...SMALL, contactPotential_sd: 0.12 });
    expect(narrow.newTube({ contactPotential: -2 }).contactShift_V).toBeCloseTo(-0.24, 6);
  });
});
