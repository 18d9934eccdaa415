import { afterAll, describe, expect, test } from 'vitest';
import { assess } from '../../src/assess.ts';
import { caseOf, readerContext } from '../../src/cases.ts';
import type { Case } from '../../src/central.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { Report } from '../../src/types.ts';
import { WRITTEN_BENCH } from '../written-bench.ts';

/** Two stages on one AGC line. Sets, tubes and readings are invented. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const SOUND = { aboveMegohms: 1000, atVolts: 100, minutes: 10 };
const LEAKY = { megohms: 60, atVolts: 100, minutes: 10, path: ['screen', 'grid'] };
const emission = { percent: 95 };

interface Given {
  readonly fitted: readonly [string | undefined, string | undefined];
  readonly line?: boolean;
}

function caseIn(socket: 'V1' | 'V2', tube: string, { fitted, line = true }: Given): Case {
  const scenario = readScenario(
    JSON.stringify({
      format: 'stagefit-scenario',
      version: 1,
      title: 'invented',
      bench: WRITTEN_BENCH,
      sockets: ['V1', 'V2'].map((id, i) => ({
        id,
        stage: 'agc-if-amplifier',
        tube: ['6BA6'],
        ...(fitted[i] === undefined ? {} : { fitted: [fitted[i]] }),
      })),
      ...(line ? { lines: [{ id: 'AGC', sockets: ['V1', 'V2'] }] } : {}),
      tubes: [
        { id: 'sound', type: '6BA6', readings: { emission, leakage: [SOUND] } },
        { id: 'other', type: '6BA6', readings: { emission, leakage: [SOUND] } },
        { id: 'leaky', type: '6BA6', readings: { emission, leakage: [LEAKY] } },
        { id: 'half read', type: '6BA6', readings: { emission } },
      ],
    }),
    readerContext('shared.json'),
  );
  return caseOf(
    scenario,
    scenario.tubes.find(({ id }) => id === tube)!,
    scenario.sockets.find(({ id }) => id === socket)!,
  );
}

const judged = (given: Case, draws = 0): Promise<Report> =>
  assess(given, simulator, { draws, changes: false, moreSeeds: false });
const valueOf = (report: Report, id: string): number =>
  report.measures.find((measure) => measure.id === id)!.value!;

describe('a shared AGC line', () => {
  test('stands where it stands whichever of its sockets the leaky tube is in (Kirchhoff: one node)', async () => {
    const beside = await judged(caseIn('V1', 'sound', { fitted: ['sound', 'leaky'] }));
    const here = await judged(caseIn('V1', 'leaky', { fitted: ['leaky', 'sound'] }));
    expect(valueOf(beside, 'gridVoltage')).toBeGreaterThan(-4);
    for (const id of ['gridVoltage', 'lineStrong'])
      expect(Math.abs(valueOf(beside, id) - valueOf(here, id)), id).toBeLessThan(0.03);
  });

  test('makes both stages suffer from one tube, and says which it is', async () => {
    for (const [socket, tube] of [
      ['V1', 'sound'],
      ['V2', 'leaky'],
    ] as const) {
      const report = await judged(caseIn(socket, tube, { fitted: ['sound', 'leaky'] }), 8);
      expect(report.verdict).toBe('unsuitable');
      const [sound, leaky] = ['sound', 'leaky'].map((id) =>
        report.line!.tubes.find((one) => one.tube === id)!,
      );
      expect(leaky!.socket).toBe('V2');
      expect(leaky!.lifts_V).toBeGreaterThan(1);
      expect(Math.abs(sound!.lifts_V!)).toBeLessThan(0.3 * leaky!.lifts_V!);
      expect(report.decidedBy.sentence).toContain('leaky');
    }
    const alone = await judged(caseIn('V1', 'sound', { fitted: ['sound', 'leaky'], line: false }));
    expect(valueOf(alone, 'biasShift')).toBeLessThan(0.5);
  }, 30_000);

  test('counts a new tube where none is stated, and says so', async () => {
    const stated = caseIn('V1', 'sound', { fitted: ['sound', undefined] });
    expect(stated.companions![0]!.taken).toBe('new');
    expect(stated.companions![0]!.warnings.join(' ')).toContain('No tube is stated for V2');
    const report = await judged(stated);
    const alone = await judged(
      caseIn('V1', 'sound', { fitted: ['sound', undefined], line: false }),
    );
    // without a stated line one further new tube is taken: the same loop
    for (const id of ['lineStrong', 'audioChange', 'weakSignalLoss'])
      expect(Math.abs(valueOf(report, id) - valueOf(alone, id)), id).toBeLessThan(0.03);
  });

  test('does not put one tube into two sockets', () => {
    const moved = caseIn('V1', 'leaky', { fitted: ['sound', 'leaky'] });
    expect(moved.companions![0]!.taken).toBe('new');
  });

  test('cannot be cleared while the leakage of a neighbour is not read', async () => {
    const report = await judged(caseIn('V1', 'sound', { fitted: ['sound', 'half read'] }));
    expect(report.verdict).toBe('undetermined');
    expect(report.decidedBy.sentence).toContain('half read');
    expect(report.decidedBy.sentence).toContain('not read');
  });
});

describe('a converter and an IF stage on one line', () => {
  const AGC = { agcVoltages: [-1, -5, -12], agcLineResistance: 1e6 };
  const caseOn = (socket: 'V1' | 'V2', fitted: readonly [string, string], line = true): Case => {
    const scenario = readScenario(
      JSON.stringify({
        format: 'stagefit-scenario',
        version: 1,
        title: 'invented',
        bench: WRITTEN_BENCH,
        sockets: [
          {
            id: 'V1',
            stage: 'frequency-converter',
            tube: ['6BE6'],
            fitted: [fitted[0]],
            values: AGC,
          },
          { id: 'V2', stage: 'agc-if-amplifier', tube: ['6BA6'], fitted: [fitted[1]], values: AGC },
        ],
        ...(line ? { lines: [{ id: 'AGC', sockets: ['V1', 'V2'] }] } : {}),
        tubes: [
          { id: 'converter', type: '6BE6', readings: { emission, leakage: [SOUND] } },
          {
            id: 'leaky converter',
            type: '6BE6',
            readings: { emission, leakage: [{ ...LEAKY, path: ['screen', 'signalGrid'] }] },
          },
          { id: 'sound', type: '6BA6', readings: { emission, leakage: [SOUND] } },
          { id: 'leaky', type: '6BA6', readings: { emission, leakage: [LEAKY] } },
        ],
      }),
      readerContext('superhet.json'),
    );
    return caseOf(
      scenario,
      scenario.tubes.find(({ id }) => id === fitted[socket === 'V1' ? 0 : 1])!,
      scenario.sockets.find(({ id }) => id === socket)!,
    );
  };

  test.for([
    ['leaky IF tube', ['converter', 'leaky']],
    ['leaky converter', ['leaky converter', 'sound']],
  ] as const)(
    '%s: both find the line in the same place (Kirchhoff), and it is lifted',
    async ([, fitted]) => {
      const [converter, amplifier] = await Promise.all([
        judged(caseOn('V1', fitted)),
        judged(caseOn('V2', fitted)),
      ]);
      const [one, other] = [converter, amplifier].map((report) => valueOf(report, 'gridVoltage'));
      expect(Math.abs(one! - other!), `${one} and ${other} V`).toBeLessThan(0.05);
      // of the five volts that a sound line delivers
      expect(one!).toBeGreaterThan(-4);
      expect(converter.verdict).toBe('unsuitable');
      const culprit = fitted.find((id) => id.startsWith('leaky'))!;
      for (const report of [converter, amplifier]) {
        const most = report.line!.tubes.toSorted((a, b) => b.lifts_V! - a.lifts_V!)[0]!;
        expect(most.tube).toBe(culprit);
      }
    },
  );

  test('a sound line leaves a sound converter usable, with all of its AGC', async () => {
    const report = await judged(caseOn('V1', ['converter', 'sound']));
    expect(report.verdict).toBe('usable');
    expect(valueOf(report, 'gridVoltage')).toBeCloseTo(-5, 0);
  });
});
