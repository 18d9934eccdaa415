import { afterAll, describe, expect, test } from 'vitest';
import { inSet } from '../../src/decide/in-set/in-set.ts';
import { AS_IT_STANDS } from '../../src/decide/in-set/procedures.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { SERVICE_CASES } from './service-cases.ts';
import { caseFor, firstOf, followed, isRight, METER, seededSet, SOCKETS } from './sets.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

describe('what a meter should read', () => {
  test('a stiff point is loaded as the textbook divider says, Rm/(Rm + Rth)', async () => {
    // a plate load of 270 kΩ in parallel with the tube's plate resistance: at most 270k/(10M + 270k) is lost
    const { given } = caseFor({
      stage: 'rc-amplifier',
      type: '12AX7',
      values: { plateLoad: 270e3 },
    });
    const { lines } = await inSet(given, simulator, { meter: METER, readings: [] });
    const plate = lines.find(({ point }) => point === 'plate')!;
    const lost = 1 - plate.thisTube!.value / plate.unloaded!;
    expect(lost).toBeGreaterThan(0.001);
    expect(lost).toBeLessThan(270e3 / (10e6 + 270e3));
  });

  test('a contact-biased grid of 10 MΩ loses far less to a 10 MΩ meter than the half of a linear divider', async () => {
    // the grid current of a retarding field is stiff: d(Vg) about kT/e per factor e of current (textbook; PN-like law)
    const { given } = caseFor({
      stage: 'rc-amplifier',
      type: '6AV6',
      values: { cathodeResistor: 0, gridResistor: 10e6 },
    });
    const { lines } = await inSet(given, simulator, { meter: METER, readings: [] });
    const grid = lines.find(({ point }) => point === 'grid')!;
    const kept = grid.thisTube!.value / grid.unloaded!;
    expect(kept).toBeGreaterThan(0.75);
    expect(kept).toBeLessThan(0.98);
  });

  test('the same seed gives the same sheet', async () => {
    const { given } = caseFor({ stage: 'rc-amplifier', type: '12AX7' });
    const once = await inSet(given, simulator, { meter: METER, readings: [] });
    expect(await inSet(given, simulator, { meter: METER, readings: [] })).toEqual(once);
  });
});

test('a socket and a winding that leak read alike with the tube pulled: the winding’s lead, taken off, tells them', async () => {
  const { given } = caseFor({ stage: 'agc-if-amplifier', type: '6BA6' });
  const readings = [{ point: 'grid', procedure: 'pulled', volts: 12 }];
  const { diagnosis } = await inSet(given, simulator, { meter: METER, readings });
  expect(
    diagnosis!.explanations
      .slice(0, 2)
      .map(({ id }) => id)
      .toSorted((a, b) => a.localeCompare(b)),
  ).toEqual(['leak.socket', 'leak.winding']);
  expect(diagnosis!.next).toMatchObject({ point: 'grid', procedure: 'grid-lead-off' });
  const [socket, winding] = ['leak.socket', 'leak.winding'].map((id) =>
    diagnosis!.next!.expected.find((one) => one.id === id)!,
  );
  expect(socket!.low).toBeGreaterThan(20);
  expect(winding!.high).toBeLessThan(0.1);
});

describe('bad input', () => {
  const { given } = caseFor({ stage: 'rc-amplifier', type: '12AX7' });
  test.each([
    [[{ point: 'anode cap', volts: 1 }], /anode cap/],
    [
      [
        { point: 'grid', volts: 1 },
        { point: 'Grid', volts: 2 },
      ],
      /read twice/,
    ],
    [[{ point: 'grid', volts: 1, procedure: 'shaken' }], /shaken/],
  ])('%j is refused by name', async (readings, message) => {
    await expect(inSet(given, simulator, { meter: METER, readings })).rejects.toMatchObject({
      name: 'Problem',
    });
    await inSet(given, simulator, { meter: METER, readings }).catch(
      (problem: { toText(): string }) => expect(problem.toText()).toMatch(message),
    );
  });
});

describe('ten service cases: what it turned out to be stands first or second', () => {
  test.each(SERVICE_CASES)('$symptom', async ({ socket, readings, after = [], turnedOut }) => {
    const { given } = caseFor(socket);
    const all = [...readings.map((one) => ({ ...one, procedure: AS_IT_STANDS })), ...after];
    const { diagnosis } = await inSet(given, simulator, { meter: METER, readings: all });
    const ranked = diagnosis!.explanations.slice(0, 2).map(({ id }) => id);
    expect(
      ranked.some((id) => turnedOut.includes(id)),
      JSON.stringify(diagnosis!.explanations.slice(0, 4)),
    ).toBe(true);
  });
});

test('seeded sets with one fault, the tube unlike its type: right far beyond the commonest fault', async () => {
  const all: { truth: string; right: boolean; last: boolean }[] = [];
  for (let i = 0; i < SOCKETS.length; i++) {
    const set = await seededSet(SOCKETS[i]!, `test ${i}`, simulator);
    if (set === undefined) continue;
    const { atOnce, after } = await followed(set, simulator);
    all.push({
      truth: set.truth,
      right: isRight(atOnce, set.truth),
      last: firstOf(after) === set.truth,
    });
  }
  // the share over 200 sets is in the README; one of each socket cannot tell it finer than this
  expect(all.length).toBeGreaterThan(4);
  expect(all.filter(({ last }) => last).length / all.length).toBeGreaterThanOrEqual(0.7);
});
