import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { readerContext } from '../../src/cases.ts';
import { FileProblem } from '../../src/scenario/check.ts';
import { readScenario } from '../../src/scenario/read.ts';

const radio = JSON.parse(
  readFileSync(new URL('../../scenarios/table-radio/scenario.json', import.meta.url), 'utf8'),
) as object;
const withChecks = (inSet: unknown): string => JSON.stringify({ ...radio, inSet });
const read = (inSet: unknown) => readScenario(withChecks(inSet), readerContext('radio.json'));

test('readings in the set are kept with their meter, volts as they are written', () => {
  const { inSet } = read([
    {
      tube: 'tin 9',
      socket: 'V3',
      meter: '11M',
      readings: [
        { point: 'grid', volts: '-400 mV' },
        { point: 'grid', volts: 0.1, after: 'pulled' },
      ],
    },
  ]);
  expect(inSet[0]).toEqual({
    tube: 'tin 9',
    socket: 'V3',
    meter: 11e6,
    readings: [
      { point: 'grid', volts: -0.4 },
      { point: 'grid', volts: 0.1, after: 'pulled' },
    ],
  });
});

test.each([
  [[{ tube: 'tin 99', socket: 'V3' }], /tin 99/],
  [[{ tube: 'tin 9', socket: 'V33' }], /V33/],
  [[{ tube: 'tin 9', socket: 'V3', readings: [{ point: 'grid', volts: 'much' }] }], /much/],
])('%j is refused by name', (inSet, message) => {
  const refused = (): string => {
    try {
      read(inSet);
    } catch (error) {
      return error instanceof FileProblem ? error.allText() : 'no file problem';
    }
    return 'taken';
  };
  expect(refused()).toMatch(message);
});
