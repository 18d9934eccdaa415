import { afterAll, describe, expect, test } from 'vitest';
import { characteristics } from '../../models/characteristics.ts';
import { newTubeState } from '../../models/cathode.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { defaultValues } from '../../src/stage/values.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { leak, modelOf, NEW, numberOf, subjectOf } from '../stage/bench.ts';
import { AMPLIFIER, definition, measuredIn, stageFrom } from './fixtures.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const ECC83 = modelOf('12AX7');
const FRESH = { ...NEW, saturation_A: newTubeState(ECC83).saturation_A };

const CASCODE = [
  'VB b 0 250',
  'RA b p2 100k',
  'X2 p2 g2 k2 TUBE2 heater=k2',
  'VG2 g2 0 90',
  'X1 k2 g1 0 TUBE',
  'VIN g1 0 -1.2 AC 1',
];

describe('small signals', () => {
  test('a cascode has the gain of the textbook formula', async () => {
    const stage = stageFrom(
      definition(CASCODE, {
        gain: 'gain(v(p2), 100)',
        phase: 'phase(v(p2), 100)',
        p2: 'v(p2)',
        k2: 'v(k2)',
        amps: 'i(X1.plate)',
      }),
    );
    const found = await measuredIn(stage, [ECC83, ECC83], FRESH, simulator);
    const [p2, k2] = [numberOf(found, 'p2'), numberOf(found, 'k2')];
    const lower = characteristics(ECC83, { plate_V: k2, grid_V: -1.2 });
    const upper = characteristics(ECC83, { plate_V: p2 - k2, grid_V: 90 - k2 });
    // G. Valley, H. Wallman, "Vacuum Tube Amplifiers" (MIT Radiation Laboratory Series 18, 1948), the cascode (from
    // memory): gain = mu1 (mu2 + 1) R / (R + r2 + (mu2 + 1) r1)
    const textbook =
      (lower.mu * (upper.mu + 1) * 100e3) / (100e3 + upper.rp_ohm + (upper.mu + 1) * lower.rp_ohm);
    expect(textbook).toBeGreaterThan(50);
    expect(numberOf(found, 'gain') / textbook).toBeCloseTo(1, 2);
    expect(Math.abs(numberOf(found, 'phase'))).toBeCloseTo(180, 0);
    expect(numberOf(found, 'amps')).toBeCloseTo((250 - p2) / 100e3, 9);
  });

  test('a low pass beside a tube has the gain and phase of RC theory', async () => {
    // 1/(2 pi R C) = 1 kHz; at the corner 1/sqrt(2) and -45 degrees, a decade above 1/sqrt(101)
    const lines = [...AMPLIFIER, 'RL in o 10k', 'CL o 0 15.915494n'];
    const found = await measuredIn(
      stageFrom(
        definition(lines, {
          corner: 'gain(v(o) / v(in), 1000)',
          phase: 'phase(v(o), 1000)',
          decade: 'dB(gain(v(o), 10000))',
          current: 'gain(i(CL), 1000)',
        }),
      ),
      [ECC83],
      FRESH,
      simulator,
    );
    expect(numberOf(found, 'corner')).toBeCloseTo(Math.SQRT1_2, 6);
    expect(numberOf(found, 'phase')).toBeCloseTo(-45, 4);
    expect(numberOf(found, 'decade')).toBeCloseTo(-10 * Math.log10(101), 4);
    expect(numberOf(found, 'current')).toBeCloseTo(Math.SQRT1_2 / 10e3, 9);
  });
});

