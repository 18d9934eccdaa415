import { afterAll, describe, expect, test } from 'vitest';
import { HEATER_KNEE_V, heaterAmps, heaterParts } from '../../models/heater-leak.ts';
import { characteristics } from '../../models/characteristics.ts';
import { printRun, printStart, startFrom } from '../../src/circuit/print.ts';
import { responseAt, smallSignal } from '../../src/circuit/small-signal.ts';
import { measureSubjects } from '../../src/measure/subjects.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import { humCurrents } from '../../src/stage/heater-supply.ts';
import type { Leak, SimRequest, Stage, TubeCondition } from '../../src/types.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

const simulator = nodeSimulator();
afterAll(() => simulator.close());

/** All of it insulation, at the live end: what a textbook reckons with. */
const ohmic = (ohms: number): Leak => ({
  between: ['heater', 'cathode'],
  siemens: 1 / ohms,
  heater: { ohmic_S: 1 / ohms, emission_A: 0, place: 1 },
});
const withEmission = (ohms: number, over = 0.25): Leak => ({
  between: ['heater', 'cathode'],
  siemens: 1 / ohms,
  heater: heaterParts(1 / ohms, 100, over, 1),
});
const leaky = (leak: Leak): TubeCondition => ({ ...NEW, leaks: [leak] });

const PHONO = { cathodeBypass: 0, sourceResistance: 1e3, signalFrequency: 60 };

describe('closed forms (small-signal equivalent of any textbook on vacuum tubes)', () => {
  test('i · Rk · (mu + 1) · RL / (rp + RL + (mu + 1) · Rk) at the plate, with i = 6.3 V through the leakage', async () => {
    const [out] = await measured(
      rcAmplifier,
      '12AX7',
      // a coupling capacitor that is a short at 60 Hz as well
      { ...PHONO, outputCapacitor: 1e-4 },
      [leaky(ohmic(1e6))],
      simulator,
      ['small'],
    );
    const cathode = -numberOf(out!, 'gridBias');
    const { mu, rp_ohm } = characteristics(modelOf('12AX7'), {
      plate_V: numberOf(out!, 'plateVoltage') - cathode,
      grid_V: -cathode,
    });
    const load = 1 / (1 / 100e3 + 1 / 470e3);
    const amps = 6.3e-6;
    const plate = (amps * 1500 * (mu + 1) * load) / (rp_ohm + load + (mu + 1) * 1500);
    expect(numberOf(out!, 'hum') / plate).toBeCloseTo(1, 2);
    // the order of magnitude that is told in the trade: some millivolts on the cathode (common practice, no source)
    const onCathode = (amps * 1500 * (rp_ohm + load)) / (rp_ohm + load + (mu + 1) * 1500);
    expect(onCathode).toBeGreaterThan(3e-3);
    expect(onCathode).toBeLessThan(6e-3);
  });

  test('a bypass takes it down by |Zc| / |Zk + Zc| of the cathode’s impedance', async () => {
    const run = async (cathodeBypass: number) => {
      const [out] = await measured(
        rcAmplifier,
        '12AX7',
        { ...PHONO, cathodeBypass },
        [leaky(ohmic(1e6))],
        simulator,
        ['small'],
      );
      return numberOf(out!, 'hum');
    };
    const [bare, bypassed] = [await run(0), await run(25e-6)];
    const zk = 1 / (1 / 1500 + 101 / (60e3 + 82e3));
    const xc = 1 / (2 * Math.PI * 60 * 25e-6);
    expect(bypassed / bare / (xc / Math.hypot(zk, xc))).toBeCloseTo(1, 1);
  });
});

