import { afterAll, describe, expect, test } from 'vitest';
import { cycleHarmonics, meanOf } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { gridLeakDetector } from '../../src/stage/grid-leak-detector.ts';
import type { SimResult, Simulator, StageValues, TubeCondition } from '../../src/types.ts';
import { measureSubjects } from '../../src/measure/subjects.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { leak, measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';
import { relative, run, slow } from './detector-bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

/** Modified Bessel functions of the first kind by their power series. */
function bessel(order: 0 | 1, z: number): number {
  let term = order === 0 ? 1 : z / 2;
  let sum = term;
  for (let k = 1; k < 60; k++) sum += term *= (z * z) / 4 / (k * (k + order));
  return sum;
}

/** kT/q that the models take (1050 K). */
const THERMAL_V = 0.0905;

/**
 * In its retarding field the grid is an exponential diode, I = Is exp(v/VT). With v = V + A cos(theta), the mean over a
 * cycle is Is exp(V/VT) I0(A/VT), since the mean of exp(z cos theta) is I0(z). A leak that feeds a fixed current keeps
 * that mean, so V moves by -VT ln I0(A/VT), and follows a slow envelope by dV/dA = -I1(A/VT)/I0(A/VT).
 *
 * Source: K. Clarke, D. Hess, "Communication Circuits: Analysis and Design" (1971), ch. 4 (from memory); I0(1), I1(1):
 * Abramowitz and Stegun, table 9.8 (from memory).
 */
describe('against the exponential diode', () => {
  // 10 nA whatever the grid does: the grid stays in its retarding field
  const given = {
    gridLeak: 1e10,
    gridLeakVoltage: 100,
    sourceResistance: 100,
    gridCapacitor: 20e-12,
  };
  const values: StageValues = {
    ...valuesOf(gridLeakDetector, given),
    gridLeakReturn: { value: 'positive point', tolerance_percent: 0, measured: false },
  };
  const circuit = gridLeakDetector.circuit(values, [modelOf('12AX7')]);
  const row = { ...subjectOf(values, NEW).row, drive: 0 };

  test('the series gives the tabled values', () => {
    expect(bessel(0, 1)).toBeCloseTo(1.2660658778, 9);
    expect(bessel(1, 1)).toBeCloseTo(0.565159104, 9);
  });

  test('a carrier moves the grid by -VT ln I0(A/VT)', async () => {
    // a smaller one moves it by less than the engine's 10 pA of 10 nA
    const amplitudes = [0.04, 0.07, 0.1, 0.15];
    const found = await run(simulator, circuit, { as: 'phases', count: 12 }, row, [
      0,
      ...amplitudes,
    ]);
    const rest = meanOf(found[0]!.of('g'));
    amplitudes.forEach((amplitude, i) => {
      const shift = meanOf(found[i + 1]!.of('g')) - rest;
      const theory = -THERMAL_V * Math.log(bessel(0, amplitude / THERMAL_V));
      expect(relative(shift, theory), `${amplitude} V: ${shift} against ${theory}`).toBeLessThan(
        0.03,
      );
    });
  });

  test('a slow envelope comes out of the grid as I1/I0 of its swing', async () => {
    const depth = 0.02;
    const view = {
      as: 'envelope',
      count: 10,
      moments: 5,
      substeps: 2,
      tone: { frequency_Hz: 0.5, depth },
    } as const;
    const amplitudes = [0.03, 0.08, 0.15];
    const found = await run(simulator, circuit, view, row, amplitudes);
    amplitudes.forEach((amplitude, i) => {
      const swing = cycleHarmonics(slow(found[i]!.of('g'), view.count)).amplitudes[0]!;
      const z = amplitude / THERMAL_V;
      expect(
        relative(swing / (depth * amplitude), bessel(1, z) / bessel(0, z)),
        `${amplitude} V`,
      ).toBeLessThan(0.03);
    });
  });
});

/** Grid current of the model, averaged over a cycle of the carrier at 64 points. */
function meanGrid_A(
  grid_V: number,
  carrier_V: number,
  plate_V: number,
  state: TubeCondition,
): number {
  const model = modelOf('12AX7');
  let sum = 0;
  for (let k = 0; k < 64; k++) {
    const grid = grid_V + carrier_V * Math.cos(((k + 0.5) * Math.PI) / 64);
    sum += model.currents({ plate: plate_V, grid, cathode: 0 }, state).grid!;
  }
  return sum / 64;
}

