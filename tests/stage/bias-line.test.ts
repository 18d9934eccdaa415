import { afterAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import type { Case } from '../../src/central.ts';
import { measureSubjects, type Outcome, type Subject } from '../../src/measure/subjects.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { fundamental, meanOf, thdPercent } from '../../src/numerics/harmonics.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { withBeside } from '../../src/stage/bias-line-beside.ts';
import { outputPushPull } from '../../src/stage/output-push-pull.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import type { Circuit, Report, Simulator, TubeCondition } from '../../src/types.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { WRITTEN_BENCH } from '../written-bench.ts';
import { drivenThrough, leak, modelOf, numberOf, valuesOf } from './bench.ts';
import { freshOf } from './pair-bench.ts';

/** Sockets that share a bias supply. Sets, tubes and readings are invented. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const TYPE = '6V6GT';
const BIAS_V = -12.5;
const SUPPLY = { fixedBias: BIAS_V, biasSupplyResistance: 100e3 };
const FRESH = freshOf(TYPE);
const LEAKY: TubeCondition = { ...FRESH, leaks: [leak(['plate', 'grid'], 30e6)] };
const GASSY: TubeCondition = { ...FRESH, gasRatio: 4e-5 };

/** A single-ended stage, and beside it a push-pull stage on the same supply. */
const values = valuesOf(outputSingleEnded, { ...SUPPLY, biasBypass: 1e-6, gridResistor: 220e3 });
const model = modelOf(TYPE);
const beside = {
  stage: outputPushPull,
  values: valuesOf(outputPushPull, { plateSupply: 250, screenSupply: 250, screenResistor: 470 }),
  models: [model, model],
  firstTube: 1,
};
const three: Circuit = withBeside(
  outputSingleEnded.circuit(values, [model, model, model]),
  outputSingleEnded,
  values,
  [beside],
);

const subject = (tubes: readonly TubeCondition[], newTube?: number): Subject => ({
  row: { knobs: {}, tubes: tubes.map((state) => ({ state, leaks: state.leaks })) },
  ...(newTube === undefined ? {} : { newTube }),
});

const measured = (
  circuit: Circuit,
  sets: readonly (readonly TubeCondition[])[],
  steps: readonly string[],
  by: Simulator = simulator,
): Promise<Outcome[]> =>
  measureSubjects(
    outputSingleEnded,
    circuit,
    values,
    sets.map((tubes, i) => subject(tubes, i === 0 ? undefined : 0)),
    by,
    { runId: 'beside', steps, timeout_ms: 120_000 },
  );

describe('three tubes on one bias supply', () => {
  test('lift it by what leaks in all of them, through its resistance (Ohm)', async () => {
    const watched = { ...three, watch: [...three.watch, 'p1_N1', 'g1_N1', 'p2_N1', 'g2_N1'] };
    const [, found] = await measured(
      watched,
      [
        [FRESH, FRESH, FRESH],
        [LEAKY, LEAKY, FRESH],
      ],
      ['rest'],
    );
    const at = (node: string): number => found!.traces.volts('rest', 0, node)[0]!;
    const amps = [at('p') - at('g'), at('p1_N1') - at('g1_N1')].map((volts) => volts / 30e6);
    const lifted = at('c') - BIAS_V;
    expect(lifted).toBeGreaterThan(1.5);
    expect(lifted / (SUPPLY.biasSupplyResistance * (amps[0]! + amps[1]!))).toBeCloseTo(1, 3);
    // the third one leaks nothing, and is lifted with the others
    expect(at('g2_N1')).toBeCloseTo(at('c'), 3);
    // its screens are behind resistors, its plates behind half of the winding: it draws more than it would
    expect(at('p1_N1')).toBeLessThan(250);
  });

  test('stand at the supply itself where none leaks', async () => {
    const [found] = await measured(three, [[FRESH, FRESH, FRESH]], ['rest']);
    expect(found!.traces.volts('rest', 0, 'c')[0]).toBeCloseTo(BIAS_V, 3);
  });

  test('gas in the others leaves less before this one runs away, and where they do this one is lifted too', async () => {
    const [, alone, together, run] = await measured(
      three,
      [
        [FRESH, FRESH, FRESH],
        [GASSY, FRESH, FRESH],
        [GASSY, GASSY, GASSY],
        [FRESH, { ...GASSY, gasRatio: 5e-4 }, { ...GASSY, gasRatio: 5e-4 }],
      ],
      ['rest', 'held'],
    );
    const margin = (of: Outcome | undefined): number => numberOf(of!, 'runawayMargin');
    expect(margin(together)).toBeLessThan(0.9 * margin(alone));
    // both others have run away, and lift the sound one by almost six volts
    expect(numberOf(run!, 'gridVoltage')).toBeGreaterThan(-7);
    expect(numberOf(run!, 'plateCurrent')).toBeGreaterThan(1.4 * numberOf(alone!, 'plateCurrent'));
  });

  test.for<[string, TubeCondition[]]>([
    ['sound', [FRESH, FRESH, FRESH]],
    ['with a leaky and a gassy one', [LEAKY, GASSY, FRESH]],
  ])('%s: phase copies and the settled transient agree', async ([, tubes]) => {
    const drive = 12;
    const stage = drivenThrough(outputSingleEnded, 'driven', [6, drive]);
    const set = valuesOf(stage, {
      ...SUPPLY,
      biasBypass: 1e-6,
      gridResistor: 220e3,
      primaryInductance: 20,
    });
    const circuit = withBeside(stage.circuit(set, [model, model, model]), stage, set, [beside]);
    const [quick] = await measureSubjects(stage, circuit, set, [subject(tubes)], simulator, {
      runId: 'copies',
      steps: ['rest', 'driven'],
    });
    expect(quick!.failed).toBeUndefined();
    const slow = await settledCycle(
      stage,
      circuit,
      set,
      { ...subject(tubes).row, drive },
      'settled',
      simulator,
      {},
    );
    if ('failed' in slow) throw new Error(slow.failed);
    const samples = (node: string) => [
      quick!.traces.volts('driven', 1, node),
      slow.nodes.get(node)!,
    ];
    const [copies, transient] = samples('p');
    expect(Math.abs((fundamental(copies!) / fundamental(transient!)) ** 2 - 1)).toBeLessThan(0.02);
    expect(Math.abs(thdPercent(copies!) - thdPercent(transient!))).toBeLessThan(1);
    for (const node of ['g', 'c', 'p']) {
      const [one, other] = samples(node).map(meanOf);
      expect(Math.abs(one! - other!), `${node}: ${one} against ${other}`).toBeLessThan(
        0.01 * Math.max(Math.abs(other!), 12),
      );
    }
  });

  testWithNative('native ngspice: every measure within 0.1 %', async () => {
    const native: Simulator = {
      engine: 'native ngspice',
      workers: 1,
      run: (request) => Promise.resolve(runNative(request)),
      close: () => undefined,
    };
    const sets = [
      [FRESH, FRESH, FRESH],
      [{ ...GASSY, area: 0.7 }, LEAKY, FRESH],
    ];
    const steps = ['rest', 'driven', 'held'];
    const [ours, theirs] = [
      await measured(three, sets, steps),
      await measured(three, sets, steps, native),
    ];
    ours.forEach(({ measures, failed }, i) => {
      expect(failed).toBeUndefined();
      for (const [id, value] of Object.entries(measures)) {
        const other = theirs[i]!.measures[id];
        if (typeof value !== 'number') expect(typeof other, id).toBe(typeof value);
        else
          expect(Math.abs((other as number) - value), `${id}: ${value}`).toBeLessThan(
            1e-3 * Math.max(Math.abs(value), 1e-3),
          );
      }
    });
  });
});

const BENCH = { ...WRITTEN_BENCH, emission: { ...WRITTEN_BENCH.emission, load_ohm: 100 } };
const tube = (id: string, leakage: object): object => ({
  id,
  type: TYPE,
  readings: {
    emission: { percent: 98 },
    starvedHeater: { heater_percent: 90, drop_percent: 5 },
    leakage: [{ minutes: 10, atVolts: 100, ...leakage }],
    gridCurrent: {
      microamps: 0.05,
      plateVolts: 250,
      screenVolts: 250,
      gridVolts: BIAS_V,
      minutes: 20,
    },
  },
});

type Socket = 'left' | 'right';

function caseIn(socket: Socket, fitted: readonly [string, string], given: object = {}): Case {
  const scenario = readScenario(
    JSON.stringify({
      format: 'stagefit-scenario',
      version: 1,
      title: 'invented',
      bench: BENCH,
      lines: [{ id: 'bias', carries: 'bias', sockets: ['left', 'right'] }],
      sockets: ['left', 'right'].map((id, i) => ({
        id,
        stage: 'output-single-ended',
        tube: [TYPE],
        fitted: [fitted[i]],
        values: { gridResistor: 220e3, ...(i === 0 ? SUPPLY : given) },
      })),
      tubes: [
        tube('sound', { aboveMegohms: 1000 }),
        tube('other', { aboveMegohms: 1000 }),
        tube('leaky', { megohms: 40, path: ['plate', 'grid'] }),
      ],
    }),
    readerContext('bias.json'),
  );
  return caseOf(
    scenario,
    scenario.tubes.find(({ id }) => id === fitted[socket === 'left' ? 0 : 1])!,
    scenario.sockets.find(({ id }) => id === socket)!,
  );
}

const judged = (given: Case): Promise<Report> =>
  assess(given, simulator, { draws: 0, changes: false, moreSeeds: false });
const judgedOf = (report: Report, id: string) =>
  report.measures.find((measure) => measure.id === id)!;
const liftOf = (report: Report, id: string): number =>
  report.line!.tubes.find((one) => one.tube === id)!.lifts_V!;

describe('two sockets with a bias line in common', () => {
  test('both show the leak of one of them, find the line in one place, and say whose it is', async () => {
    const fitted = ['sound', 'leaky'] as const;
    const [left, right] = await Promise.all([
      judged(caseIn('left', fitted)),
      judged(caseIn('right', fitted)),
    ]);
    for (const report of [left, right]) {
      expect(judgedOf(report, 'biasShift').status).toBe('unsuitable');
      expect(judgedOf(report, 'biasShift').reason).toContain('leaky: the grid sits at');
      expect(liftOf(report, 'leaky')).toBeGreaterThan(1);
      expect(Math.abs(liftOf(report, 'sound'))).toBeLessThan(0.02);
      expect(report.line!.sentence).toMatch(/lifts line bias.*leaky in right \d/);
    }
    // Kirchhoff: one node
    expect(Math.abs(liftOf(left, 'leaky') - liftOf(right, 'leaky'))).toBeLessThan(0.01);
    // through the supply alone in the one, through its own grid resistor too in the other
    expect(judgedOf(left, 'biasShift').cause).toContain('through 100\u00a0kΩ');
    expect(judgedOf(right, 'biasShift').cause).toContain('through 320\u00a0kΩ');
    expect(left.companions).toMatchObject([{ id: 'leaky', socket: 'right' }]);
    // the other socket is simulated, and not drawn
    expect(left.circuit.parts.filter(({ kind }) => kind === 'tube')).toHaveLength(1);
  });

  test('neither shows anything where both are sound, as in a socket by itself', async () => {
    for (const socket of ['left', 'right'] as const) {
      const given = caseIn(socket, ['sound', 'other']);
      const report = await judged(given);
      expect(report.verdict).toBe('usable');
      const { line: _, companions: __, ...alone } = given;
      const byItself = await judged(alone);
      for (const id of ['gridVoltage', 'plateCurrent', 'powerOutput'])
        expect(judgedOf(report, id).value! / judgedOf(byItself, id).value!, id).toBeCloseTo(1, 2);
    }
  });

  test('a coupling capacitor that leaks in one is a fault that upsets the other, and is named', async () => {
    const report = await judged(
      caseIn('left', ['sound', 'other'], { couplingLeakage: 10e6, couplingFrom: 200 }),
    );
    // 212 V over 10 megohms and what is in series with it
    const shift = (judgedOf(report, 'gridVoltage').value! - BIAS_V) / ((212 * 100e3) / 10.32e6);
    expect(shift).toBeCloseTo(1, 1);
    expect(report.circuitFault).toMatchObject({ inSoundCircuit: 'usable' });
    expect(report.circuitFault!.sentence).toContain('right');
  });

  test('a damp socket leaks in its own place', async () => {
    const damp = { socketLeakage: 20e6 };
    const [left, right] = await Promise.all(
      (['left', 'right'] as const).map((socket) =>
        judged(caseIn(socket, ['sound', 'other'], damp)),
      ),
    );
    const shifts = [left!, right!].map((report) => judgedOf(report, 'gridVoltage').value! - BIAS_V);
    // 262 V over 20 megohms and what is in series with it, less the plate's own fall
    const amps = 262 / (20e6 + 320e3);
    expect(shifts[0]! / (amps * 100e3)).toBeGreaterThan(0.9);
    expect(shifts[0]! / (amps * 100e3)).toBeLessThan(1.02);
    expect(shifts[1]! / shifts[0]!).toBeCloseTo(3.2, 1);
  });
});
