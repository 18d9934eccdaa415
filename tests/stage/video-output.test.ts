import { afterAll, describe, expect, test } from 'vitest';
import { characteristics } from '../../models/characteristics.ts';
import { fundamental, meanOf } from '../../src/numerics/harmonics.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { videoOutput } from '../../src/stage/video-output.ts';
import { DIRECT } from '../../src/stage/video-output-values.ts';
import type { TubeCondition } from '../../src/types.ts';
import { leak, measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

/** A new cathode of such a tube: full currents are a tenth of a new cathode's saturation, and gm less than that off. */
const FRESH: TubeCondition = { ...NEW, saturation_A: 0.25 };

const of = (given: Record<string, number | string>, ...tubes: TubeCondition[]) =>
  measured(videoOutput, '12BY7A', given, tubes, simulator);

/** A source without resistance and a load that is no more than its resistance and capacitance. */
const BARE = { sourceResistance: 0, shuntPeaking: 0, seriesPeaking: 0, strayCapacitance: 100e-12 };

describe('closed forms', () => {
  test('gain gm·R/(1 + gk·Rk) with an unbypassed cathode (any textbook on vacuum tubes)', async () => {
    const [out] = await of({ sourceResistance: 0 }, FRESH);
    const cathode = -numberOf(out!, 'gridBias');
    const tube = characteristics(modelOf('12BY7A'), {
      plate_V: numberOf(out!, 'plateVoltage') - cathode,
      screen_V: 180 - cathode,
      grid_V: -cathode,
    });
    const gm = tube.gm_mS * 1e-3;
    // the screen takes its share of the cathode current, and of its change
    const share = 1 + tube.screenCurrent_mA! / tube.plateCurrent_mA;
    const load = 1 / (1 / 3900 + 1 / tube.rp_ohm);
    // … and falls as the cathode rises from it: 1/mu of grid and screen
    const { mu } = modelOf('12BY7A').parameters as { mu: number };
    const expected = (gm * load) / (1 + gm * share * (1 + 1 / mu) * 100);
    expect(Math.abs(numberOf(out!, 'gain') / expected - 1)).toBeLessThan(0.03);
  });

  test('rise time 2.2·R·C without coils', async () => {
    const [out] = await of(BARE, FRESH);
    const { output, gridPlate } = modelOf('12BY7A').capacitances;
    const farads = 100e-12 + output + gridPlate;
    // the plate resistance stands beside the load; the cathode resistor raises it by no more than its own factor
    const { rp_ohm } = characteristics(modelOf('12BY7A'), {
      plate_V: numberOf(out!, 'plateVoltage') + numberOf(out!, 'gridBias'),
      screen_V: 180 + numberOf(out!, 'gridBias'),
      grid_V: numberOf(out!, 'gridBias'),
    });
    const rise = (load: number): number => Math.log(9) * load * farads;
    expect(numberOf(out!, 'riseTime')).toBeGreaterThan(0.995 * rise(1 / (1 / 3900 + 1 / rp_ohm)));
    expect(numberOf(out!, 'riseTime')).toBeLessThan(1.005 * rise(3900));
    expect(numberOf(out!, 'overshoot')).toBeLessThan(0.2);
  });

  test('a coil of 0.414·R²·C makes it 1.72 times as wide with 3 % of overshoot (Valley and Wallman, “Vacuum Tube Amplifiers”, 1948, ch. 2, from memory)', async () => {
    const { output, gridPlate } = modelOf('12BY7A').capacitances;
    const farads = 100e-12 + output + gridPlate;
    const [plain] = await of(BARE, FRESH);
    const [peaked] = await of({ ...BARE, shuntPeaking: 0.414 * 3900 ** 2 * farads }, FRESH);
    const ratio = numberOf(plain!, 'riseTime') / numberOf(peaked!, 'riseTime');
    expect(ratio).toBeGreaterThan(1.72 * 0.92);
    expect(ratio).toBeLessThan(1.72 * 1.1);
    expect(Math.abs(numberOf(peaked!, 'overshoot') - 3.1)).toBeLessThan(1);
  });

  test('a published video stage: 6CL6, 300 V, 3900 ohm, screen through 24 kohm, −2 V: 3 V peak to peak make 132 V, within 12 % (receiving tube manual, from memory)', async () => {
    const [out] = await measured(
      videoOutput,
      '6CL6',
      {
        supply: 300,
        plateLoad: 3900,
        screenSupply: 300,
        screenDropper: 24e3,
        cathodeResistor: 54,
        cathodeBypass: 1e-3,
        sourceResistance: 0,
        drive: 3,
      },
      [FRESH],
      simulator,
    );
    expect(Math.abs(numberOf(out!, 'outputSwing') / 132 - 1)).toBeLessThan(0.12);
    expect(Math.abs(numberOf(out!, 'plateCurrent') / 30e-3 - 1)).toBeLessThan(0.15);
  });
});

describe('directions', () => {
  test('a cathode that saturates compresses the whites first', async () => {
    const out = await of(
      {},
      ...[0.25, 0.08, 0.045].map((saturation_A) => ({ ...NEW, saturation_A })),
    );
    for (let i = 1; i < out.length; i++) {
      expect(numberOf(out[i]!, 'whiteCompression')).toBeGreaterThan(
        numberOf(out[i - 1]!, 'whiteCompression'),
      );
      expect(numberOf(out[i]!, 'outputSwing')).toBeLessThan(numberOf(out[i - 1]!, 'outputSwing'));
      expect(numberOf(out[i]!, 'whiteReserve')).toBeLessThan(numberOf(out[i - 1]!, 'whiteReserve'));
    }
    // at rest the same tube looks well: peaks tell
    expect(numberOf(out[2]!, 'plateCurrent') / numberOf(out[0]!, 'plateCurrent')).toBeGreaterThan(
      0.75,
    );
  });

  test('less area: less gain, a slower edge no more than a little', async () => {
    const out = await of({}, ...[1, 0.7, 0.5].map((area) => ({ ...NEW, area })));
    for (let i = 1; i < out.length; i++)
      expect(numberOf(out[i]!, 'gain')).toBeLessThan(numberOf(out[i - 1]!, 'gain'));
    expect(numberOf(out[2]!, 'riseTime') / numberOf(out[0]!, 'riseTime')).toBeCloseTo(1, 1);
  });

  test('a leak into half a megohm changes the brightness; into a direct coupling it does not', async () => {
    const leaky = { ...FRESH, leaks: [leak(['plate', 'grid'], 100e6)] };
    const [, behind] = await of({}, FRESH, leaky);
    const [, direct] = await of({ gridFeed: DIRECT }, FRESH, leaky);
    expect(numberOf(behind!, 'brightnessShift')).toBeGreaterThan(5);
    expect(numberOf(direct!, 'brightnessShift')).toBeLessThan(0.5);
  });
});

test('phase copies against the settled transient, coils and strays included: swing within 1 %, mean within 1 %', async () => {
  const given = { couplingCapacitor: 10e-9, screenDropper: 5e3, screenBypass: 0.1e-6, drive: 4 };
  const worn = { ...NEW, area: 0.7, saturation_A: 0.06 };
  const values = valuesOf(videoOutput, given);
  const circuit = videoOutput.circuit(values, [modelOf('12BY7A')]);
  const [quick] = await measured(videoOutput, '12BY7A', given, [worn], simulator);
  const row = { ...subjectOf(values, worn).row, drive: 2 };
  const slow = await settledCycle(videoOutput, circuit, values, row, 'slow', simulator, {});
  if ('failed' in slow) throw new Error(slow.failed);
  const [a, b] = [quick!.traces.volts('large', 0, 'p'), slow.nodes.get('p')!];
  expect(Math.abs(fundamental(a) / fundamental(b))).toBeCloseTo(1, 2);
  expect(meanOf(a) / meanOf(b)).toBeCloseTo(1, 2);
}, 60_000);
