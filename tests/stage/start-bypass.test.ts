import { afterAll, describe, expect, test } from 'vitest';
import { printRun } from '../../src/circuit/print.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { frequencyConverter } from '../../src/stage/frequency-converter.ts';
import { WINDING } from '../../src/stage/frequency-converter-values.ts';
import { localOscillator } from '../../src/stage/local-oscillator.ts';
import { CAPACITORS } from '../../src/stage/local-oscillator-values.ts';
import type { Circuit, OscillatorTankPart, Row, Stage } from '../../src/types.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

/** The loop gain of an oscillator whose bypass is sound or weak, against how fast the whole circuit's swing grows from a small kick. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

type Tank = (henries: number, farads: number, ohms: number) => string[];
/** Coils of one winding, nearly perfectly coupled, as the held swing has them. */
const COUPLING = 0.9999;
const tapped =
  (share: number): Tank =>
  (henries, farads, ohms) => [
    `La t k ${(1 - share) ** 2 * henries}`,
    `Lb k 0 ${share ** 2 * henries}`,
    `Kab La Lb ${COUPLING}`,
    `Ct t 0 ${farads}`,
    `Rt t 0 ${ohms}`,
  ];
const wound =
  (share: number): Tank =>
  (henries, farads, ohms) => [
    `La t 0 ${henries}`,
    `Lb sb s ${share ** 2 * henries}`,
    `Kab La Lb ${COUPLING}`,
    `Ct t 0 ${farads}`,
    `Rt t 0 ${ohms}`,
  ];
const split =
  (share: number): Tank =>
  (henries, farads, ohms) => [
    `Lt t u ${henries}`,
    `Rt t u ${ohms}`,
    `Cg t 0 ${farads / (1 - share)}`,
    `Cp u 0 ${farads / share}`,
    'Rd t 0 1e7',
  ];

const FIRST_CYCLES = 5;
const LARGEST_V = 0.02;

/** 1 + 2·R·C times the rate of growth: the loop gain that a tuned circuit of R and C shows (any textbook). */
function grownGain(circuit: Circuit, row: Row, hertz: number, lines: Tank): number {
  const tank = circuit.parts.find(
    (part): part is OscillatorTankPart => part.kind === 'oscillatorTank',
  )!;
  const ohms = circuit.knobs[(tank.impedance as { knob: string }).knob]!.nominal;
  const omega = 2 * Math.PI * hertz;
  const farads = tank.loadedQ / (omega * ohms);
  const { request } = printRun(
    { ...circuit, parts: circuit.parts.filter((part) => part !== tank), watch: ['t'] },
    'grow',
    { as: 'transient', frequency_Hz: hertz, cycles: 60, stepsPerCycle: 100 },
    [row],
  );
  const netlist = request.netlist
    // from the beginning, and finer than a swing of a volt needs
    .replace(/^\.tran (\S+) (\S+) \S+/m, '.tran $1 $2 0')
    .replace(/reltol=\S+ vntol=\S+ abstol=\S+/, 'reltol=1e-5 vntol=1e-8 abstol=1e-12')
    .replace(
      /\.end$/,
      [
        ...lines(1 / (omega * omega * farads), farads, ohms),
        `Ikick 0 t PULSE(0 2u 0 1n 1n ${0.3 / hertz})`,
        '.end',
      ].join('\n'),
    );
  const result = runNative({ ...request, netlist });
  if (!result.ok) throw new Error(result.text);
  const [time, volts] = [result.vectors['time']!, result.vectors['v(t)']!];
  // from each turning point to the next: a direct voltage that the kick left does not count
  const turns = [...time.keys()].filter(
    (i) => i > 0 && volts[i]! > volts[i - 1]! !== (volts[i + 1] ?? volts[i]!) > volts[i]!,
  );
  const peaks = turns.slice(1).flatMap((i, k) => {
    const v = Math.abs(volts[i]! - volts[turns[k]!]!) / 2;
    return v < LARGEST_V && time[i]! > FIRST_CYCLES / hertz
      ? [{ s: time[i]!, log: Math.log(v) }]
      : [];
  });
  const mean = (of: (peak: (typeof peaks)[number]) => number): number =>
    peaks.reduce((sum, peak) => sum + of(peak), 0) / peaks.length;
  const [s, log] = [mean((peak) => peak.s), mean((peak) => peak.log)];
  const rate = mean((peak) => (peak.s - s) * (peak.log - log)) / mean((peak) => (peak.s - s) ** 2);
  return 1 + 2 * ohms * farads * rate;
}