describe('sweeps', () => {
  test('follow the tube’s own curve, in either direction', async () => {
    const lines = ['VP p 0 150', 'X1 p g 0 TUBE', 'VG g 0 0', '.dc VG -3 0 0.1'];
    const formulas = {
      current: 'at(i(X1.plate), -1.5)',
      between: 'at(i(X1.plate), -1.23)',
      gm: 'slope(i(X1.plate), -1.5)',
      most: 'max(i(X1.plate))',
      least: 'min(i(X1.plate))',
      place: 'where(i(X1.plate), 0.001)',
      never: 'where(i(X1.plate), 1)',
    };
    const forth = await measuredIn(
      stageFrom(definition(lines, formulas)),
      [ECC83],
      FRESH,
      simulator,
    );
    const back = await measuredIn(
      stageFrom(definition([...lines.slice(0, 3), '.dc VG 0 -3 -0.1'], formulas)),
      [ECC83],
      FRESH,
      simulator,
    );
    const amps = (grid: number): number =>
      ECC83.currents({ plate: 150, grid, cathode: 0 }, newTubeState(ECC83)).plate!;
    for (const found of [forth, back]) {
      expect(numberOf(found, 'current') / amps(-1.5)).toBeCloseTo(1, 4);
      expect(numberOf(found, 'between') / amps(-1.23)).toBeCloseTo(1, 2);
      expect(numberOf(found, 'most') / amps(0)).toBeCloseTo(1, 4);
      expect(numberOf(found, 'least') / amps(-3)).toBeCloseTo(1, 3);
      expect(amps(numberOf(found, 'place'))).toBeCloseTo(1e-3, 5);
      const { gm_mS } = characteristics(ECC83, { plate_V: 150, grid_V: -1.5 });
      expect(numberOf(found, 'gm') / (gm_mS * 1e-3)).toBeCloseTo(1, 1);
      expect(found.measures['never']).toEqual({ noValue: 'it never is 1 within the sweep' });
    }
  });

  test('meet their last point whatever the step', async () => {
    for (const step of [0.1, 0.07, 0.3, 1 / 3]) {
      const points = Math.floor(3 / step + 1e-6);
      const lines = ['VP p 0 150', 'X1 p g 0 TUBE', 'VG g 0 0', `.dc VG -3 0 ${step}`];
      const last = (-3 + points * step).toFixed(9);
      const found = await measuredIn(
        stageFrom(definition(lines, { last: `at(v(g), ${Number(last) - 1e-6})` })),
        [ECC83],
        FRESH,
        simulator,
      );
      expect(found.failed).toBeUndefined();
      expect(numberOf(found, 'last')).toBeCloseTo(Number(last), 5);
    }
  });
});

describe('transients', () => {
  const shaped = (stop: string): string[] => [
    ...AMPLIFIER.slice(0, 6),
    'VIN in 0 0 SIN(0 0.2 1k)',
    'VS s 0 SIN(1 2 1k)',
    'RS s a 1k',
    'D1 a 0 DX',
    '.model DX D(IS=1e-12 N=1)',
    'RF s f 10k',
    'CF f 0 15.915494n',
    `.tran 10u ${stop}`,
  ];

  test('the last cycle has the amplitude of theory, and distortion where there is a diode', async () => {
    const found = await measuredIn(
      stageFrom(
        definition(shaped('8m'), {
          linear: 'fundamental(v(f))',
          clean: 'thd(v(f))',
          mean: 'mean(v(f))',
          swing: 'swing(v(s))',
          bent: 'thd(v(a))',
          output: 'fundamental(v(p))',
        }),
      ),
      [ECC83],
      FRESH,
      simulator,
    );
    expect(numberOf(found, 'linear')).toBeCloseTo(2 * Math.SQRT1_2, 2);
    expect(numberOf(found, 'clean')).toBeLessThan(0.2);
    expect(numberOf(found, 'mean')).toBeCloseTo(1, 2);
    expect(numberOf(found, 'swing')).toBeCloseTo(4, 2);
    expect(numberOf(found, 'bent')).toBeGreaterThan(20);
    // 0.2 V peak through a stage with some forty times (its cathode is not bypassed)
    expect(numberOf(found, 'output')).toBeGreaterThan(4);
    expect(numberOf(found, 'output')).toBeLessThan(14);
  });

  test('one that has not settled is no number', async () => {
    const detector = ['DZ s z DX', 'RZ z y 10k', 'CY y 0 1u', 'RY y 0 10meg'];
    const slow = [...shaped('6m').slice(0, -1), ...detector];
    const found = await measuredIn(
      stageFrom(definition([...slow, '.tran 10u 6m'], { m: 'mean(v(y))', ok: 'v(p)' })),
      [ECC83],
      FRESH,
      simulator,
    );
    expect(found.measures['m']).toMatchObject({
      noValue: expect.stringContaining('has not settled') as string,
    });
    expect(numberOf(found, 'ok')).toBeGreaterThan(100);
  });
});