describe('the law of heater to cathode', () => {
  test('passes through the reading at the volts of the test', () => {
    expect(heaterAmps(withEmission(2e6), 100) * 2e6).toBeCloseTo(100, 6);
    expect(heaterAmps(withEmission(2e6), -100) * 2e6).toBeCloseTo(-100, 6);
  });

  test('an ohmic value taken at 100 V understates the hum of some volts', () => {
    const [ohm, real] = [ohmic(2e6), withEmission(2e6)];
    expect(humCurrents(real, 6.3, 0)[0]! / humCurrents(ohm, 6.3, 0)[0]!).toBeGreaterThan(3);
    // … but at 100 V amplitude the two agree within the shape of a saturated wave
    expect(humCurrents(real, 100, 0)[0]! / humCurrents(ohm, 100, 0)[0]!).toBeLessThan(1.1);
  });

  test('volts enough between the two leave the ohmic part alone', () => {
    const real = withEmission(2e6);
    const far = humCurrents(real, 6.3, 40 + 4 * HEATER_KNEE_V)[0]!;
    expect(far / (6.3 * real.heater!.ohmic_S)).toBeCloseTo(1, 3);
    expect(humCurrents(ohmic(1e6), 5, 30)[0]).toBeCloseTo(5e-6, 12);
  });
});

/** The circuit as the engine prints it for a transient, with its real capacitances, and other lines for its last ones. */
async function asText(
  stage: Stage,
  type: string,
  given: Record<string, number>,
  condition: TubeCondition,
): Promise<{ netlist: (lines: string[]) => string; request: SimRequest }> {
  const values = valuesOf(stage, given);
  const circuit = stage.circuit(values, [modelOf(type)]);
  const row = { ...subjectOf(values, condition).row, drive: 0 };
  const view = { as: 'transient', frequency_Hz: 60, cycles: 4, stepsPerCycle: 200 } as const;
  const start = await simulator.run(printStart(circuit, 'rest', row));
  if (!start.ok) throw new Error(start.text);
  const { request } = printRun(circuit, 'native', view, [row], startFrom(start.vectors));
  const kept = request.netlist
    .split('\n')
    .filter((line) => !/^\.(?:options|tran|end$|ic)/.test(line));
  return {
    request,
    netlist: (lines) => [...kept, ...lines, '.end'].join('\n'),
  };
}

interface Port {
  readonly stage: Stage;
  readonly type: string;
  readonly given: Record<string, number>;
  readonly output: string;
}
const PORTS: readonly Port[] = [
  { stage: rcAmplifier, type: '12AX7', given: {}, output: 'o' },
  { stage: rcAmplifier, type: '6AU6', given: { cathodeBypass: 2e-6 }, output: 'o' },
  { stage: outputSingleEnded, type: '6V6GT', given: {}, output: 'p' },
];

describe('the small-signal view against .ac of native ngspice, on the printed circuit', () => {
  for (const { stage, type, given, output } of PORTS)
    testWithNative(
      `${stage.id}, ${type}: volts per ampere into the cathode, and per volt of signal, within 0.1 %`,
      async () => {
        const condition = leaky(ohmic(3e6));
        const values = valuesOf(stage, given);
        const circuit = stage.circuit(values, [modelOf(type)]);
        const [found] = await measureSubjects(
          stage,
          circuit,
          values,
          [subjectOf(values, condition)],
          simulator,
          { runId: 'ac', steps: [stage.steps[0]!.id] },
        );
        const linear = smallSignal(circuit, {
          ...found!.traces,
          rest: (node) => {
            const volts = found!.traces.volts(stage.steps[0]!.id, 0, node);
            return volts.reduce((sum, x) => sum + x, 0) / volts.length;
          },
        });
        const { netlist, request } = await asText(stage, type, given, condition);
        for (const frequency of [60, 120, 5000]) {
          for (const by of ['signal', { into: 'k' }] as const) {
            // the signal is printed as a function of time: for .ac a source takes its place
            const text = netlist([
              by === 'signal' ? 'Vac in 0 dc 0 ac 1' : 'Iac 0 k dc 0 ac 1',
              `.options reltol=1e-6 vntol=1e-9 abstol=1e-14`,
              `.ac lin 1 ${frequency} ${frequency}`,
            ]).replace(/^BS in .*$/m, by === 'signal' ? '' : 'VS in 0 0');
            const result = runNative({
              ...request,
              netlist: text,
              analysis: 'ac',
              points: 1,
              end: frequency,
            });
            if (!result.ok) throw new Error(result.text);
            const [re, im] = result.vectors[`v(${output})`]!;
            const ours = responseAt(linear, frequency)(by, output);
            expect(
              Math.abs(ours / Math.hypot(re!, im!) - 1),
              `${frequency} Hz, ${JSON.stringify(by)}: ${ours}`,
            ).toBeLessThan(1e-3);
          }
        }
      },
    );
});

