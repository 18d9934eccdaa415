/**
 * No false alarms and no false comfort, in every stage of the catalogue with a suitable type. Few tubes, for their time;
 * `npm run accuracy:verdicts` does the same with 200 a class.
 */
import { afterAll, describe, expect, test } from 'vitest';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import { allBeds } from './beds.ts';
import {
  betterWithout,
  judge,
  newTubes,
  RUINS,
  ruinedTubes,
  type Bed,
  type Sample,
} from './populations.ts';

const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
afterAll(() => simulator.close());

/** Stages whose assessment takes long have fewer tubes: new, with one reading missing. */
const FEW = [1, 1] as const;
const SOME = [5, 3] as const;
const isSlow = ({ name }: Bed): boolean => !/^(?:rc-amplifier, 12AX7|keyed-agc)/.test(name);

async function verdicts(bed: Bed, samples: readonly Sample[]): Promise<string[]> {
  const all: string[] = [];
  for (const { kind, readings } of samples) {
    const { verdict, decidedBy } = await judge(bed, readings, simulator);
    all.push(`${kind}: ${verdict}: ${decidedBy.sentence}`);
  }
  return all;
}

/** Ways to be ruined, of which slow beds take one and the quick ones all. */
const ruinsOf = (bed: Bed, index: number): readonly Sample[] => {
  const all = ruinedTubes(bed, RUINS.length, 'test');
  return isSlow(bed) ? [all[index % all.length]!] : all;
};

describe.for(allBeds().map((bed, index) => [bed.name, bed, index] as const))(
  '%s',
  ([, bed, index]) => {
    const [fresh, missing] = isSlow(bed) ? FEW : SOME;

    test('new tubes with ordinary readings are usable', async () => {
      const found = await verdicts(bed, newTubes(bed, fresh, 'test'));
      const others = found.filter((one) => !one.startsWith('new: usable'));
      expect(others.length, others.join('\n')).toBeLessThanOrEqual(isSlow(bed) ? 0 : 1);
    }, 300_000);

    // of the slow beds some here, in turn; `npm run accuracy:verdicts` takes all
    if (!isSlow(bed) || index % 4 === 0)
      test('plainly ruined tubes never are', async () => {
        const found = await verdicts(bed, ruinsOf(bed, index));
        expect(found.filter((one) => one.includes(': usable'))).toEqual([]);
      }, 300_000);

    if (!isSlow(bed) || index % 10 === 0)
      test('a verdict without a reading promises no more than with it', async () => {
        expect((await betterWithout(bed, missing, 'test', simulator)).said).toEqual([]);
      }, 300_000);
  },
);
