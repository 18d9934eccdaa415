import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { assess } from '../src/assess.ts';
import { caseOf, pairsOf, readerContext, tubesIn } from '../src/cases.ts';
import { drawnTubes } from '../src/app/catalogue.ts';
import { tubesOf, type Case } from '../src/central.ts';
import { assessmentsJson } from '../src/report/json.ts';
import { reportText } from '../src/report/text.ts';
import { readScenario } from '../src/scenario/read.ts';
import type { Scenario } from '../src/scenario/scenario.ts';
import { nodeSimulator } from '../src/simulation/node/simulator.ts';

/** Tubes that are judged together, on a scenario of our own (invented). */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

interface Edited {
  sockets: { id: string; fitted?: unknown }[];
  tubes: { id: string; type: string; section?: number; readings: Record<string, unknown> }[];
}
const PAIR = readFileSync(
  new URL('../scenarios/mismatched-pair/scenario.json', import.meta.url),
  'utf8',
);

function scenarioWith(edit: (scenario: Edited) => void = () => undefined): Scenario {
  const scenario = JSON.parse(PAIR) as Edited;
  edit(scenario);
  return readScenario(JSON.stringify(scenario), readerContext('edited.json'));
}

function caseIn(only: { tube?: string; socket: string }, edit?: (scenario: Edited) => void): Case {
  const scenario = scenarioWith(edit);
  const pairs = pairsOf(scenario, only);
  expect(pairs).toHaveLength(1);
  return caseOf(scenario, pairs[0]!.tube, pairs[0]!.socket);
}
const named = (given: Case): string[] =>
  tubesOf(given).map(({ id, section }) => (section === '' ? id : `${id}/${section}`));
const unfitted = (scenario: Edited): void => {
  for (const socket of scenario.sockets) delete socket.fitted;
};

describe('which tubes stand together', () => {
  test('a socket with fitted tubes is one case, in the order of its places', () => {
    const scenario = scenarioWith();
    expect(pairsOf(scenario).map(({ tube, socket }) => `${tube.id} in ${socket.id}`)).toEqual([
      'red box in V4 V5',
      'red box in later model',
      'V3 first in V3',
    ]);
    expect(named(caseIn({ socket: 'V4 V5' }))).toEqual(['red box', 'blue box']);
  });

  test('a tube that is asked for stands in the first place, beside those of the other places', () => {
    expect(named(caseIn({ socket: 'V4 V5', tube: 'blue box' }))).toEqual(['blue box', 'red box']);
    const spare = (scenario: Edited): void => {
      scenario.tubes.push({ ...scenario.tubes[1]!, id: 'spare' });
    };
    expect(named(caseIn({ socket: 'V4 V5', tube: 'spare' }, spare))).toEqual(['spare', 'blue box']);
  });

  test('a drawing has the type of each place, and the pins of the section that works there', () => {
    const mixed = scenarioWith((scenario) => {
      scenario.tubes[1] = { ...scenario.tubes[1]!, type: '6V6' };
      scenario.tubes.push({ ...scenario.tubes[0]!, id: 'V5 only', type: '6L6GC' });
      (scenario.sockets[0]!.fitted as string[])[1] = 'V5 only';
    });
    const [output, , inverter] = mixed.sockets;
    const [red, , first] = mixed.tubes;
    expect(tubesIn(mixed, red!, output!).map(({ type }) => type)).toEqual(['6V6GT', '6L6GC']);
    const twin = drawnTubes(mixed, first!, inverter!);
    expect(twin.map(({ type }) => type)).toEqual(['12AX7', '12AX7']);
    // base diagram of the 12AX7: plates on pins 6 and 1
    expect(new Set(twin.map(({ pins }) => pins.plate))).toEqual(new Set(['1', '6']));
  });

  test('a place without a tube gets a new one of the type, and the report says so', async () => {
    const given = caseIn({ socket: 'V4 V5', tube: 'red box' }, unfitted);
    expect(named(given)).toEqual(['red box', 'a new 6V6GT']);
    const report = await assess(given, simulator, { draws: 0 });
    expect(report.warnings).toContain('The other place was taken as a new 6V6GT.');
    expect(report.companions).toEqual([
      { id: 'a new 6V6GT', type: '6V6GT', section: '', taken: 'new', wear: [], wearSentences: [] },
    ]);
    expect(reportText(report)).toMatch(/^red box \(6V6GT\) with a new 6V6GT in V4 V5/);
  });

  test('a twin triode fills both places with its sections; a section that was not read is told to be taken like the other', () => {
    const given = caseIn({ socket: 'V3', tube: 'V3 first' }, unfitted);
    expect(named(given)).toEqual(['V3 first/1', 'V3 first/2']);
    expect(given.companions![0]!.warnings[0]).toMatch(/Section 2 was taken to read like section 1/);
    const turned = caseIn({ socket: 'V3' }, (scenario) => {
      scenario.sockets.find(({ id }) => id === 'V3')!.fitted = [
        { tube: 'V3 first', section: 2 },
        'V3 first',
      ];
    });
    expect(named(turned)).toEqual(['V3 first/2', 'V3 first/1']);
  });

  test('tubes of one stage are of one kind: another is refused with its name and place', () => {
    const scenario = scenarioWith((edited) => {
      edited.sockets[0]!.fitted = ['red box', 'V3 first'];
    });
    const { tube, socket } = pairsOf(scenario)[0]!;
    expect(() => caseOf(scenario, tube, socket)).toThrow(
      expect.objectContaining({
        code: 'does-not-fit',
        fields: {
          place: 'V3 first in V4 V5',
          found: '12AX7, a triode',
          expected: 'a pentode, as red box is',
        },
      }),
    );
  });
});