describe('wear', () => {
  test('a leak, an area and parts act on their own tube and part', async () => {
    const stage = stageFrom(definition(AMPLIFIER, { p: 'v(p)', g: 'v(g)' }));
    const fresh = await measuredIn(stage, [ECC83], FRESH, simulator);
    const leaky = await measuredIn(
      stage,
      [ECC83],
      { ...FRESH, leaks: [leak(['plate', 'grid'], 500e6)] },
      simulator,
    );
    // 1 Mohm and 500 Mohm divide the plate's volts
    expect(numberOf(leaky, 'g')).toBeCloseTo(
      (numberOf(leaky, 'p') - numberOf(leaky, 'g')) / 500,
      1,
    );
    const worn = await measuredIn(stage, [ECC83], { ...FRESH, area: 0.4 }, simulator);
    expect(numberOf(worn, 'p')).toBeGreaterThan(numberOf(fresh, 'p') + 10);
  });

  test('resistors have the default tolerance, supplies the line’s, the swept and the steady none', () => {
    const given = definition([...AMPLIFIER, 'VC c 0 -9', 'RC c 0 1k'], undefined, {
      tolerances: { ra: 2, CIN: 20 },
      steady: ['VC'],
    });
    const stage = stageFrom(given);
    const { knobs } = stage.circuit(defaultValues(stage.values), [ECC83]);
    const high = Object.fromEntries(
      Object.entries(knobs).map(([name, knob]) => [name, knob.toValue(9) / knob.nominal]),
    );
    expect(high['ra']).toBeCloseTo(1.02, 9);
    expect(high['rk']).toBeCloseTo(1.1, 9);
    expect(high['cin']).toBeCloseTo(1.2, 9);
    expect(high['vb']).toBeCloseTo(1.1, 9);
    expect(knobs['vb']!.unknown).toBe('line');
    expect(Object.keys(knobs).sort()).toEqual(['cin', 'ra', 'rc', 'rg', 'rk', 'vb']);
  });
});

describe('against the system’s own ngspice', () => {
  testWithNative('every analysis of the same netlist agrees to 0.1 %', async () => {
    const lines = [
      ...CASCODE,
      'RT p2 0 1meg',
      'VS s 0 SIN(0 1 1k)',
      'RS s 0 1k',
      '.dc VIN -3 0 0.25',
      '.tran 20u 6m',
    ];
    const stage = stageFrom(
      definition(lines, {
        gain: 'gain(v(p2), 1e4)',
        swept: 'at(v(p2), -1)',
        swing: 'swing(v(s))',
      }),
    );
    const values = defaultValues(stage.values);
    const circuit = stage.circuit(values, [ECC83, ECC83]);
    const one = subjectOf(values, { ...FRESH, area: 0.6 });
    const row = { ...one.row, tubes: [one.row.tubes[0]!, one.row.tubes[0]!] };
    const analyses = stage.own!.requests(circuit, row, 'native');
    expect(analyses.map(({ analysis }) => analysis)).toEqual([
      'rest',
      'sweep',
      'ac 10000',
      'transient',
    ]);
    for (const { analysis, request } of analyses) {
      const [ours, theirs] = [await simulator.run(request), runNative(request)];
      if (!ours.ok || !theirs.ok) throw new Error(`${analysis}: ${JSON.stringify([ours, theirs])}`);
      for (const name of request.need.filter((each) => each !== 'time')) {
        const [a, b] = [ours.vectors[name]!, theirs.vectors[name]!];
        const size = Math.max(...b.map(Math.abs));
        const count = analysis === 'transient' ? 1 : a.length;
        for (let i = 0; i < count; i++)
          expect(Math.abs(a.at(-1 - i)! - b.at(-1 - i)!), `${analysis} ${name}`).toBeLessThan(
            1e-3 * size + 1e-9,
          );
      }
    }
  });
});
