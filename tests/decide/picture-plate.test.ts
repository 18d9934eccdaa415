import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { caseOf, pairsOf, readerContext } from '../../src/cases.ts';
import { platePicture } from '../../src/decide/picture-plate.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { Report, TubePart } from '../../src/types.ts';

const file = new URL('../../scenarios/small-amplifier/scenario.json', import.meta.url);
const scenario = readScenario(readFileSync(file, 'utf8'), readerContext('scenario.json'));
const pair = pairsOf(scenario).find(({ socket }) => socket.stage === 'output-single-ended')!;
const given = caseOf(scenario, pair.tube, pair.socket);
const circuit = given.socket.stage.circuit(given.socket.values, [given.tube.model]);
const { nodes } = circuit.parts.find((part): part is TubePart => part.kind === 'tube')!;
const volts = { [nodes.plate!]: 240, [nodes.screen!]: 250, [nodes.grid!]: 0, [nodes.cathode!]: 12 };

const pictureWith = (plateCurrent?: object) =>
  platePicture(given, {
    circuit,
    nodeVolts: { newTube: volts, thisTube: volts },
    measures: plateCurrent === undefined ? [] : [{ id: 'plateCurrent', ...plateCurrent }],
  } as unknown as Report)!;

test('the operating point has the interval of its plate current, where the stage measures that very current', () => {
  const bare = pictureWith();
  const rest = bare.marks.find(({ role }) => role === 'this')!;
  expect(rest).not.toHaveProperty('low');
  const amps = rest.y / 1e3;
  const told = pictureWith({ value: amps, low: 0.8 * amps, high: 1.1 * amps });
  const mark = told.marks.find(({ role }) => role === 'this')!;
  expect(mark.low).toBeCloseTo(0.8 * rest.y, 9);
  expect(mark.high).toBeCloseTo(1.1 * rest.y, 9);
  expect(told.alt).toMatch(/90 % interval \d/);
  // a cathode current is another one, and of central values there is no interval
  expect(pictureWith({ value: 1.2 * amps, low: amps, high: 2 * amps }).marks).toEqual(bare.marks);
  expect(pictureWith({ value: amps, low: null, high: null }).marks).toEqual(bare.marks);
});
