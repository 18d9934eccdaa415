import { describe, expect, test } from 'vitest';
import type { Case, Central } from '../../src/assess.ts';
import type {
  Circuit,
  Judged,
  Measures,
  MeasureSpec,
  Report,
  Stage,
  StageValues,
} from '../../src/types.ts';
import { findChanges, type ChangeTools } from '../../src/verdict/changes.ts';
import { judgeMeasure, overall, type Judgement, type Pair } from '../../src/verdict/judge.ts';
import { compileLimit } from '../../src/verdict/limit.ts';

/**
 * A stage of closed forms (invented): the bias shifts by grid current times grid resistance, which takes as much from the 20 V that are
 * delivered to the grid and filters with it; dissipation and swing rise with the cathode resistor, the gain falls with it.
 */
const spec = (id: string, readings: MeasureSpec['readings']): MeasureSpec => ({
  id,
  title: id,
  unit: '',
  step: 'only',
  what: 'invented',
  of: () => 0,
  readings,
});
const MEASURES = [
  spec('biasShift', ['leakage']),
  spec('delivered', ['leakage']),
  spec('filter', ['emission']),
  spec('dissipation', ['emission']),
  spec('gain', ['emission']),
  spec('swing', ['emission']),
];
const NAMES = MEASURES.map(({ id }) => id);
const limitOf = (measure: string, formula: string, needs?: readonly ['plate_W']) =>
  compileLimit(
    { measure, formula, reason: 'r', source: 's', ...(needs === undefined ? {} : { needs }) },
    NAMES,
    'limits',
  );
const LIMITS = [
  limitOf('biasShift', 'biasShift <= 0.5'),
  limitOf('delivered', 'delivered >= 80'),
  limitOf('filter', 'filter >= 0.11'),
  limitOf('dissipation', 'dissipation <= 12', ['plate_W']),
  limitOf('gain', 'gain >= 0.7 * newTube.gain'),
  limitOf('swing', 'swing >= 20'),
];
const value = (title: string, low: number, high: number, at: number) => ({
  title,
  unit: 'ohm' as const,
  default: at,
  low,
  high,
  tolerance_percent: 10,
});
const stage = {
  values: {
    gridResistor: value('grid resistor', 1e3, 20e6, 1e6),
    cathodeResistor: value('cathode resistor', 10, 10e3, 270),
  },
  measures: MEASURES,
  gridCircuit: ['gridResistor'],
  changeable: [
    { key: 'gridResistor', steps: 'E12', way: 'down' },
    { key: 'cathodeResistor', steps: 'E24' },
  ],
} as unknown as Stage;
const circuit = {
  parts: [{ edits: 'gridResistor' }, { edits: 'cathodeResistor' }],
} as unknown as Circuit;

interface Worn {
  readonly grid_A: number;
  /** Of the gain. */
  readonly gain: number;
  /** Volts of swing a kiloohm of cathode resistance. */
  readonly swing: number;
  readonly watts: number;
}
const measuresOf = (values: StageValues, { grid_A, gain, swing, watts }: Worn): Measures => {
  const at = (key: string): number => values[key]!.value as number;
  return {
    biasShift: grid_A * at('gridResistor'),
    delivered: 100 * (1 - (grid_A * at('gridResistor')) / 20),
    filter: at('gridResistor') / 1e6,
    dissipation: (watts * at('cathodeResistor')) / 270,
    gain: gain * (1 - at('cathodeResistor') / 2000),
    swing: (swing * at('cathodeResistor')) / 1000,
  };
};
const NEW: Worn = { grid_A: 0, gain: 50, swing: 100, watts: 6 };

async function changesFor(worn: Worn, spread = 1, elsewhere: ChangeTools['elsewhere'] = []) {
  const values: StageValues = Object.fromEntries(
    Object.entries(stage.values).map(([key, { default: one }]) => [
      key,
      { value: one, tolerance_percent: 10, measured: false },
    ]),
  );
  const given = { socket: { id: 'V1', stage, values } } as unknown as Case;
  const pairOf = (at: StageValues, factor = 1): Pair => ({
    own: measuresOf(at, { ...worn, grid_A: worn.grid_A * factor }),
    newTube: measuresOf(at, NEW),
  });
  const judge = (at: StageValues): Judgement[] =>
    MEASURES.map((one) =>
      judgeMeasure(
        one,
        LIMITS.filter((limit) => limit.spec.measure === one.id),
        {
          central: pairOf(at),
          // the leak known to a factor either way
          draws: [1 / spread, 1, spread].map((factor) => pairOf(at, factor)),
          failedShare: 0,
          unread: [],
          failed: undefined,
        },
      ),
    );
  const central = {
    newTube: { measures: measuresOf(values, NEW) },
    thisTube: { measures: measuresOf(values, worn) },
    withoutLeak: { measures: measuresOf(values, { ...worn, grid_A: 0 }) },
  } as unknown as Central;
  let [quick, full] = [0, 0];
  const changes = await findChanges(given, circuit, judge(values), LIMITS, central, {
    central: (at) => Promise.resolve(pairOf(at)),
    report: (at, isQuick) => {
      if (isQuick) quick++;
      else full++;
      const judgements = judge(at);
      return Promise.resolve({
        verdict: overall(judgements.map(({ status }) => status)),
        measures: judgements.map((one) => ({ ...one, ...one.spec }) as unknown as Judged),
      } as unknown as Report);
    },
    elsewhere,
  });
  return { changes, quick, full };
}

