import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { assess, type AssessOptions, type Case } from '../src/assess.ts';
import { caseOf, readerContext } from '../src/cases.ts';
import { assessmentsJson } from '../src/report/json.ts';
import { reportText } from '../src/report/text.ts';
import { readScenario } from '../src/scenario/read.ts';
import { nodeSimulator } from '../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../src/simulation/remembering.ts';
import type { Report } from '../src/types.ts';

/** "The tube is fine, the circuit is not": on the scenario of a leaking coupling capacitor (invented). */
const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
afterAll(() => simulator.close());

const SCENARIO = readFileSync(
  new URL('../scenarios/tube-or-circuit/scenario.json', import.meta.url),
  'utf8',
);
const GOOD = 'out of the set';
const BAD = 'from the drawer';

type Values = Record<string, unknown>;

const FIRST = 'first triode';

interface Document {
  readonly sockets: { values: Values }[];
  readonly tubes: { id: string; readings: Record<string, unknown> }[];
}

/** The output stage, or the first audio stage with its own tube. */
function caseWith(
  tube: string,
  change: (values: Values) => void = () => {},
  changeTubes: (tubes: Document['tubes']) => void = () => {},
): Case {
  const document = JSON.parse(SCENARIO) as Document;
  const at = tube === FIRST ? 1 : 0;
  change(document.sockets[at]!.values);
  changeTubes(document.tubes);
  const scenario = readScenario(JSON.stringify(document), readerContext('edited.json'));
  return caseOf(
    scenario,
    scenario.tubes.find(({ id }) => id === tube)!,
    scenario.sockets[at]!,
  );
}

const sound = (values: Values): void => {
  delete values['couplingLeakage'];
};

const report = (
  tube: string,
  change?: (values: Values) => void,
  options: AssessOptions = {},
): Promise<Report> =>
  assess(caseWith(tube, change), simulator, { draws: 0, changes: false, ...options });

const newTube = ({ measures }: Report, id: string): number =>
  measures.find((measure) => measure.id === id)!.newTube!;

describe('a coupling capacitor that leaks', () => {
  test('with a good tube it is the circuit, and text and JSON say so with the part and the volts', async () => {
    const found = await report(GOOD);
    expect(found.circuitFault).toMatchObject({
      status: 'unsuitable',
      inSoundCircuit: 'usable',
      faults: [expect.stringMatching(/coupling capacitor 4\.7\sMΩ/)],
      enough: [expect.stringMatching(/coupling capacitor/)],
    });
    // Ohm's law: 110 V across 4.7 and 0.47 megohm, less what the grid collects
    expect(newTube(found, 'gridVoltage')).toBeGreaterThan(9.5);
    expect(newTube(found, 'gridVoltage')).toBeLessThanOrEqual((110 * 0.47) / (4.7 + 0.47));
    const { sentence } = found.circuitFault!;
    expect(sentence).toMatch(/A new tube would be unsuitable here too: the circuit is at fault/);
    expect(sentence).toMatch(/The grid sits at (9\.\d|10)\sV instead of 0\sV/);
    expect(sentence).toMatch(/usable: it is the circuit, not the tube/);
    const text = reportText(found).replaceAll(/\s+/g, ' ');
    expect(text).toContain(`THE CIRCUIT ${sentence.replaceAll(/\s+/g, ' ')}`);
    expect(assessmentsJson('', [found])).toMatchObject({
      assessments: [{ circuitFault: { inSoundCircuit: 'usable', sentence } }],
    });
  }, 30_000);

  test('with a worn-out tube both are at fault', async () => {
    const { circuitFault } = await report(BAD);
    expect(circuitFault).toMatchObject({ status: 'unsuitable', inSoundCircuit: 'unsuitable' });
    expect(circuitFault!.sentence).toMatch(/unsuitable as well\. Power output/);
  }, 30_000);

  test('with draws, this tube in the sound circuit is judged with draws too, as it is in such a socket', async () => {
    const draws = { draws: 8, moreSeeds: false };
    const there = await report(GOOD, sound, draws);
    expect((await report(GOOD, undefined, draws)).circuitFault!.inSoundCircuit).toBe(there.verdict);
  }, 30_000);
});

