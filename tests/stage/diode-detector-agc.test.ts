import { afterAll, describe, expect, test } from 'vitest';
import { findDevice } from '../../models/catalogue.ts';
import { characteristics } from '../../models/characteristics.ts';
import { tubeModel } from '../../models/tube.ts';
import { nodesOf, printRun } from '../../src/circuit/print.ts';
import { cycleHarmonics, meanOf } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { audioView } from '../../src/stage/diode-detector-agc-measures.ts';
import { diodeDetectorAgc } from '../../src/stage/diode-detector-agc.ts';
import type { TubeCondition, TubeModel } from '../../src/types.ts';
import { leak, measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';
import { evenly, finished, relative, run, slow } from './detector-bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const HALF: TubeCondition = { ...NEW, area: 0.5, saturation_A: 0.01 };
const leaky = (ohms: number): TubeCondition => ({ ...NEW, leaks: [leak(['plate', 'grid'], ohms)] });

/** Every cycle of the carrier, audio at 5 kHz and short time constants, so that it settles within a few audio cycles. */
describe('against the full transient of the same parts', () => {
  const AUDIO_HZ = 5000;
  const CARRIER_HZ = 455e3;
  const circuitAt = (carrier: number) => {
    const values = valuesOf(diodeDetectorAgc, {
      gridResistor: 2e6,
      couplingCapacitor: 100e-12,
      outputCapacitor: 500e-12,
      agcResistor: 220e3,
      agcCapacitor: 500e-12,
      volumeControl: 250e3,
      volume: 50,
      // nearer to a short for the carrier than usual, since the stage takes it as one
      filterCapacitor: 220e-12,
      sourceResistance: 5e3,
      audioFrequency: AUDIO_HZ,
      carrierFrequency: CARRIER_HZ,
      carrier,
    });
    const circuit = diodeDetectorAgc.circuit(values, [withoutCapacitances()]);
    const parts = circuit.parts.map((part) =>
      part.kind === 'tank' ? { ...part, loadedQ: 200 } : part,
    );
    return { values, circuit: { ...circuit, parts } };
  };

  test.for([
    ['new tube, weak carrier', NEW, 0.3],
    ['new tube, medium carrier', NEW, 2],
    ['half-emission tube', HALF, 2],
    ['leaky tube', leaky(100e6), 2],
  ] as const)('%s', { timeout: 60_000 }, async ([, condition, carrier]) => {
    const { values, circuit } = circuitAt(carrier);
    const row = { ...subjectOf(values, condition).row, drive: carrier };
    const view = { ...audioView(values), substeps: 2 };
    const ramp = [0.2 * carrier, carrier];
    const quick = (await run(simulator, circuit, view, row, ramp))[1]!;
    const everywhere = { ...circuit, watch: nodesOf(circuit).filter((node) => node !== '0') };
    const steady = (await run(simulator, everywhere, { as: 'phases', count: 12 }, row, ramp))[1]!;
    const means = Object.fromEntries(
      everywhere.watch.map((node) => [node, meanOf(steady.of(node))]),
    );
    const { vectors } = await finished(
      simulator,
      printRun(
        circuit,
        'slow',
        {
          as: 'transient',
          frequency_Hz: CARRIER_HZ,
          cycles: (4 * CARRIER_HZ) / AUDIO_HZ,
          stepsPerCycle: 80,
          tone: view.tone,
        },
        [row],
        means,
      ).request,
    );
    for (const [node, share] of [
      ['v', 0.02],
      ['w', 0.02],
      ['o', 0.02],
    ] as const) {
      const fast = cycleHarmonics(slow(quick.of(node), view.count));
      const full = cycleHarmonics(
        evenly(vectors['time']!, vectors[`v(${node})`]!, 1 / AUDIO_HZ),
        5,
      );
      expect(
        relative(fast.amplitudes[0]!, full.amplitudes[0]!),
        `audio at ${node}: ${fast.amplitudes[0]} against ${full.amplitudes[0]}`,
      ).toBeLessThan(share);
      if (node === 'o') expect(Math.abs(fast.thdPercent - full.thdPercent)).toBeLessThan(1);
    }
    for (const node of ['v', 'l', 'g', 'p']) {
      const [x, y] = [
        meanOf(quick.of(node)),
        meanOf(evenly(vectors['time']!, vectors[`v(${node})`]!, 1 / AUDIO_HZ)),
      ];
      expect(Math.abs(x - y), `mean of ${node}: ${x} against ${y}`).toBeLessThan(
        0.01 * Math.max(1, Math.abs(y)),
      );
    }
  });
});

/** The Miller capacitance of a triode with this gain is a load at 5 kHz; at 400 Hz it is none, and the stage has none. */
function withoutCapacitances(): TubeModel {
  const { device } = findDevice('6AV6')!;
  const capacitances_pF = {
    gridPlate: 0.01,
    input: 0.1,
    output: 0.1,
    source: 'none',
    provenance: 'fromMemory',
  } as const;
  return tubeModel({
    ...device,
    id: '6AV6-without-capacitances',
    units: device.units.map((unit) => ({ ...unit, capacitances_pF })),
  });
}

test('more phase copies and more moments change nothing, to ten volts of carrier', async () => {
  for (const carrier of [0.3, 3, 10]) {
    const values = valuesOf(diodeDetectorAgc, { carrier });
    const circuit = diodeDetectorAgc.circuit(values, [modelOf('6AV6')]);
    const row = { ...subjectOf(values, NEW).row, drive: carrier };
    const view = audioView(values);
    const [few, many] = await Promise.all(
      [view, { ...view, count: 2 * view.count, moments: 9 }].map(async (each) => {
        const ramp = [0.1, 0.4, 1].map((share) => share * carrier);
        const volts = (await run(simulator, circuit, each, row, ramp))[2]!;
        return cycleHarmonics(slow(volts.of('o'), each.count));
      }),
    );
    expect(relative(few!.amplitudes[0]!, many!.amplitudes[0]!)).toBeLessThan(0.005);
    expect(Math.abs(few!.thdPercent - many!.thdPercent)).toBeLessThan(0.5);
  }
}, 60_000);

/** ln I0 by its power series. */
function logBessel(z: number): number {
  let term = 1;
  let sum = 1;
  for (let k = 1; k < 80; k++) sum += term *= (z / (2 * k)) ** 2;
  return Math.log(sum);
}

/**
 * A diode in its retarding field, I = Is exp(v/VT), into a resistance R: -V/R = Is exp(V/VT) I0(E/VT), since the mean of
 * exp(z cos theta) is I0(z). With V0 at rest: V/VT + ln(-V) rises by -ln I0(E/VT) from there.
 * Source: K. Clarke, D. Hess, "Communication Circuits: Analysis and Design" (1971), ch. 4 (from memory).
 */
test('weak carriers move the detector as the Bessel function of an exponential diode says', async () => {
  const VT = 0.0905;
  const given = { volumeControl: 5e6, agcResistor: 10e6, sourceResistance: 100 };
  const [rest] = await measured(diodeDetectorAgc, '6AV6', given, [NEW], simulator, ['rest']);
  const at0 = -numberOf(rest!, 'agcAtRest');
  for (const carrier of [0.1, 0.2]) {
    const [out] = await measured(
      diodeDetectorAgc,
      '6AV6',
      { ...given, carrier },
      [NEW],
      simulator,
      ['rest', 'carrier'],
    );
    const found = -numberOf(out!, 'agcVoltage');
    // x + ln x = x0 + ln x0 + ln I0, by Newton's steps
    const right = at0 / VT + Math.log(at0 / VT) + logBessel(carrier / VT);
    let x = at0 / VT;
    for (let i = 0; i < 50; i++) x -= (x + Math.log(x) - right) / (1 + 1 / x);
    expect(
      Math.abs((found - at0) / (x * VT - at0) - 1),
      `${carrier} V: ${found} against ${x * VT}`,
    ).toBeLessThan(0.1);
  }
});

test('the gain of the triode is mu·RL/(RL + rp) at its contact bias (any textbook on vacuum tubes)', async () => {
  const [out] = await measured(diodeDetectorAgc, '6AV6', { carrier: 0.3 }, [NEW], simulator);
  const at = characteristics(modelOf('6AV6'), {
    plate_V: numberOf(out!, 'plateVoltage'),
    grid_V: numberOf(out!, 'gridVoltage'),
  });
  const load = 1 / (1 / 270e3 + 1 / 470e3);
  expect(numberOf(out!, 'gain') / ((at.mu * load) / (load + at.rp_ohm))).toBeCloseTo(1, 1);
  // half a volt to one: the contact bias of receiving tubes on 10 Mohm (common practice, no source)
  expect(numberOf(out!, 'gridVoltage')).toBeLessThan(-0.4);
  expect(numberOf(out!, 'gridVoltage')).toBeGreaterThan(-1);
});

test('directions: a plate leak lifts the grid, less area lifts the plate, a leak at the diode lifts the AGC line', async () => {
  const out = await measured(
    diodeDetectorAgc,
    '6AV6',
    {},
    [NEW, leaky(1e9), leaky(200e6), leaky(50e6), HALF],
    simulator,
    ['rest'],
  );
  for (let i = 1; i < 4; i++)
    expect(numberOf(out[i]!, 'gridVoltage')).toBeGreaterThan(numberOf(out[i - 1]!, 'gridVoltage'));
  expect(numberOf(out[4]!, 'plateVoltage')).toBeGreaterThan(numberOf(out[0]!, 'plateVoltage'));
  const lines = await Promise.all(
    [1e12, 100e6, 20e6, 5e6].map(async (diodeLeak) =>
      numberOf(
        (await measured(diodeDetectorAgc, '6AV6', { diodeLeak }, [NEW], simulator, ['rest']))[0]!,
        'agcAtRest',
      ),
    ),
  );
  for (let i = 1; i < lines.length; i++) expect(lines[i]!).toBeGreaterThan(lines[i - 1]!);
});