/** A receiver's converter with a line that is at rest at once. */
const CONVERTER = {
  lineCapacitor: 1e-9,
  agcLineResistance: 20e3,
  agcVoltages: [-1],
  // a kick that grows slowly enough to be measured
  tankImpedance: 25e3,
  feedbackShare: 0.1,
};

const CASES: readonly {
  readonly name: string;
  readonly stage: Stage;
  readonly type: string;
  readonly given: Readonly<Record<string, number | string | readonly number[]>>;
  readonly bypass: string;
  readonly weak: number;
  readonly large: number;
  readonly lines: Tank;
}[] = [
  {
    name: 'screens of a converter, coil tap at the cathode',
    stage: frequencyConverter,
    type: '6BE6',
    given: CONVERTER,
    bypass: 'screenBypass',
    weak: 100e-12,
    large: 3e-9,
    lines: tapped(0.1),
  },
  {
    name: 'screens of a converter, winding at the screens',
    stage: frequencyConverter,
    type: '6BE6',
    given: { ...CONVERTER, feedback: WINDING },
    bypass: 'screenBypass',
    weak: 100e-12,
    large: 3e-9,
    lines: wound(0.1),
  },
  {
    name: 'grounded plate of a triode',
    stage: localOscillator,
    type: '6C4',
    given: { oscillatorFrequency: 5e6 },
    bypass: 'plateCapacitor',
    weak: 10e-12,
    large: 1e-9,
    lines: tapped(0.25),
  },
  {
    name: 'plate of a triode on two capacitors',
    stage: localOscillator,
    type: '6C4',
    // a coil that is loose: with a low Q the divider gives way too
    given: { oscillatorFrequency: 5e6, feedback: CAPACITORS, tankQ: 200 },
    bypass: 'plateCapacitor',
    weak: 30e-12,
    large: 1e-9,
    lines: split(0.25),
  },
];

describe('the loop gain at the start, its bypass sound and weak', () => {
  for (const { name, stage, type, given, bypass, weak, large, lines } of CASES)
    testWithNative(
      `${name}: as the growth of a kick tells, within 4 % of a sound one`,
      async () => {
        const both = async (farads: number): Promise<{ quick: number; slow: number }> => {
          const full = { ...given, [bypass]: farads };
          const [out] = await measured(stage, type, full, [NEW], simulator, ['start']);
          const values = valuesOf(stage, full);
          const row = { ...subjectOf(values, NEW).row, drive: 0 };
          const hertz = values['oscillatorFrequency']!.value as number;
          return {
            quick: numberOf(out!, 'loopGain'),
            slow: grownGain(stage.circuit(values, [modelOf(type)]), row, hertz, lines),
          };
        };
        const sound = await both(large);
        const poor = await both(weak);
        for (const { quick, slow } of [sound, poor])
          expect(Math.abs(quick - slow), `${quick} against ${slow}`).toBeLessThan(
            0.04 * sound.slow,
          );
        expect(poor.slow).toBeLessThan(0.7 * sound.slow);
      },
    );

  test('more of a bypass never makes the start harder; one that is open stops it in the middle of the band', async () => {
    const outcomes = await Promise.all(
      [1e-12, 70e-12, 200e-12, 1e-9, 50e-9].map((screenBypass) =>
        measured(frequencyConverter, '6BE6', { screenBypass }, [NEW], simulator, ['start']),
      ),
    );
    const gains = outcomes.map(([out]) => numberOf(out!, 'loopGain'));
    for (let i = 1; i < gains.length; i++) expect(gains[i]!).toBeGreaterThan(gains[i - 1]!);
    expect(gains[0]).toBeLessThan(1);
    expect(outcomes[0]![0]!.measures['oscillatorVoltage']).toMatchObject({
      noValue: expect.stringContaining('does not oscillate'),
    });
    const swings = outcomes.slice(1).map(([out]) => numberOf(out!, 'oscillatorVoltage'));
    for (let i = 1; i < swings.length; i++) expect(swings[i]!).toBeGreaterThan(swings[i - 1]!);
  });
});