describe('what would change it', () => {
  test('grid current times grid resistance: 1 µA against 0.5 V asks for at most 500 kΩ, which is 470 kΩ in E12', async () => {
    const { changes } = await changesFor({ ...NEW, grid_A: 1e-6, swing: 100 });
    expect(changes).toHaveLength(1);
    expect(changes[0]).toMatchObject({
      key: 'gridResistor',
      from: 1e6,
      to: 470e3,
      verdict: 'usable',
      brings: ['biasShift'],
    });
    expect(changes[0]!.sentence).toMatch(/^With 470\u00a0kΩ for the grid resistor/);
    expect(changes[0]!.costs).toMatchObject({ measure: 'filter', valueFrom: 1, valueTo: 0.47 });
  });

  test('an interval of a factor 2 asks for half of that: 220 kΩ', async () => {
    const { changes } = await changesFor({ ...NEW, grid_A: 1e-6 }, 2.1);
    expect(changes[0]).toMatchObject({ key: 'gridResistor', to: 220e3 });
  });

  test('where what the interval of today asks for breaks another measure, half way to what central values ask for is tried', async () => {
    // 20 µA: 80 % of 20 V are delivered up to 200 kΩ; with today's interval on top 100 kΩ are asked for, which filter no more
    const { changes } = await changesFor({ ...NEW, grid_A: 20e-6 }, 1.1);
    expect(changes).toMatchObject([
      { key: 'gridResistor', to: 120e3, brings: ['delivered'], verdict: 'unsuitable' },
    ]);
    expect(changes[0]!.sentence).toMatch(/delivered comes back within the limit, and the tube/);
  });

  test('the price of a change is told: more cathode resistance brings back the swing and warms the plate', async () => {
    const { changes } = await changesFor({ ...NEW, swing: 60 });
    expect(changes[0]).toMatchObject({
      key: 'cathodeResistor',
      to: 360,
      verdict: 'usable',
      costs: { measure: 'dissipation', valueFrom: 6, valueTo: 8 },
    });
    expect(changes[0]!.sentence).toMatch(/The price: dissipation 8 instead of 6/);
  });

  test('never one that breaks a rating: more cathode resistance would do for the swing, and burns the plate', async () => {
    const worn = { ...NEW, swing: 60 };
    expect((await changesFor({ ...worn, watts: 11.9 })).changes).toEqual([]);
    expect((await changesFor({ ...worn, watts: 5 })).changes).toMatchObject([
      { key: 'cathodeResistor', to: 360 },
    ]);
  });

  test('a stage that is made worse for every tube is no cure', async () => {
    // gain over a new tube's in the changed circuit would not move; nothing is offered
    expect((await changesFor({ ...NEW, gain: 20, swing: 200 })).changes).toEqual([]);
  });

  test('where no single change does everything, each measure has its own, and what still fails is said', async () => {
    const { changes } = await changesFor({ ...NEW, grid_A: 1e-6, swing: 60 });
    expect(changes.map(({ brings }) => brings)).toEqual([['biasShift'], ['swing']]);
    expect(changes[0]!.sentence).toMatch(/comes back within the limit, and the tube is still/);
  });

  test('never one that brings back a measure and makes another worse that fails already', async () => {
    expect((await changesFor({ ...NEW, swing: 60, gain: 30 })).changes).toEqual([]);
  });

  test('another socket where it is usable as it is', async () => {
    const usable = { verdict: 'usable' } as unknown as Report;
    const { changes } = await changesFor({ ...NEW, gain: 20, swing: 200 }, 1, [
      { id: 'V2', title: 'Driver', report: () => Promise.resolve(usable) },
    ]);
    expect(changes).toMatchObject([
      { key: null, sentence: 'In V2 (Driver) it is usable as it is.' },
    ]);
  });

  test('costs at most twelve reports of few draws and three of the verdict’s own, and nothing where the tube is usable', async () => {
    for (const worn of [
      { ...NEW, grid_A: 1e-6, swing: 60, gain: 30 },
      { ...NEW, grid_A: 3e-4, swing: 10 },
    ]) {
      const { quick, full } = await changesFor(worn, 3);
      expect(quick).toBeLessThanOrEqual(12);
      expect(full).toBeLessThanOrEqual(3);
    }
    expect(await changesFor(NEW)).toEqual({ changes: [], quick: 0, full: 0 });
  });
});