describe('a part that is no longer what it is marked', () => {
  test('is blamed where a new tube is refused as well, with its marking', async () => {
    const found = await report(FIRST);
    expect(found.circuitFault).toMatchObject({
      status: 'unsuitable',
      inSoundCircuit: 'usable',
      faults: [expect.stringMatching(/^plate load 820\skΩ, marked 270\skΩ$/)],
    });
    expect(found.circuitFault!.sentence).toMatch(/usable: it is the circuit, not the tube/);
    expect(reportText(found)).toContain('marked 270');
    // the sound circuit is that of the marked part
    const marked = await report(FIRST, (values) => (values['plateLoad'] = '270k'));
    expect(marked.circuitFault).toBeNull();
    const limit = /at least ([\d.]+)\sV/.exec(found.circuitFault!.sentence)![1];
    expect(Number(limit)).toBeCloseTo(0.6 * newTube(marked, 'outputAt5PercentDistortion'), 0);
  }, 30_000);

  test('an open bypass is a capacitor of no farads', async () => {
    const found = await report(FIRST, (values) => {
      values['plateLoad'] = '270k';
      values['cathodeBypass'] = { value: 0, marked: '25 uF' };
    });
    expect(found.circuitFault!.faults).toEqual([
      expect.stringMatching(/^cathode bypass 0\sF, marked 25\sµF$/),
    ]);
    expect(found.circuitFault!.sentence).toMatch(/Gain [\d.]+×, at least/);
  }, 30_000);

  test('a weak bypass shows at the lowest note, in the first stage and behind the output tube', async () => {
    const weak = (uF: number) => (values: Values) => {
      if ('plateLoad' in values) values['plateLoad'] = '270k';
      delete values['couplingLeakage'];
      values['cathodeBypass'] = { value: `${uF} uF`, marked: '25 uF' };
    };
    for (const tube of [FIRST, GOOD]) {
      const { circuitFault } = await report(tube, weak(1));
      expect(circuitFault).toMatchObject({
        status: 'unsuitable',
        inSoundCircuit: 'usable',
        faults: [expect.stringMatching(/^cathode bypass 1\sµF, marked 25\sµF$/)],
      });
      expect(circuitFault!.sentence).toMatch(/Loss at the lowest note [\d.]+\sdB, at most/);
      expect((await report(tube, weak(15))).circuitFault).toBeNull();
    }
  }, 30_000);

  test('within the tolerance of its kind it is not blamed', async () => {
    const found = await report(FIRST, (values) => {
      values['plateLoad'] = { value: '295k', marked: '270k' };
    });
    expect(found.circuitFault).toBeNull();
  }, 30_000);

  /** A grid resistor of twenty times its marking: a new tube bears it, a tube with reverse grid current does not. */
  const gassy = (microamps: number, change: (values: Values) => void): Promise<Report> =>
    assess(
      caseWith(FIRST, change, (tubes) => {
        const reading = tubes.find(({ id }) => id === FIRST)!.readings['gridCurrent'] as Values;
        reading['microamps'] = microamps;
      }),
      simulator,
      { draws: 0, changes: false },
    );
  const grid = (values: Values): void => {
    values['plateLoad'] = '270k';
    values['gridResistor'] = { value: '10M', marked: '470k' };
  };

  test('that a new tube bears and this one does not is named; a tube that fails with it mended is not cleared', async () => {
    const found = await gassy(0.3, grid);
    expect(found.verdict).toBe('unsuitable');
    expect(found.circuitFault).toMatchObject({
      status: 'usable',
      inSoundCircuit: 'usable',
      faults: [expect.stringMatching(/^grid resistor 10\sMΩ, marked 470\skΩ$/)],
    });
    expect(found.circuitFault!.sentence).toMatch(
      /a new tube bears it, this one does not\. In the circuit as it should be, this tube is usable\./,
    );
    const worse = await gassy(8, grid);
    expect(worse.verdict).toBe('unsuitable');
    expect(worse.circuitFault).toBeNull();
  }, 30_000);

  test('of several, those that are worth mending alone are named', async () => {
    const { circuitFault } = await gassy(0.3, (values) => {
      grid(values);
      values['cathodeResistor'] = { value: '2.7k', marked: '2.2k' };
    });
    expect(circuitFault!.faults).toHaveLength(2);
    expect(circuitFault!.enough).toEqual([expect.stringMatching(/^grid resistor/)]);
    expect(circuitFault!.sentence).toMatch(/It is enough to mend one fault: grid resistor\./);
  }, 30_000);
});

