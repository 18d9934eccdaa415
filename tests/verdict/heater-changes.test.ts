import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { findDevice } from '../../models/catalogue.ts';
import { tubeModel } from '../../models/tube.ts';
import { assess, type Case } from '../../src/assess.ts';
import { caseOf, pairsOf, readerContext } from '../../src/cases.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { findStage } from '../../src/stage/catalogue.ts';
import { defaultValues } from '../../src/stage/values.ts';
import type { StageValues } from '../../src/types.ts';
import { candidatesOf, type Candidate } from '../../src/verdict/change-ladder.ts';

/** What is offered against hum by leakage from the heater: which changes, how far, and that they hold. */

type Given = Readonly<Record<string, number | string | null>>;
const valuesWith = (values: StageValues, given: Given): StageValues => ({
  ...values,
  ...Object.fromEntries(
    Object.entries(given).map(([key, value]) => [key, { ...values[key]!, value }]),
  ),
});

function offered(
  given: Given,
  {
    stage: id = 'rc-amplifier',
    type = '12AX7',
    failing = ['humLevel'],
    rating_V = undefined as number | undefined,
  } = {},
): Candidate[] {
  const stage = findStage(id)!;
  const { device } = findDevice(type)!;
  const plain = tubeModel(device, device.units[0]!.id);
  const model =
    rating_V === undefined
      ? plain
      : { ...plain, ratings: { source: 'invented', heaterCathode_V: rating_V } };
  const values = valuesWith(defaultValues(stage.values), given);
  return candidatesOf(stage, values, stage.circuit(values, [model]), failing).filter(
    ({ chosen }) => chosen !== undefined,
  );
}
const triesFor = (key: string, found: readonly Candidate[]) =>
  found.filter((one) => one.key === key).flatMap(({ tries }) => tries);

describe('offered', () => {
  test('only where hum is among what fails', () => {
    expect(offered({}, { failing: ['gain', 'biasShift'] })).toEqual([]);
    expect(offered({}).map(({ key }) => key)).toEqual([
      'cathodeBypass',
      'heaterSupply',
      'heaterRaisedBy',
      'heaterSupply',
    ]);
  });

  test('the heater is raised no further than the rating lets it, its own peak of 8.9 V on top', () => {
    const raised = (rating_V: number) => triesFor('heaterRaisedBy', offered({}, { rating_V }));
    expect(raised(180)).toEqual([20, 30, 40, 60]);
    expect(raised(49)).toEqual([20, 30, 40]);
    expect(raised(48)).toEqual([20, 30]);
    expect(raised(25)).toEqual([]);
    // 35 V of an output tube's heater: 49.5 V at its peak, of the 90 V of common practice where no rating is known
    const unrated = { stage: 'output-single-ended', type: '6V6GT' };
    expect(triesFor('heaterRaisedBy', offered({ heaterVolts: 35 }, unrated))).toEqual([20, 30, 40]);
  });

  test('what is there already is not offered, nor what a series string cannot have', () => {
    expect(triesFor('heaterRaisedBy', offered({ heaterRaisedBy: 40 }))).toEqual([60]);
    expect(triesFor('heaterSupply', offered({ heaterSupply: 'centre-tapped' }))).toEqual(['DC']);
    expect(triesFor('heaterSupply', offered({ heaterSupply: 'DC' }))).toEqual([]);
    const string = offered({ heaterSupply: 'series string' });
    expect(string.map(({ key }) => key)).toEqual(['cathodeBypass']);
  });

  test('a bypass only across a cathode resistor that is there', () => {
    const bypass = (given: Given, stage: string) =>
      triesFor('cathodeBypass', offered(given, { stage, type: '6V6GT' }));
    expect(bypass({ cathodeBypass: 50e-6 }, 'output-single-ended')).toEqual([
      100e-6, 220e-6, 470e-6,
    ]);
    expect(bypass({ fixedBias: -12.5 }, 'output-single-ended')).toEqual([]);
    expect(offered({}, { stage: 'cathode-follower' }).map(({ key }) => key)).not.toContain(
      'cathodeBypass',
    );
  });
});

describe('a pickup stage that hums', () => {
  const simulator = nodeSimulator({ workers: 2 });
  afterAll(() => simulator.close());
  const file = new URL('../../scenarios/heater-hum/scenario.json', import.meta.url);
  const quick = { draws: 24, moreSeeds: false } as const;

  /** The scenario's own bench, tube and stage, with a lighter leak and a louder signal; no grid or cathode resistor to try. */
  function humming(given: Given): Case {
    const scenario = readScenario(
      readFileSync(file, 'utf8').replace('"megohms": 2.5', '"megohms": 10'),
      readerContext('edited.json'),
    );
    const pair = pairsOf(scenario, { tube: 'A leaky', socket: 'pickup' })[0]!;
    const one = caseOf(scenario, pair.tube, pair.socket);
    const { stage, values } = one.socket;
    const changeable = stage.changeable!.filter((change) => 'cures' in change);
    return {
      ...one,
      socket: {
        ...one.socket,
        stage: { ...stage, changeable },
        values: valuesWith(values, { usualSignal: 0.3, ...given }),
      },
    };
  }

  test('is cured by a bypass or a raised supply: each holds when it is made, its price named', async () => {
    const given = humming({});
    const { verdict, wouldChange } = await assess(given, simulator, { ...quick, explain: false });
    expect(verdict).not.toBe('usable');
    expect(wouldChange.map(({ key }) => key)).toEqual(['cathodeBypass', 'heaterRaisedBy']);
    const [bypass, raised] = wouldChange.map(({ sentence }) => sentence);
    expect(bypass).toMatch(/^With \d+.µF for the cathode bypass \(none now\) it is usable\./);
    expect(bypass).toMatch(/more gain/);
    expect(raised).toMatch(/\d+.V then stand between heater and cathode, of 180.V/);
    for (const { key, to } of wouldChange) {
      const made = await assess(humming({ [key!]: to }), simulator, {
        ...quick,
        // draws that the search has not seen
        seed: 2,
        changes: false,
        explain: false,
      });
      expect(made.verdict).toBe('usable');
    }
  });

  test('a supply of another kind is said as one', async () => {
    const given = humming({});
    const onlySupply = {
      ...given,
      socket: {
        ...given.socket,
        stage: {
          ...given.socket.stage,
          changeable: given.socket.stage.changeable!.filter(({ key }) => key === 'heaterSupply'),
        },
      },
    };
    const { wouldChange } = await assess(onlySupply, simulator, { ...quick, explain: false });
    expect(wouldChange.map(({ to }) => to)).toContain('DC');
    expect(wouldChange.at(-1)!.sentence).toMatch(
      /^With the heater supply DC \(one side grounded now\) it is usable\. It takes a rectifier/,
    );
  });
});
