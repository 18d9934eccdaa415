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

function caseWith(tube: string, change: (values: Values) => void = () => {}): Case {
  const document = JSON.parse(SCENARIO) as { sockets: { values: Values }[] };
  change(document.sockets[0]!.values);
  const scenario = readScenario(JSON.stringify(document), readerContext('edited.json'));
  return caseOf(
    scenario,
    scenario.tubes.find(({ id }) => id === tube)!,
    scenario.sockets[0]!,
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
    });
    // Ohm's law: 110 V across 4.7 and 0.47 megohm, less what the grid collects
    expect(newTube(found, 'gridVoltage')).toBeGreaterThan(9.5);
    expect(newTube(found, 'gridVoltage')).toBeLessThanOrEqual((110 * 0.47) / (4.7 + 0.47));
    const { sentence } = found.circuitFault!;
    expect(sentence).toMatch(/A new tube would be unsuitable here too: the circuit is at fault/);
    expect(sentence).toMatch(/The grid sits at 10\sV instead of 0\sV/);
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