describe('a case of two tubes', () => {
  test('each has unknowns of its own, and moves with those alone', () => {
    const [first, second] = tubesOf(caseIn({ socket: 'V4 V5' }));
    const names = [first!, second!].map(({ wear }) => wear.unknowns.map(({ name }) => name));
    expect(names[0]!.filter((name) => names[1]!.includes(name))).toEqual([]);
    expect(names[1]!.every((name) => name.startsWith('V2.'))).toBe(true);
    const draw = { 'V2.contactPotential': 1.5, 'V2.emissionReading': -1 };
    expect(first!.wear.condition(draw)).toEqual(first!.wear.condition({}));
    expect(second!.wear.condition(draw).area).not.toBe(second!.wear.condition({}).area);
    expect(second!.wear.newTube(draw).contactShift_V).not.toBe(0);
  });

  test('a reading that the second tube lacks can decide, and the sentence says whose it is', async () => {
    const given = caseIn({ socket: 'V4 V5' }, (scenario) => {
      delete scenario.tubes[1]!.readings['gridCurrent'];
      delete scenario.tubes[1]!.readings['leakage'];
      // the first is as good as the second, so that nothing else decides
      scenario.tubes[0]!.readings = {
        ...scenario.tubes[1]!.readings,
        ...scenario.tubes[0]!.readings,
      };
      scenario.tubes[0]!.readings['emission'] = { percent: 99 };
    });
    const report = await assess(given, simulator, { draws: 0 });
    expect(report.verdict).toBe('undetermined');
    expect(report.decidedBy.sentence).toMatch(
      /^The (leakage|grid current under load) of blue box was not read/,
    );
    expect(report.notJudged.some((line) => line.startsWith('blue box: '))).toBe(true);
  });

  test('what a leak of the second tube does is said of its own grid, and its paths bear its name', async () => {
    const given = caseIn({ socket: 'V4 V5' }, (scenario) => {
      scenario.tubes[0]!.readings['emission'] = { percent: 99 };
      scenario.tubes[1]!.readings['leakage'] = [{ minutes: 10, megohms: 12, atVolts: 100 }];
    });
    const report = await assess(given, simulator, { draws: 0 });
    const shift = report.measures.find(({ id }) => id === 'biasShift2')!;
    expect(shift.status).toBe('unsuitable');
    expect(shift.reason).toMatch(/blue box: the grid sits at .* instead of .* through 220/);
    expect(report.paths.some(({ tube }) => tube === 'blue box')).toBe(true);
    const text = reportText(report);
    expect(text).toMatch(/blue box \(6V6GT\), from its readings/);
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
    const [json] = (assessmentsJson('x', [report]) as { assessments: Record<string, unknown>[] })
      .assessments;
    expect(json!['companions']).toEqual(report.companions);
  });
});

test('a tube that stands alone has no companions, unknowns without a prefix, and sentences without a name', async () => {
  const path = new URL('../scenarios/small-amplifier/scenario.json', import.meta.url);
  const scenario = readScenario(readFileSync(path, 'utf8'), readerContext('small-amplifier'));
  const { tube, socket } = pairsOf(scenario, { tube: 'pair B', socket: 'fixed bias' })[0]!;
  const given = caseOf(scenario, tube, socket);
  expect(given.companions).toBeUndefined();
  expect(given.tube.wear.unknowns.map(({ name }) => name)).toContain('contactPotential');
  const report = await assess(given, simulator, { draws: 0 });
  expect(report.companions).toEqual([]);
  expect(JSON.stringify([report.paths, report.notJudged, report.decidedBy])).not.toMatch(/pair B/);
  expect(reportText(report)).toMatch(/\nThe tube, from its readings\n/);
});

test('two tubes that read like new are usable together, and so are the sections of a twin', async () => {
  const scenario = scenarioWith((edited) => {
    for (const { readings } of edited.tubes) readings['emission'] = { percent: 100 };
  });
  for (const { tube, socket } of pairsOf(scenario)) {
    if (socket.id === 'later model') continue;
    const given = caseOf(scenario, tube, socket);
    const report = await assess(given, simulator, { draws: 16, moreSeeds: false, changes: false });
    expect(report.verdict, report.decidedBy.sentence).toBe('usable');
  }
}, 60_000);
