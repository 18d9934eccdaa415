import { afterAll, describe, expect, test } from 'vitest';
import { heaterParts } from '../../models/heater-leak.ts';
import { printRun, printStart, startFrom } from '../../src/circuit/print.ts';
import { phasorAt, smallSignal } from '../../src/circuit/small-signal.ts';
import { measureSubjects, type Outcome } from '../../src/measure/subjects.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { outputPushPull } from '../../src/stage/output-push-pull.ts';
import { meanVolts } from '../../src/stage/signals.ts';
import type { Leak, Stage, Status, TubeCondition } from '../../src/types.ts';
import { judgeMeasure } from '../../src/verdict/judge.ts';
import { limitsFor } from '../../src/verdict/limit.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { modelOf, numberOf } from './bench.ts';
import { freshOf, measuredPairs, pairSubject, valuesWith, type Pair } from './pair-bench.ts';

/** Hum of a push-pull stage by leakage from its two heaters, which are on one winding. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const TYPE = '6V6GT';
const FRESH = freshOf(TYPE);
const WORN: TubeCondition = { ...FRESH, area: 0.7, saturation_A: 0.3 * FRESH.saturation_A };
const path = (ohms: number): Leak => ({
  between: ['heater', 'cathode'],
  siemens: 1 / ohms,
  heater: heaterParts(1 / ohms, 100, 0.25, 1),
});
const leaky = (ohms: number, tube: TubeCondition = FRESH): TubeCondition => ({
  ...tube,
  leaks: [path(ohms)],
});

const SEPARATE = { cathodes: 'separate', cathodeResistor: 500, cathodeBypass: 0 };
/** Told after the step that it needs: the driven one, for the signal that it is compared with, takes ten times as long. */
const QUICK: Stage = {
  ...outputPushPull,
  measures: outputPushPull.measures.map((measure) =>
    measure.id === 'hum' ? { ...measure, step: 'small' } : measure,
  ),
};
const humOf = async (
  given: Readonly<Record<string, number | string | null>>,
  ...pairs: readonly Pair[]
): Promise<number[]> =>
  (await measuredPairs(QUICK, TYPE, given, pairs, simulator, ['adjust', 'rest', 'small'])).map(
    (out) => numberOf(out, 'hum'),
  );

testWithNative(
  'the small-signal view against .ac of native ngspice, with taps, feedback and cathodes of their own: within 0.1 %, with its phase',
  async () => {
    const given = { ...SEPARATE, cathodeBypass: 10e-6, screenTap: 40, feedback: 12 };
    const values = valuesWith(outputPushPull, given);
    const circuit = outputPushPull.circuit(values, [modelOf(TYPE), modelOf(TYPE)]);
    const knobs = { feedbackShare: 0.03, feedbackShare2: -0.03 };
    const subject = pairSubject(values, [leaky(3e6), WORN]);
    const row = { ...subject.row, knobs, drive: 0 };
    const [found] = await measureSubjects(
      outputPushPull,
      circuit,
      values,
      [{ ...subject, row }],
      simulator,
      { runId: 'ac', steps: ['rest'] },
    );
    const linear = smallSignal(circuit, {
      ...found!.traces,
      rest: (node) => (node === '0' ? 0 : meanVolts(found!.traces, 'rest', 0, node)),
    });
    const start = await simulator.run(printStart(circuit, 'start', row));
    if (!start.ok) throw new Error(start.text);
    const view = { as: 'transient', frequency_Hz: 60, cycles: 4, stepsPerCycle: 200 } as const;
    const { request } = printRun(circuit, 'native', view, [row], startFrom(start.vectors));
    for (const frequency of [60, 2000])
      for (const by of ['signal', { into: 'k1' }, { into: 'k2' }] as const) {
        const source = (name: string, volts: number): string =>
          by === 'signal'
            ? `V${name} in${name} fb${name} 0 ac ${volts}`
            : `V${name} in${name} fb${name} 0`;
        const netlist = [
          ...request.netlist
            .split('\n')
            .filter((line) => !/^(?:\.(?:options|tran|end$|ic)|BS[12] )/.test(line)),
          source('1', 1),
          // the second grid's source swings the other way
          source('2', -1),
          ...(by === 'signal' ? [] : [`Iac 0 ${by.into} 0 ac 1`]),
          '.options reltol=1e-6 vntol=1e-9 abstol=1e-14',
          `.ac lin 1 ${frequency} ${frequency}`,
          '.end',
        ].join('\n');
        const result = runNative({
          ...request,
          netlist,
          analysis: 'ac',
          points: 1,
          end: frequency,
        });
        if (!result.ok) throw new Error(result.text);
        const [re, im] = result.vectors['v(out)']!;
        const [x, y] = phasorAt(linear, frequency)(by, 'out');
        expect(
          Math.hypot(x - re!, y - im!) / Math.hypot(re!, im!),
          `${frequency} Hz, ${JSON.stringify(by)}: ${x}, ${y} against ${re}, ${im}`,
        ).toBeLessThan(1e-3);
      }
  },
);