testWithNative(
  'a native transient with the heater itself, its law and its bypass: hum within 3 %',
  async () => {
    const given = { cathodeBypass: 10e-6, outputCapacitor: 1e-6, signalFrequency: 60 };
    const leak = withEmission(1e6);
    const [out] = await measured(rcAmplifier, '12AX7', given, [leaky(leak)], simulator, ['small']);
    const { netlist, request } = await asText(rcAmplifier, '12AX7', given, NEW);
    const { ohmic_S, emission_A } = leak.heater!;
    const result = runNative({
      ...request,
      netlist: netlist([
        `Bheat heat 0 V=${6.3 * Math.SQRT2}*sin(${2 * Math.PI * 60}*time)`,
        `Bhk heat k I=${ohmic_S}*v(heat,k)+${emission_A}*tanh(v(heat,k)/${HEATER_KNEE_V})`,
        '.options method=gear reltol=1e-5 vntol=1e-7 abstol=1e-12',
        `.tran ${1 / 12e3} ${60 / 60} ${57 / 60} ${1 / 12e3}`,
      ]),
      analysis: 'tran',
      points: 600,
      end: 1,
    });
    if (!result.ok) throw new Error(result.text);
    const [time, volts] = [result.vectors['time']!, result.vectors['v(o)']!];
    // mean square over three whole cycles, by the trapezoidal rule
    let [mean, square] = [0, 0];
    for (let i = 1; i < time.length; i++) {
      const dt = (time[i]! - time[i - 1]!) / (time.at(-1)! - time[0]!);
      mean += ((volts[i]! + volts[i - 1]!) / 2) * dt;
      square += ((volts[i]! ** 2 + volts[i - 1]! ** 2) / 2) * dt;
    }
    expect(Math.sqrt(square - mean ** 2) / numberOf(out!, 'hum')).toBeCloseTo(1, 1.2);
  },
);

describe('directions', () => {
  const humOf = async (
    given: Record<string, number | string>,
    ...leaks: readonly Leak[]
  ): Promise<number[]> =>
    (
      await measured(rcAmplifier, '12AX7', { ...PHONO, ...given }, leaks.map(leaky), simulator, [
        'small',
      ])
    ).map((out) => numberOf(out, 'hum'));

  test('half the resistance hums twice; a tube without leakage, or with its cathode on chassis, not at all', async () => {
    const [high, low] = await humOf({}, withEmission(4e6), withEmission(2e6));
    expect(low! / high!).toBeCloseTo(2, 1);
    const [none] = await measured(rcAmplifier, '12AX7', PHONO, [NEW], simulator, ['small']);
    expect([numberOf(none!, 'hum'), numberOf(none!, 'humLevel')]).toEqual([0, -120]);
    expect(await humOf({ cathodeResistor: 0, gridResistor: 10e6 }, withEmission(1e6))).toEqual([0]);
  });

  test('cures: a centre tap, a raised supply, direct current, a bypass', async () => {
    const leak = withEmission(2e6);
    const [plain] = await humOf({}, leak);
    for (const cure of [
      { heaterSupply: 'centre-tapped' },
      { heaterRaisedBy: 40 },
      { heaterSupply: 'DC' },
      { cathodeBypass: 25e-6 },
    ])
      expect((await humOf(cure, leak))[0], JSON.stringify(cure)).toBeLessThan(0.7 * plain!);
    const [string] = await humOf({ heaterSupply: 'series string', heaterStringVolts: 90 }, leak);
    expect(string).toBeGreaterThan(3 * plain!);
  });

  test('a path from heater to grid hums through the grid’s impedance', async () => {
    const path: Leak = { between: ['grid', 'heater'], siemens: 1e-8 };
    const at = (sourceResistance: number) => humOf({ sourceResistance }, path);
    const [[low], [high]] = [await at(1e3), await at(470e3)];
    expect(high).toBeGreaterThan(2 * low!);
  });
});
