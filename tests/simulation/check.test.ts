import { readFileSync, readdirSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { checkAnswer, faultOf, withSerial } from '../../src/simulation/check.ts';
import type { RawPlot } from '../../src/simulation/raw.ts';
import { answerOf, type Recording } from '../../src/simulation/recorded/recording.ts';
import { recordedSimulator } from '../../src/simulation/recorded/simulator.ts';
import type { EngineAnswer } from '../../src/simulation/spice.ts';
import type { SimRequest } from '../../src/types.ts';
import { BAD, DIVIDER, LOW_PASS, TABLE } from '../engine/circuits.ts';

const folder = new URL('../engine/recorded/', import.meta.url);
const recordings = readdirSync(folder).map(
  (name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8')) as Recording,
);
const recordingOf = (request: SimRequest): Recording => {
  const found = recordings.find((recording) => recording.request.runId === request.runId);
  if (found === undefined) throw new Error(`no recording of ${request.runId}`);
  return found;
};
const judge = (recording: Recording): ReturnType<typeof checkAnswer> =>
  checkAnswer(recording.request, recording.serial, answerOf(recording));

describe('recorded answers of the engine', () => {
  test.each([DIVIDER, TABLE, LOW_PASS])('the good one of $runId passes', (request) => {
    expect(recordingOf(request).request).toEqual(request);
    expect(judge(recordingOf(request))).toMatchObject({ ok: true, runId: request.runId });
  });

  const recorded = BAD.filter(({ request }) =>
    recordings.some((recording) => recording.request.runId === request.runId),
  );

  test('most of the bad circuits left an answer to judge', () => {
    expect(recorded.length).toBeGreaterThanOrEqual(12);
  });

  test.each(recorded)('$what is refused', ({ request, why, says }) => {
    expect(recordingOf(request).request).toEqual(request);
    const result = judge(recordingOf(request));
    expect(result).toMatchObject({ ok: false, runId: request.runId, why });
    if (!result.ok) expect(result.text).toMatch(says);
  });
});

describe('a good answer with one thing wrong', () => {
  const good = recordingOf(TABLE);
  const plot = answerOf(good).plots[0]!;
  const changed = (change: Partial<RawPlot>): EngineAnswer => ({
    plots: [{ ...plot, ...change }],
    lines: good.answer.lines,
  });
  const refused = (answer: EngineAnswer, serial = good.serial, request = TABLE): string => {
    const result = checkAnswer(request, serial, answer);
    if (result.ok) throw new Error('it passed');
    expect(result.why).toBe('incomplete');
    return result.text;
  };

  test('unchanged it passes', () => {
    expect(checkAnswer(TABLE, good.serial, changed({}))).toMatchObject({ ok: true });
  });

  test('an answer of an earlier run', () => {
    expect(refused(changed({}), good.serial + 1)).toMatch(/~8" came back, but .*~7"/);
  });

  test('an answer of another request under the same serial', () => {
    expect(refused(changed({ title: `* stagefit other ~${good.serial}` }))).toMatch(/came back/);
  });

  test('nothing at all', () => {
    expect(refused({ plots: [], lines: [] })).toMatch(/nothing/);
  });

  test('another analysis', () => {
    expect(refused(changed({ plotName: 'Transient Analysis' }))).toMatch(/dc transfer/);
  });

  test.each([NaN, Infinity, -Infinity])('a value that is %s', (value) => {
    const vectors = { ...plot.vectors, 'v(x)': Float64Array.of(1, value, 5) };
    expect(refused(changed({ vectors }))).toBe(`v(x) is ${value} at point 1 of 3`);
  });

  test('a needed vector is missing', () => {
    const { 'v(x)': _, ...vectors } = plot.vectors;
    expect(refused(changed({ vectors }))).toMatch(/^no v\(x\)/);
  });

  test.each([0, 2, 4])('%i points instead of 3', (points) => {
    expect(refused(changed({ points }))).toMatch(`${points} points instead of 3`);
  });

  test('the sweep stops short of its end', () => {
    const vectors = { ...plot.vectors, [plot.scale]: Float64Array.of(0, 1, 1.99999) };
    expect(refused(changed({ vectors }))).toMatch(/ended at 1.99999, not at 2/);
  });

  test('complex values where real ones belong', () => {
    expect(refused(changed({ complex: true }))).toMatch(/complex/);
  });

  test('a line that says the simulation was aborted outweighs a whole plot', () => {
    const lines = [...good.answer.lines, { text: 'run simulation(s) aborted', isError: true }];
    expect(refused({ plots: [plot], lines })).toMatch(/aborted/);
  });
});

describe('a sweep that did not converge somewhere', () => {
  const recording = recordings.find(({ request }) => request.runId === 'halfSweep')!;
  const answer = answerOf(recording);
  const plot = answer.plots[0]!;
  const beginning = (change: Partial<RawPlot>, lines = answer.lines) => {
    const result = checkAnswer(recording.request, recording.serial, {
      plots: [{ ...plot, ...change }],
      lines,
    });
    if (result.ok) throw new Error('it passed');
    return result.found;
  };

  test('what it found before that is right: v = sqrt(2 s - 1) of the circuit, in closed form', () => {
    const found = beginning({})!;
    expect(found.points).toBe(10);
    found.vectors['v(1)']!.forEach((volts, i) =>
      expect(volts).toBeCloseTo(Math.sqrt(2 * (5 - i / 2) - 1), 3),
    );
  });

  test.each([
    ['an answer of another run', { title: '* stagefit halfsweep ~6' }],
    ['another analysis', { plotName: 'Operating Point' }],
    ['no point', { points: 0 }],
    ['as many points as a whole answer', { points: 11 }],
    ['fewer points than the sweep has come on', { points: 9 }],
    ['a value that is no number', { vectors: { ...plot.vectors, 'v(1)': Float64Array.of(NaN) } }],
    ['without a needed vector', { vectors: { 'v(v-sweep)': plot.vectors['v(v-sweep)']! } }],
  ])('%s is no beginning', (_, change) => {
    expect(beginning(change)).toBeUndefined();
  });

  test('a netlist that was not understood has none', () => {
    const lines = [...answer.lines, { text: 'Error on line 3', isError: true }];
    expect(beginning({}, lines)).toBeUndefined();
  });
});

describe('the title', () => {
  test('carries the run and a serial into the netlist, and nothing else of it changes', () => {
    const netlist = withSerial(DIVIDER, 12);
    expect(netlist.split('\n')[0]).toBe('* stagefit Divider.1 ~12');
    expect(netlist.split('\n').slice(1)).toEqual(DIVIDER.netlist.split('\n').slice(1));
  });

  test('a netlist without it is not run', () => {
    expect(faultOf(DIVIDER)).toBeUndefined();
    expect(faultOf({ ...DIVIDER, runId: 'another' })).toMatch(
      /must begin with "\* stagefit another"/,
    );
    expect(faultOf({ ...DIVIDER, netlist: '' })).toMatch(/must begin/);
  });
});

describe('a simulator of recordings', () => {
  const simulator = recordedSimulator(recordings);

  test('answers what was recorded, checked', async () => {
    expect(await simulator.run(DIVIDER)).toMatchObject({ ok: true, runId: 'Divider.1' });
    expect(
      await simulator.run(BAD.find(({ request }) => request.runId === 'floating')!.request),
    ).toMatchObject({
      ok: false,
      why: 'noConvergence',
    });
  });

  test('refuses what was not', async () => {
    const other = { ...DIVIDER, netlist: DIVIDER.netlist.replace('V1 1 0 5', 'V1 1 0 6') };
    expect(await simulator.run(other)).toMatchObject({
      ok: false,
      why: 'incomplete',
      text: 'no recording of this netlist',
    });
  });
});