describe('grid voltage', () => {
  test.for([0, 0.2, 1, 3])(
    'is where the mean grid current times the leak balances it, carrier %f V',
    async (carrier) => {
      const given = {
        supply: 250,
        gridLeak: 2e6,
        sourceResistance: 100,
        ...(carrier > 0 ? { carrier } : {}),
      };
      const [out] = await measured(gridLeakDetector, '12AX7', given, [NEW], simulator, [
        'rest',
        'carrier',
      ]);
      const rest = carrier === 0;
      const loaded = rest ? 0 : (carrier * numberOf(out!, 'carrierKept')) / 100;
      const grid_V = numberOf(out!, rest ? 'gridBiasNoCarrier' : 'gridVoltage');
      const plate_V = rest
        ? meanOf(out!.traces.volts('rest', 0, 'p'))
        : numberOf(out!, 'plateVoltage');
      expect(relative(-2e6 * meanGrid_A(grid_V, loaded, plate_V, NEW), grid_V)).toBeLessThan(5e-3);
    },
  );

  test('reverse current moves it by kT/q times the logarithm of what the grid must then collect', async () => {
    const given = { gridLeak: 2e6, sourceResistance: 100, supply: 250 };
    const reverse_A = 0.3e-6;
    const [healthy, bad] = await measured(
      gridLeakDetector,
      '12AX7',
      given,
      [NEW, { ...NEW, gridEmission_A: reverse_A }],
      simulator,
      ['rest'],
    );
    const [before, after] = [healthy!, bad!].map((out) => numberOf(out, 'gridBiasNoCarrier')) as [
      number,
      number,
    ];
    const [collectedBefore, collectedAfter] = [-before / 2e6, -after / 2e6 + reverse_A];
    // the law is exponential to 5 % at such currents
    expect(
      relative(after - before, THERMAL_V * Math.log(collectedAfter / collectedBefore)),
    ).toBeLessThan(0.1);
  });
});

describe('directions', () => {
  const GIVEN = { carrier: 0.1 };
  const leakages = [0, 1, 3, 10].map((microamperes) => ({
    ...NEW,
    gridEmission_A: microamperes * 1e-6,
  }));

  test('reverse current raises the grid, loads the tuned circuit and takes audio of a weak carrier', async () => {
    const found = await measured(gridLeakDetector, '6J5', GIVEN, leakages, simulator);
    for (const [i, one] of found.entries()) {
      if (i === 0) continue;
      const before = found[i - 1]!;
      expect(numberOf(one, 'gridVoltage')).toBeGreaterThan(numberOf(before, 'gridVoltage'));
      expect(numberOf(one, 'carrierKept')).toBeLessThan(numberOf(before, 'carrierKept'));
      expect(numberOf(one, 'audioOutput')).toBeLessThan(numberOf(before, 'audioOutput'));
    }
    // three microamperes through 2 megohms are an unusable tube by the stage's own limit
    expect(numberOf(found[2]!, 'audioOutput')).toBeLessThan(
      0.7 * numberOf(found[0]!, 'audioOutput'),
    );
  }, 60_000);

  test('leakage from the plate raises the grid, from the cathode lowers the grid leak', async () => {
    const found = await measured(
      gridLeakDetector,
      '12AX7',
      GIVEN,
      [
        NEW,
        ...[500e6, 100e6].map((ohms) => ({ ...NEW, leaks: [leak(['plate', 'grid'], ohms)] })),
        { ...NEW, leaks: [leak(['grid', 'cathode'], 2e6)] },
      ],
      simulator,
    );
    const [healthy, some, much, across] = found as [
      (typeof found)[0],
      (typeof found)[0],
      (typeof found)[0],
      (typeof found)[0],
    ];
    expect(numberOf(some, 'gridVoltage')).toBeGreaterThan(numberOf(healthy, 'gridVoltage'));
    expect(numberOf(much, 'gridVoltage')).toBeGreaterThan(numberOf(some, 'gridVoltage'));
    const [halved] = await measured(
      gridLeakDetector,
      '12AX7',
      { ...GIVEN, gridLeak: 1e6 },
      [NEW],
      simulator,
    );
    for (const id of ['gridVoltage', 'audioOutput', 'carrierKept', 'plateVoltage'])
      expect(relative(numberOf(across, id), numberOf(halved!, id)), id).toBeLessThan(1e-3);
  }, 60_000);

  test('less emission raises the plate and its gain falls; a stronger carrier makes the grid more negative', async () => {
    const areas = [1, 0.7, 0.4].map((area) => ({ ...NEW, area, saturation_A: 0.02 }));
    // a wide bypass: with a small one a weaker tube also damps less
    const given = { carrier: 0.1, plateBypass: 5e-9, audioFrequency: 100 };
    const found = await measured(gridLeakDetector, '12AX7', given, areas, simulator);
    for (let i = 1; i < found.length; i++) {
      expect(numberOf(found[i]!, 'plateVoltage')).toBeGreaterThan(
        numberOf(found[i - 1]!, 'plateVoltage'),
      );
      expect(numberOf(found[i]!, 'audioOutput')).toBeLessThan(
        numberOf(found[i - 1]!, 'audioOutput'),
      );
    }
    let last = Infinity;
    for (const carrier of [0.05, 0.2, 0.8, 2]) {
      const [out] = await measured(gridLeakDetector, '12AX7', { carrier }, [NEW], simulator, [
        'rest',
        'carrier',
      ]);
      expect(numberOf(out!, 'gridVoltage')).toBeLessThan(last);
      last = numberOf(out!, 'gridVoltage');
    }
  }, 60_000);

  test('a weak carrier is detected by square law: second harmonic a quarter of the modulation', async () => {
    // m²/4 over m, known of every square-law detector: Terman, "Radio Engineers' Handbook" (1943), sec. 7 (from memory)
    const given = {
      carrier: 0.02,
      modulation: 60,
      sourceResistance: 100,
      audioFrequency: 30,
      gridCapacitor: 50e-12,
      outputCapacitor: 1e-6,
      supply: 250,
    };
    const [out] = await measured(gridLeakDetector, '12AX7', given, [NEW], simulator);
    expect(numberOf(out!, 'distortion')).toBeGreaterThan(0.93 * 15);
    expect(numberOf(out!, 'distortion')).toBeLessThan(1.03 * 15);
    // which is no overload: that is looked for at 30 %
    expect(numberOf(out!, 'overloadCarrier')).toBeGreaterThan(0.3);
  }, 60_000);
});

