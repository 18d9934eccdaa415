import { afterAll, describe, expect, test } from 'vitest';
import { settledCycle } from '../../src/measure/transient.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { LINE_LEVELS, LINE_VIEW } from '../../src/stage/sync-separator-measures.ts';
import { syncSeparator } from '../../src/stage/sync-separator.ts';
import type { TubeCondition } from '../../src/types.ts';
import { leak, measured, modelOf, NEW, numberOf, subjectOf, valuesOf } from './bench.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const HALF: TubeCondition = { ...NEW, area: 0.5, saturation_A: 0.01 };
const LEAKY: TubeCondition = { ...NEW, leaks: [leak(['plate', 'grid'], 20e6)] };

describe('levels with their shares of a line', () => {
  // a smaller capacitor than in sets, for a transient that settles within a hundred lines; it sags by a thirtieth in one
  const given = { gridCapacitor: 2e-9 };

  test.for([
    ['new tube', NEW, 1],
    ['half-emission tube', HALF, 1],
    ['leaky tube', LEAKY, 1],
  ] as const)(
    '%s: as the settled transient of the same pulses',
    { timeout: 60_000 },
    async ([, condition, setting]) => {
      const values = valuesOf(syncSeparator, given);
      const circuit = syncSeparator.circuit(values, [modelOf('6AU6')]);
      const [quick] = await measured(syncSeparator, '6AU6', given, [condition], simulator);
      const { drive } = quick!.traces.settings('signal')[setting]!;
      const row = { ...subjectOf(values, condition).row, drive };
      const settled = await settledCycle(
        syncSeparator,
        circuit,
        values,
        row,
        'settled',
        simulator,
        {},
        LINE_VIEW,
      );
      if ('failed' in settled) throw new Error(settled.failed);
      // the edges' steps are shorter than the transient's own: tip, blanking and picture are compared
      for (const j of [0, 5, 6, 7, 8]) {
        const near = (node: string, allowed: number): void => {
          const [a, b] = [
            quick!.traces.volts('signal', setting, node)[j]!,
            settled.nodes.get(node)![j]!,
          ];
          expect(Math.abs(a - b), `${node} at level ${j}: ${a} against ${b}`).toBeLessThan(allowed);
        };
        near('g', 0.04 * 4 * drive);
        near('p', 3);
      }
    },
  );
});

test('the levels are a line of the 525-line standard: tip 4.7, blanking 10.9 of 63.5 µs (from memory)', () => {
  const share = (test: (level: number) => boolean): number =>
    LINE_LEVELS.filter(({ level }) => test(level)).reduce((sum, one) => sum + one.share, 0);
  expect(share(() => true)).toBeCloseTo(1, 12);
  expect(share((level) => level > 0.5) / (4.7 / 63.5)).toBeCloseTo(1, 1);
  expect(share((level) => level >= 0) / (10.9 / 63.5)).toBeCloseTo(1, 1);
});

test('no charge is left over a line: the grid’s electrons, by their shares, are what the leak carries off (Kirchhoff)', async () => {
  const [out] = await measured(syncSeparator, '6AU6', {}, [NEW], simulator);
  const volts = (node: string): Float64Array => out!.traces.volts('signal', 1, node);
  const model = modelOf('6AU6');
  const electrons = LINE_LEVELS.reduce(
    (sum, { share }, j) =>
      sum +
      share *
        (model.currents(
          { plate: volts('p')[j]!, screen: 50, grid: volts('g')[j]!, cathode: 0 },
          out!.traces.states[0]!,
        ).grid ?? 0),
    0,
  );
  expect(electrons / (-numberOf(out!, 'gridVoltage') / 1e6)).toBeCloseTo(1, 2);
  // and the capacitor takes off the mean of the video: tip and mean stand as far apart as at the source, but for what the
  // tips lose in its resistance
  const mean = LINE_LEVELS.reduce((sum, { level, share }) => sum + level * share, 0);
  const swing = volts('a')[0]! - numberOf(out!, 'gridVoltage');
  const drop =
    7.5 * (1 - mean) - (numberOf(out!, 'tipGridVoltage') - numberOf(out!, 'gridVoltage'));
  expect(swing).toBeGreaterThan(0);
  expect(drop / ((1e4 * -numberOf(out!, 'gridVoltage')) / 1e6 / 0.075)).toBeCloseTo(1, 0);
});

test('directions: reverse current lowers the slice and lets the picture in, first at the weak station; less area costs pulse', async () => {
  const conditions = [
    NEW,
    ...[3e-6, 1e-5, 3e-5].map((gridEmission_A) => ({ ...NEW, gridEmission_A })),
    { ...NEW, area: 0.7 },
    { ...NEW, area: 0.4 },
  ];
  const out = await measured(syncSeparator, '6AU6', {}, conditions, simulator);
  const of = (i: number, id: string): number => numberOf(out[i]!, id);
  for (let i = 1; i < 4; i++) {
    expect(of(i, 'gridVoltage')).toBeGreaterThan(of(i - 1, 'gridVoltage'));
    expect(of(i, 'sliceLevel')).toBeLessThan(of(i - 1, 'sliceLevel'));
    expect(of(i, 'weakPicture')).toBeGreaterThan(of(i - 1, 'weakPicture'));
  }
  // 10 µA: a strong station does not notice, a weak one has lost its pulse
  expect(of(2, 'pulse') / of(0, 'pulse')).toBeGreaterThan(0.95);
  expect(of(2, 'weakPulse') / of(0, 'weakPulse')).toBeLessThan(0.5);
  expect(of(4, 'pulse')).toBeLessThan(of(0, 'pulse'));
  expect(of(5, 'pulse')).toBeLessThan(of(4, 'pulse'));
});
