import { afterAll, describe, expect, test } from 'vitest';
import { nodesOf, printRun } from '../../src/circuit/print.ts';
import { readRows } from '../../src/circuit/read.ts';
import { lastCycles } from '../../src/measure/settled.ts';
import { meanOf } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { KEYED_LEVELS, KEYED_VIEW, meanOverLine } from '../../src/stage/keyed-agc-measures.ts';
import { keyedAgc } from '../../src/stage/keyed-agc.ts';
import type { TubeCondition } from '../../src/types.ts';
import { finished } from './detector-bench.ts';
import { leak, measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const HALF: TubeCondition = { ...NEW, area: 0.5, saturation_A: 0.01 };
const leaky = (ohms: number): TubeCondition => ({ ...NEW, leaks: [leak(['plate', 'grid'], ohms)] });

describe('levels with their shares of a line, against the transient of the same pulses', () => {
  const LINE_HZ = 15750;
  // smaller capacitors than in sets, for transients that settle soon; the plate's sags by a thirtieth in one
  const given = {
    plateCapacitor: 10e-9,
    filterCapacitor: 10e-9,
    cathodeBypass: 200e-9,
    dividerUpper: 100e3,
    // and a grid that is not late on the tips
    gridResistor: 2e3,
  };

  test.for([
    ['new tube', NEW, -4],
    ['half-emission tube', HALF, -3],
    ['leaky tube', leaky(20e6), -4],
  ] as const)('%s', { timeout: 60_000 }, async ([, condition, tip]) => {
    const values = valuesOf(keyedAgc, { ...given, tipVoltage: 120 + tip });
    const circuit = keyedAgc.circuit(values, [modelOf('6AU6')]);
    const [quick] = await measured(
      keyedAgc,
      '6AU6',
      { ...given, tipVoltage: 120 + tip },
      [condition],
      simulator,
    );
    // from the first level on, for twice the slowest time constant: a wrong answer would have drifted by most of its error
    const everywhere = { ...circuit, watch: nodesOf(circuit).filter((node) => node !== '0') };
    const row = { ...subjectOf(values, condition).row, drive: 1 };
    const levels = await finished(
      simulator,
      printRun(everywhere, 'levels', KEYED_VIEW, [row]).request,
    );
    const steady = readRows(everywhere, KEYED_VIEW, 1, levels)[0]!;
    const start = Object.fromEntries(everywhere.watch.map((node) => [node, steady.of(node)[0]!]));
    const { vectors } = await finished(
      simulator,
      printRun(
        circuit,
        'slow',
        {
          as: 'transient',
          frequency_Hz: LINE_HZ,
          cycles: 70,
          stepsPerCycle: 150,
          shares: KEYED_VIEW.shares,
        },
        [row],
        start,
      ).request,
    );
    const [, last] = lastCycles(vectors['time']!, vectors['v(l)']!, LINE_HZ, 2).map(meanOf);
    const slow = -last!;
    const fast = numberOf(quick!, 'agcVoltage');
    expect(Math.abs(fast / slow - 1), `${fast} V against ${slow} V`).toBeLessThan(0.05);
  });
});

test('with weak capacitors: at the tips that they ask for the transient has the wanted volts', async () => {
  const given = {
    tapResistance: 10e3,
    cathodeBypass: 1e-9,
    plateCapacitor: 300e-12,
    filterCapacitor: 10e-9,
    dividerUpper: 100e3,
    gridResistor: 2e3,
  };
  const [quick] = await measured(keyedAgc, '6AU6', given, [NEW], simulator);
  const more = numberOf(quick!, 'contrastByCapacitors');
  expect(more).toBeGreaterThan(5);
  const tip = numberOf(quick!, 'tipForAgc') + 0.01 * more * 20;
  const values = valuesOf(keyedAgc, { ...given, tipVoltage: 120 + tip });
  const circuit = keyedAgc.circuit(values, [modelOf('6AU6')]);
  const row = { ...subjectOf(values, NEW).row, drive: 1 };
  const everywhere = { ...circuit, watch: nodesOf(circuit).filter((node) => node !== '0') };
  const view = { ...KEYED_VIEW, charging: { frequency_Hz: 15750, steps: 3 } } as const;
  const levels = await finished(simulator, printRun(everywhere, 'real', view, [row]).request);
  const steady = readRows(everywhere, view, 1, levels)[0]!;
  const { vectors } = await finished(
    simulator,
    printRun(
      circuit,
      'slow',
      {
        as: 'transient',
        frequency_Hz: 15750,
        cycles: 70,
        stepsPerCycle: 150,
        shares: KEYED_VIEW.shares,
      },
      [row],
      // a line begins where the last one ends
      Object.fromEntries(everywhere.watch.map((node) => [node, steady.of(node).at(-1)!])),
    ).request,
  );
  const slow = -meanOf(lastCycles(vectors['time']!, vectors['v(l)']!, 15750, 2).at(-1)!);
  // a tenth of the volts is half a percent of the sync height
  expect(Math.abs(slow / 5 - 1), `${slow} V`).toBeLessThan(0.1);
}, 60_000);

test('the levels are a line of the 525-line standard: tip 4.7, blanking 10.9 of 63.5 µs (from memory)', () => {
  const share = (keep: (one: (typeof KEYED_LEVELS)[number]) => boolean): number =>
    KEYED_LEVELS.filter(keep).reduce((sum, one) => sum + one.share, 0);
  expect(share(() => true)).toBeCloseTo(1, 12);
  expect(share(({ video }) => video === 0) / (4.7 / 63.5)).toBeCloseTo(1, 1);
  expect(share(({ flyback }) => flyback === 1) / (10.9 / 63.5)).toBeCloseTo(1, 1);
});

/**
 * A plate that conducts hard and hardly a load: the capacitor charges until the plate only just clears the knee during the
 * pulse (a peak clamp, any textbook on pulse circuits): mean plate = cathode + knee - pulse·(1 - share).
 */
test('with the tips at the cathode and little load the plate is a peak clamp on the flyback pulse', async () => {
  const given = { plateResistor: 10e6, tapResistance: 1, gridResistor: 1e3, dividerUpper: 20e6 };
  const [out] = await measured(keyedAgc, '6AU6', given, [NEW], simulator);
  const last = out!.traces.settings('line').length - 1;
  const mean = meanOverLine(out!.traces.volts('line', last, 'p'));
  const clamp = 120 - 400 * (1 - 0.172);
  expect(mean).toBeGreaterThan(clamp);
  expect(mean - clamp).toBeLessThan(12);
  // and what the plate's electrons bring, by their shares, its resistor carries off (Kirchhoff)
  const volts = (node: string): Float64Array => out!.traces.volts('line', last, node);
  const model = modelOf('6AU6');
  const electrons = KEYED_LEVELS.reduce(
    (sum, { share }, j) =>
      sum +
      share *
        (model.currents(
          {
            plate: volts('p')[j]!,
            screen: 270,
            grid: volts('g')[j]!,
            cathode: volts('k')[j]!,
          },
          out!.traces.states[0]!,
        ).plate ?? 0),
    0,
  );
  const carried = (meanOverLine(volts('m')) - mean) / 10e6;
  expect(electrons / carried).toBeCloseTo(1, 2);
});

test('directions: more video more AGC; less area asks for more video; a leak from heater to cathode for less', async () => {
  const heaterLeak = { ...NEW, leaks: [leak(['heater', 'cathode'], 300e3)] };
  const conditions = [NEW, { ...NEW, area: 0.7 }, { ...NEW, area: 0.4 }, heaterLeak, leaky(10e6)];
  const out = await measured(keyedAgc, '6AU6', { tapResistance: 10e3 }, conditions, simulator);
  const along = out[0]!.traces
    .settings('line')
    .map((_, i) => -meanOverLine(out[0]!.traces.volts('line', i, 'l')));
  for (let i = 2; i < along.length; i++) expect(along[i]!).toBeGreaterThan(along[i - 1]!);
  const tip = out.map((one) => numberOf(one, 'tipForAgc'));
  expect(tip[1]!).toBeGreaterThan(tip[0]!);
  expect(tip[2]!).toBeGreaterThan(tip[1]!);
  expect(tip[3]!).toBeLessThan(tip[0]!);
  // electrons that leak onto the plate side make AGC without a signal
  expect(numberOf(out[4]!, 'agcAtRest')).toBeGreaterThan(numberOf(out[0]!, 'agcAtRest') + 0.1);
});