test('a leak that returns to a positive point holds the grid higher than one to the cathode', async () => {
  const grids = ['cathode', 'positive point'].map(async (value) => {
    const values: StageValues = {
      ...valuesOf(gridLeakDetector),
      gridLeakReturn: { value, tolerance_percent: 0, measured: false },
    };
    const circuit = gridLeakDetector.circuit(values, [modelOf('6SJ7')]);
    const subjects = [subjectOf(values, NEW)];
    const options = { runId: value.slice(0, 3), steps: ['rest', 'carrier'] };
    const [out] = await measureSubjects(
      gridLeakDetector,
      circuit,
      values,
      subjects,
      simulator,
      options,
    );
    return numberOf(out!, 'gridVoltage');
  });
  const [toCathode, toPositive] = await Promise.all(grids);
  expect(toPositive).toBeGreaterThan(toCathode! + 0.05);
});

describe('smoothness', () => {
  test('a ten-thousandth more of any part changes no measure by a hundredth', async () => {
    const base = {
      supply: 135,
      gridLeak: 2e6,
      plateLoad: 100e3,
      carrier: 0.2,
      gridCapacitor: 250e-12,
    };
    const [before] = await measured(gridLeakDetector, '6SL7GT', base, [NEW], simulator);
    for (const key of Object.keys(base) as (keyof typeof base)[]) {
      const [after] = await measured(
        gridLeakDetector,
        '6SL7GT',
        { ...base, [key]: base[key] * 1.0001 },
        [NEW],
        simulator,
      );
      for (const id of Object.keys(before!.measures)) {
        if (id === 'biasShift') continue;
        expect(
          relative(numberOf(after!, id), numberOf(before!, id)),
          `${id} with ${key}`,
        ).toBeLessThan(0.01);
      }
    }
  }, 120_000);
});

describe('port check', () => {
  const native: Simulator = {
    engine: 'native ngspice',
    workers: 1,
    run: (request): Promise<SimResult> => Promise.resolve(runNative(request)),
    close: () => undefined,
  };
  testWithNative("the system's own ngspice gives every measure within 0.1 %", async () => {
    const values = valuesOf(gridLeakDetector);
    const circuit = gridLeakDetector.circuit(values, [modelOf('6SL7GT')]);
    const subjects = [
      subjectOf(values, NEW),
      subjectOf(values, { ...NEW, area: 0.6, leaks: [leak(['plate', 'grid'], 400e6)] }, 0),
    ];
    const options = { runId: 'port' };
    const ours = await measureSubjects(
      gridLeakDetector,
      circuit,
      values,
      subjects,
      simulator,
      options,
    );
    const theirs = await measureSubjects(
      gridLeakDetector,
      circuit,
      values,
      subjects,
      native,
      options,
    );
    for (const [i, outcome] of ours.entries())
      for (const id of Object.keys(outcome.measures)) {
        const [a, b] = [numberOf(outcome, id), numberOf(theirs[i]!, id)];
        expect(Math.abs(a - b), id).toBeLessThanOrEqual(1e-3 * Math.max(Math.abs(a), 1e-3));
      }
  });
});