describe('a sound circuit', () => {
  test('is not blamed, whatever the tube, and nothing is said of it', async () => {
    for (const tube of [GOOD, BAD]) {
      const found = await report(tube, sound);
      expect(found.circuitFault).toBeNull();
      expect(reportText(found)).not.toContain('THE CIRCUIT');
    }
  }, 30_000);

  test('a leak that a new tube bears is not blamed either, and does not clear a worn-out tube', async () => {
    const found = await report(BAD, (values) => (values['couplingLeakage'] = '500M'));
    expect(found.verdict).toBe('unsuitable');
    expect(found.circuitFault).toBeNull();
  }, 30_000);
});

describe('a weak bypass where the signal is no audio', () => {
  /** A socket of a stage with a tube that is as new, read on the scenario's own bench. */
  const withWeak = (stage: string, type: string, values: Values): Promise<Report> => {
    const document = JSON.parse(SCENARIO) as Record<string, unknown>;
    const readings = {
      emission: { percent: 98 },
      starvedHeater: { heater_percent: 90, drop_percent: 4 },
      leakage: [{ minutes: 10, aboveMegohms: 1000, atVolts: 100 }],
    };
    const scenario = readScenario(
      JSON.stringify({
        ...document,
        sockets: [{ id: 'V1', stage, tube: [type], values }],
        tubes: [{ id: GOOD, type, readings }],
      }),
      readerContext('weak.json'),
    );
    const given = caseOf(scenario, scenario.tubes[0]!, scenario.sockets[0]!);
    return assess(given, simulator, { draws: 0, changes: false });
  };
  const FM = {
    intermediateFrequency: '10.7 MHz',
    gridTankImpedance: '20k',
    tunedImpedance: '10k',
    screenBypass: '5 nF',
  };

  test.for([
    [
      'agc-if-amplifier',
      '6BA6',
      'screenBypass',
      '500 pF',
      '0.05 uF',
      {},
      /Loss at the intermediate frequency/,
    ],
    [
      'agc-if-amplifier',
      '6BA6',
      'lineCapacitor',
      '1 nF',
      '0.05 uF',
      {},
      /Low notes taken by the AGC/,
    ],
    ['agc-if-amplifier', '6BA6', 'cathodeBypass', '300 pF', '5 nF', FM, /Stability/],
    ['frequency-converter', '6BE6', 'screenBypass', '30 pF', '0.05 uF', {}, /Start margin 0×/],
    ['local-oscillator', '6C4', 'plateCapacitor', '10 pF', '1 nF', {}, /does not oscillate/],
    [
      'keyed-agc',
      '6AU6',
      'cathodeBypass',
      '500 pF',
      '10 uF',
      { tapResistance: '15k' },
      /change of contrast by the capacitors/,
    ],
  ] as const)(
    '%s with a %s: %s of %s is blamed',
    async ([stage, type, key, value, marked, more, measure]) => {
      const { circuitFault } = await withWeak(stage, type, { ...more, [key]: { value, marked } });
      expect(circuitFault).toMatchObject({ status: 'unsuitable', inSoundCircuit: 'usable' });
      expect(circuitFault!.faults).toHaveLength(1);
      expect(circuitFault!.sentence).toMatch(measure);
      expect(circuitFault!.sentence).toMatch(/usable: it is the circuit, not the tube/);
    },
  );

  test('a tenth of a bypass that is large enough is not', async () => {
    for (const [stage, type, key, value, marked] of [
      ['agc-if-amplifier', '6BA6', 'screenBypass', '5 nF', '0.05 uF'],
      ['frequency-converter', '6BE6', 'screenBypass', '5 nF', '0.05 uF'],
    ] as const)
      expect((await withWeak(stage, type, { [key]: { value, marked } })).circuitFault).toBeNull();
  });
});
