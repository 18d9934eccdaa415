import { afterAll, describe, expect, test } from 'vitest';
import { diodeModel } from '../../models/model.ts';
import { measureSubjects, type Outcome } from '../../src/measure/subjects.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { findRoot } from '../../src/numerics/root.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rectifier } from '../../src/stage/rectifier.ts';
import type { StageValues, TubeCondition, TubeModel } from '../../src/types.ts';
import { leak, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const FRESH: TubeCondition = { ...NEW, saturation_A: 1.5 };
const HALF: TubeCondition = { ...NEW, area: 0.5, saturation_A: 0.25 };
const LEAKY: TubeCondition = { ...FRESH, leaks: [leak(['plate', 'cathode'], 100e3)] };

/** A filter that is next to nothing: the handbooks give the voltage at its input. */
const BARE = { filterChoke: 0, filterResistance: 1, filterCapacitor: 1e-6 };

const socket = (given: Record<string, number>, plates = 'full wave'): StageValues => ({
  ...valuesOf(rectifier, given),
  plates: { value: plates, tolerance_percent: 0, measured: false },
});

function rectified(
  model: TubeModel,
  values: StageValues,
  conditions: readonly TubeCondition[],
): Promise<Outcome[]> {
  return measureSubjects(
    rectifier,
    rectifier.circuit(values, [model]),
    values,
    conditions.map((condition, i) => subjectOf(values, condition, i === 0 ? undefined : 0)),
    simulator,
    { runId: 'rectifier' },
  );
}

const SOCKETS: readonly (readonly [string, string, StageValues, readonly TubeCondition[]])[] = [
  [
    'full wave, capacitor input',
    '6X4',
    socket({ ...BARE, windingVoltage: 325, sourceResistance: 525, reservoir: 10e-6 }),
    [FRESH, HALF, LEAKY],
  ],
  [
    'half wave, a fifth of ripple',
    '35W4',
    socket(
      {
        ...BARE,
        windingVoltage: 117,
        sourceResistance: 15,
        reservoir: 40e-6,
        loadResistance: 1300,
      },
      'half wave',
    ),
    [FRESH, HALF, LEAKY],
  ],
  [
    'full wave, choke input',
    '5Y3GT',
    socket({
      windingVoltage: 400,
      sourceResistance: 100,
      reservoir: 0,
      filterChoke: 10,
      filterResistance: 100,
    }),
    [FRESH],
  ],
];

describe.for(SOCKETS)('one cycle at once, %s', ([, type, values, conditions]) => {
  test('agrees with the settled transient', async () => {
    const outcomes = await rectified(modelOf(type), values, conditions);
    const circuit = rectifier.circuit(values, [modelOf(type)]);
    for (const [i, outcome] of outcomes.entries()) {
      const row = { ...subjectOf(values, conditions[i]!).row, drive: 1 };
      const settled = await settledCycle(
        rectifier,
        circuit,
        values,
        row,
        'settled',
        simulator,
        {},
        rectifier.steps[0]!.view(values),
      );
      if ('failed' in settled) throw new Error(settled.failed);
      const traces = {
        ...outcome.traces,
        volts: (_: string, __: number, node: string) => settled.nodes.get(node)!,
      };
      const slow = (id: string): number =>
        rectifier.measures.find((one) => one.id === id)!.of(traces, {}, undefined) as number;
      for (const [id, share] of [
        ['supplyVoltage', 0.003],
        ['filterInput', 0.003],
        ['peakPlateCurrent', 0.01],
        ['plateDissipation', 0.01],
        ['inverseVoltage', 0.003],
        ['ripple', 0.06],
      ] as const)
        expect(
          Math.abs(numberOf(outcome, id) / slow(id) - 1),
          `${id}: ${numberOf(outcome, id)} against ${slow(id)}`,
        ).toBeLessThan(share);
    }
  }, 60_000);
});

/** No drop to speak of: what is left is the winding's resistance. */
const IDEAL = diodeModel(
  'ideal',
  { perveance: 1e4, vct: 0, ns: 2, isat_mA: 1e7 },
  { gridPlate: 0, input: 0, output: 0 },
);
const TIRELESS: TubeCondition = { ...NEW, saturation_A: 1e4 };

/**
 * An ideal diode with source resistance Rs into a very large capacitor conducts for phi to either side of the peak V:
 * (n V / pi Rs)(sin phi - phi cos phi) = V cos phi / RL, so tan phi - phi = pi Rs / (n RL), n = 1 or 2 plates; the output is
 * V cos phi, the peak current V (1 - cos phi) / Rs. The limit omega C RL = infinity of Schade's curves (1943).
 */
describe('against the textbook rectifier', () => {
  test.for([
    ['full wave', 2, 100],
    ['full wave', 2, 400],
    ['half wave', 1, 100],
  ] as const)('%s (%i), %i ohm: output and peak current', async ([plates, n, source]) => {
    const load = 4000;
    const values = socket(
      { ...BARE, sourceResistance: source, reservoir: 5e-3, loadResistance: load },
      plates,
    );
    const [out] = await rectified(IDEAL, values, [TIRELESS]);
    const root = findRoot(
      (phi) => Math.tan(phi) - phi - (Math.PI * source) / (n * load),
      1e-3,
      1.5,
    );
    if (root.status !== 'found') throw new Error(root.status);
    const peak = 300 * Math.SQRT2;
    expect(numberOf(out!, 'filterInput') / (peak * Math.cos(root.x))).toBeCloseTo(1, 2);
    expect(
      numberOf(out!, 'peakPlateCurrent') / ((peak * (1 - Math.cos(root.x))) / source),
    ).toBeCloseTo(1, 1);
    // an empty capacitor is a short: all of the peak over the resistance
    expect(numberOf(out!, 'hotSwitchingCurrent') / (peak / source)).toBeCloseTo(1, 1);
  });

  test('choke input gives the mean of the sine, 2 V/pi, less the drop in the resistances', async () => {
    const values = socket({
      reservoir: 0,
      filterChoke: 20,
      sourceResistance: 100,
      filterResistance: 200,
      loadResistance: 5000,
    });
    const [out] = await rectified(IDEAL, values, [TIRELESS]);
    const mean = (2 / Math.PI) * 300 * Math.SQRT2 * (5000 / 5300);
    expect(numberOf(out!, 'supplyVoltage') / mean).toBeCloseTo(1, 2);
  });

  test('a choke below R/1130 at 60 Hz is told (Terman; from memory)', () => {
    const doubts = (choke: number): number =>
      rectifier.doubts!(
        socket({ reservoir: 0, filterChoke: choke, filterResistance: 1, loadResistance: 5000 }),
      ).length;
    expect(doubts((1.02 * 5001) / 1131)).toBe(0);
    expect(doubts((0.98 * 5001) / 1131)).toBe(1);
  });
});

/** Typical operation, receiving tube manual of the 1950s-60s (RCA RC-19 to RC-30), all from memory: volts at the filter's input. */
const TYPICAL: readonly (readonly [
  string,
  string,
  number,
  Record<string, number>,
  number,
  number,
])[] = [
  ['5Y3GT', 'full wave', 350, { sourceResistance: 50, reservoir: 20e-6 }, 0.125, 350],
  ['5Y3GT', 'full wave', 500, { sourceResistance: 50, reservoir: 0, filterChoke: 10 }, 0.125, 390],
  ['6X4', 'full wave', 325, { sourceResistance: 525, reservoir: 10e-6 }, 0.07, 310],
  ['35W4', 'half wave', 117, { sourceResistance: 15, reservoir: 40e-6 }, 0.1, 120],
  ['35W4', 'half wave', 117, { sourceResistance: 15, reservoir: 40e-6 }, 0.05, 140],
];

test.for(TYPICAL)(
  '%s, %s, %i V a plate: the published output voltage within 8 % (from memory)',
  async ([type, plates, windingVoltage, given, amps, volts]) => {
    const values = socket(
      { ...BARE, ...given, windingVoltage, loadResistance: volts / amps },
      plates,
    );
    const [out] = await rectified(modelOf(type), values, [FRESH]);
    const found = numberOf(out!, given['reservoir'] === 0 ? 'supplyVoltage' : 'filterInput');
    expect(Math.abs(found / volts - 1), `${found} V`).toBeLessThan(0.08);
  },
);

test('less area or less saturation never raises B+: the drop grows', async () => {
  const conditions = [
    FRESH,
    ...[0.8, 0.6, 0.4, 0.2].map((area) => ({ ...FRESH, area })),
    ...[0.6, 0.3, 0.15, 0.08].map((saturation_A) => ({ ...FRESH, saturation_A })),
  ];
  const out = await rectified(modelOf('5Y3GT'), socket({}), conditions);
  const volts = out.map((one) => numberOf(one, 'supplyVoltage'));
  for (const from of [1, 5])
    for (let i = from; i < from + 4; i++)
      expect(volts[i]!).toBeLessThan(i === from ? volts[0]! : volts[i - 1]!);
});