describe('hum of two heaters on one winding', () => {
  test('equal leaks of equal tubes cancel; one alone hums by Ohm’s law and the tube’s, and other than equal ones by their difference', async () => {
    const [both, first, second, uneven] = await humOf(
      SEPARATE,
      [leaky(2e6), leaky(2e6)],
      [leaky(2e6), FRESH],
      [FRESH, leaky(2e6)],
      [leaky(1e6), leaky(2e6)],
    );
    expect(both!).toBeLessThan(1e-3 * first!);
    expect(second! / first!).toBeCloseTo(1, 4);
    expect(uneven! / first!).toBeCloseTo(1, 1);
  });

  test('on a common cathode a leak of one tube reaches both: equal tubes cancel it, a worn one does not', async () => {
    const common = { cathodeBypass: 0 };
    const [equal, worn] = await humOf(common, [leaky(2e6), FRESH], [leaky(2e6), WORN]);
    const [apart] = await humOf(SEPARATE, [leaky(2e6), FRESH]);
    expect(equal!).toBeLessThan(1e-2 * apart!);
    expect(worn!).toBeGreaterThan(10 * equal!);
    expect(worn!).toBeLessThan(apart!);
  });

  test('with the centre of the winding at chassis equal leaks do not cancel: which half each sits in is not known', async () => {
    const tapped = { ...SEPARATE, heaterSupply: 'centre-tapped' };
    const [both, one] = await humOf(tapped, [leaky(2e6), leaky(2e6)], [leaky(2e6), FRESH]);
    expect(both! / one!).toBeCloseTo(Math.SQRT2, 3);
  });

  test('none without a leak, or on chassis; less with a bypass, with DC, and by the loop of feedback; more with the heaters raised to the cathodes, where they emit', async () => {
    const pair: Pair = [leaky(1e6), FRESH];
    const [none, plain] = await humOf(SEPARATE, [FRESH, FRESH], pair);
    expect(none).toBe(0);
    expect(await humOf({ fixedBias: -19 }, pair)).toEqual([0]);
    for (const cure of [{ cathodeBypass: 50e-6 }, { heaterSupply: 'DC' }])
      expect((await humOf({ ...SEPARATE, ...cure }, pair))[0], JSON.stringify(cure)).toBeLessThan(
        0.7 * plain!,
      );
    const [raised] = await humOf({ ...SEPARATE, heaterRaisedBy: 19 }, pair);
    expect(raised!).toBeGreaterThan(2 * plain!);
    // 12 dB of it at small signals, 60 Hz through the same couplings
    const fed = await humOf(
      { ...SEPARATE, feedback: 12, couplingCapacitor: 1e-5, primaryInductance: 400 },
      [FRESH, FRESH],
      pair,
    );
    const open = await humOf(
      { ...SEPARATE, couplingCapacitor: 1e-5, primaryInductance: 400 },
      [FRESH, FRESH],
      pair,
    );
    expect(20 * Math.log10(open[1]! / fed[1]!)).toBeCloseTo(12, 0);
  });

  test('over the output at the stated drive it is held to the limit: a short to the heater is refused, a sound pair is not', async () => {
    const [sound, short] = await measuredPairs(
      outputPushPull,
      TYPE,
      SEPARATE,
      [
        [FRESH, FRESH],
        [leaky(30e3), FRESH],
      ],
      simulator,
      ['adjust', 'rest', 'small', 'driven'],
    );
    const limits = limitsFor(
      outputPushPull.limits.filter(({ measure }) => measure === 'humLevel'),
      {},
      ['humLevel'],
      'limits',
    );
    const statusOf = (own: Outcome): Status =>
      judgeMeasure(
        outputPushPull.measures.find(({ id }) => id === 'humLevel')!,
        limits,
        {
          central: { own: own.measures, newTube: sound!.measures },
          draws: [],
          failedShare: 0,
          unread: [],
          failed: undefined,
        },
      ).status;
    expect([statusOf(sound!), statusOf(short!)]).toEqual(['usable', 'unsuitable']);
    const signal_V = Math.sqrt(8e3 * numberOf(short!, 'powerOutput'));
    expect(numberOf(short!, 'humLevel')).toBeCloseTo(
      20 * Math.log10(numberOf(short!, 'hum') / signal_V),
      9,
    );
  });
});
