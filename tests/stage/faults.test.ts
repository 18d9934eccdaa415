import { afterAll, describe, expect, test } from 'vitest';
import { subjectOf } from '../../src/central.ts';
import { canBeMarked } from '../../src/scenario/values.ts';
import { measureSubjects, type Outcome } from '../../src/measure/subjects.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { detectedVolts } from '../../src/stage/agc-detector.ts';
import { loopOf } from '../../src/stage/agc-if-amplifier-loop.ts';
import { findStage, STAGES } from '../../src/stage/catalogue.ts';
import { faultsIn, socketLeaks, soundValues } from '../../src/stage/faults.ts';
import { meanVolts } from '../../src/stage/signals.ts';
import { defaultValues } from '../../src/stage/values.ts';
import type { Stage, TubeCondition } from '../../src/types.ts';
import { leak, modelOf, NEW, numberOf, valuesOf } from './bench.ts';

/** Faults of the set against the laws they follow, and against the same fault where it is known: in the tube, in another value. */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const IF = findStage('agc-if-amplifier')!;
const OUTPUT = findStage('output-single-ended')!;
const CONVERTER = findStage('frequency-converter')!;

async function one(
  stage: Stage,
  type: string,
  given: Readonly<Record<string, number | readonly number[]>>,
  steps: readonly string[],
  condition: TubeCondition = NEW,
): Promise<Outcome> {
  const values = valuesOf(stage, given);
  const circuit = stage.circuit(values, [modelOf(type)]);
  const subjects = [
    subjectOf(values, circuit, [NEW], {}, undefined),
    subjectOf(values, circuit, [condition], {}, 0),
  ];
  const [, outcome] = await measureSubjects(stage, circuit, values, subjects, simulator, {
    runId: 'fault',
    steps,
  });
  expect(outcome!.failed).toBeUndefined();
  return outcome!;
}

describe('values of faults', () => {
  test.for(STAGES)('$id: at their defaults nothing is at fault and no part is added', (stage) => {
    const values = defaultValues(stage.values);
    const model = (family: string) =>
      modelOf({ diode: '5Y3GT', triode: '12AX7', pentode: '6BA6', pentagrid: '6BE6' }[family]!);
    expect(faultsIn(stage.values, values)).toEqual([]);
    for (const family of stage.families) {
      const tubes = Array.from({ length: stage.tubes }, () => model(family));
      const sound = stage.circuit(values, tubes);
      expect(sound.parts.some(({ id }) => id.endsWith('Leakage'))).toBe(false);
      expect(socketLeaks(values, sound, 0)).toEqual([]);
      // the leak of a socket is where there is a grid, for every tube of the stage
      const damp = { ...values, socketLeakage: { ...values['linePercent']!, value: 5e6 } };
      for (let tube = 0; tube < stage.tubes; tube++)
        expect(socketLeaks(damp, sound, tube).length).toBe(family === 'diode' ? 0 : 1);
      expect('socketLeakage' in stage.values).toBe(family !== 'diode');
    }
  });

  test('a stated one is a fault, and the sound circuit has its default', () => {
    const values = valuesOf(IF, { windingLeakage: 50e6, lineVoltage: 88, gridTankImpedance: 90e3 });
    expect(faultsIn(IF.values, values).map(({ key, value }) => [key, value])).toEqual([
      ['windingLeakage', 50e6],
      ['lineVoltage', 88],
    ]);
    expect(soundValues(IF.values, values)).toEqual(valuesOf(IF, { gridTankImpedance: 90e3 }));
  });
});

test('stages that cannot be run as a settled transient say so: two time scales, pulses, oscillators', () => {
  for (const stage of STAGES) {
    const values = defaultValues(stage.values);
    const families = { diode: '5Y3GT', triode: '12AX7', pentode: '6BA6', pentagrid: '6BE6' };
    const tubes = Array.from({ length: stage.tubes }, () => modelOf(families[stage.families[0]!]));
    const views = stage.steps.map((step) => step.view(values).as);
    const needs =
      views.some((view) => view === 'envelope' || view === 'levels') ||
      stage.circuit(values, tubes).parts.some(({ kind }) => kind === 'oscillatorTank');
    expect(stage.noTransient === true, stage.id).toBe(needs);
  }
});

describe('a part that is no longer what it is marked', () => {
  const RC = findStage('rc-amplifier')!;
  const drifted = (value: number, marked: number) => ({
    ...defaultValues(RC.values),
    plateLoad: { value, marked, tolerance_percent: 1, measured: true },
  });

  test('is a fault beyond the tolerance of its kind, and sound at its marking', () => {
    expect(faultsIn(RC.values, drifted(109e3, 100e3))).toEqual([]);
    for (const value of [111e3, 89e3])
      expect(faultsIn(RC.values, drifted(value, 100e3))).toMatchObject([
        { key: 'plateLoad', value, marked: 100e3 },
      ]);
    // 220 kilohms is not the stage's default: the marking counts
    expect(soundValues(RC.values, drifted(470e3, 220e3))['plateLoad']).toEqual({
      value: 220e3,
      tolerance_percent: 10,
      measured: false,
    });
  });

  test('a weak capacitor is a doubt, since capacitors are shorts for the signal but for the lowest; an open one is none', () => {
    const bypass = (value: number, marked?: number, stage = RC) =>
      stage.doubts!({
        ...defaultValues(stage.values),
        screenBypass: {
          value,
          tolerance_percent: 1,
          measured: true,
          ...(marked === undefined ? {} : { marked }),
        },
      });
    expect(bypass(1e-9, 0.1e-6)).toEqual([
      expect.stringMatching(
        /^The screen bypass is not what it is marked: .* shows in the loss at the lowest note, .*--transient/,
      ),
    ]);
    expect(bypass(1e-9, 0.1e-6, IF)).toEqual([
      expect.stringMatching(
        /^The screen bypass .* the loss at the intermediate frequency, .*--transient/,
      ),
    ]);
    // which has no settled transient to send anybody to
    expect(bypass(1e-9, 0.1e-6, CONVERTER)).toEqual([
      expect.stringMatching(/^The screen bypass .* shows in the start margin and nowhere else/),
    ]);
    expect(bypass(0, 0.1e-6)).toEqual([]);
    expect(bypass(1e-9)).toEqual([]);
  });

  test('of several, those that are picked are mended', () => {
    const values = {
      ...drifted(470e3, 220e3),
      socketLeakage: { value: 5e6, tolerance_percent: 0, measured: true },
    };
    const mended = soundValues(RC.values, values, (key) => key === 'socketLeakage');
    expect(mended['plateLoad']).toEqual(values.plateLoad);
    expect(mended['socketLeakage']!.value).toBe(RC.values['socketLeakage']!.default);
  });

  test('voltages, signals, lists and leaks bear no marking', () => {
    const marked = Object.keys(RC.values).filter((key) => canBeMarked(RC.values[key]!));
    expect(marked).toEqual(expect.arrayContaining(['plateLoad', 'cathodeBypass', 'screenDropper']));
    expect(marked).not.toEqual(expect.arrayContaining(['supply']));
    for (const key of ['supply', 'socketLeakage', 'lineVoltage', 'signalFrequency'])
      expect(marked).not.toContain(key);
  });
});

describe('in an IF stage on its AGC line', () => {
  test('a leaking socket is the same leak in the tube, at the grid and in the loop', async () => {
    const steps = ['line', 'small'];
    const [socket, tube] = await Promise.all([
      one(IF, '6BA6', { socketLeakage: 60e6 }, steps),
      one(IF, '6BA6', {}, steps, { ...NEW, leaks: [leak(['plate', 'grid'], 60e6)] }),
    ]);
    const grid_V = numberOf(socket, 'gridVoltage');
    expect(grid_V).toBeCloseTo(numberOf(tube, 'gridVoltage'), 9);
    const lines = ({ traces }: Outcome): (number | undefined)[] =>
      loopOf(traces).levels.map((held) => held?.line_V);
    lines(socket).forEach((line_V, i) => expect(line_V).toBeCloseTo(lines(tube)[i]!, 4));
    // 250 V behind 60 megohm: beyond what the AGC can hold down
    expect(grid_V).toBeGreaterThan(0);
  }, 30_000);

  test('B+ through the winding moves grid and closed loop by the divider of leak and line, once', async () => {
    const { measures, traces } = await one(IF, '6BA6', { windingLeakage: 400e6 }, [
      'line',
      'small',
    ]);
    // Kirchhoff's law: 250 V behind 400 megohm, the source behind 2.2; no grid current there
    const divided = (source_V: number): number => (source_V * 400 + 250 * 2.2) / 402.2;
    expect(measures['gridVoltage']).toBeCloseTo(divided(-5), 2);
    const held = loopOf(traces).levels[1]!;
    // the other tube on the line has a transformer of its own
    expect(held.line_V).toBeCloseTo(divided(-detectedVolts(held.detector_V, 0.5, 0)), 2);
  }, 30_000);

  test('the screen bypass takes through its leak what the dropper brings and the tube leaves', async () => {
    const { traces } = await one(IF, '6BA6', { screenBypassLeakage: 100e3 }, ['line']);
    const at = (node: string): number => meanVolts(traces, 'line', 3, node);
    const taken = traces.models[0]!.currents(
      { plate: at('p'), screen: at('s'), grid: at('g'), cathode: at('k') },
      traces.states[0]!,
    ).screen!;
    // Kirchhoff's law at the screen; some milliamperes
    expect(1e3 * ((250 - at('s')) / 33e3 - at('s') / 100e3)).toBeCloseTo(1e3 * taken, 3);
  }, 30_000);
});

test('the winding of a converter leaks onto its signal grid', async () => {
  const found = await one(CONVERTER, '6BE6', { windingLeakage: 100e6, agcVoltages: [-8] }, [
    'start',
  ]);
  expect(meanVolts(found.traces, 'start', 0, 'g3')).toBeCloseTo(
    // Ohm's law with the stage's own line resistance
    -8 + (258 * 2.2) / 102.2,
    1,
  );
}, 30_000);

describe('in an output stage', () => {
  const REST = OUTPUT.steps[0]!.id;

  test('a leaking cathode bypass is a smaller cathode resistor', async () => {
    const [leaking, smaller] = await Promise.all([
      one(OUTPUT, '6V6GT', { cathodeResistor: 300, cathodeBypassLeakage: 1e4 }, [REST]),
      one(OUTPUT, '6V6GT', { cathodeResistor: 1 / (1 / 300 + 1e-4) }, [REST]),
    ]);
    const cathode = ({ traces }: Outcome): number => meanVolts(traces, REST, 0, 'k');
    expect(cathode(leaking)).toBeCloseTo(cathode(smaller), 4);
  }, 30_000);

  test('it is that for hum too, which a bypass that is next to none does not short', async () => {
    const RC = findStage('rc-amplifier')!;
    const heater: TubeCondition = { ...NEW, leaks: [leak(['heater', 'cathode'], 2e6)] };
    const humOf = async (given: Readonly<Record<string, number>>): Promise<number> =>
      numberOf(
        await one(RC, '12AX7', { cathodeBypass: 1e-12, ...given }, ['small'], heater),
        'hum',
      );
    const [leaking, smaller, sound] = await Promise.all([
      humOf({ cathodeResistor: 3e3, cathodeBypassLeakage: 1e4 }),
      humOf({ cathodeResistor: 1 / (1 / 3e3 + 1e-4) }),
      humOf({ cathodeResistor: 3e3 }),
    ]);
    expect(leaking / smaller).toBeCloseTo(1, 4);
    expect(sound / smaller).toBeGreaterThan(1.05);
  }, 30_000);

  test('a low line is low supplies and a cool heater, together', async () => {
    const supplies = ['plateSupply', 'screenSupply', 'couplingFrom'] as const;
    const low = Object.fromEntries(
      supplies.map((key) => [key, 0.85 * (OUTPUT.values[key]!.default as number)]),
    );
    const [line, parts] = await Promise.all([
      one(OUTPUT, '6V6GT', { lineVoltage: 85 }, [REST]),
      one(OUTPUT, '6V6GT', { ...low, heaterPercent: 85 }, [REST]),
    ]);
    expect(meanVolts(line.traces, REST, 0, 'b')).toBeCloseTo(low['plateSupply']!, 6);
    for (const node of OUTPUT.circuit(defaultValues(OUTPUT.values), [modelOf('6V6GT')]).watch)
      expect(meanVolts(line.traces, REST, 0, node)).toBeCloseTo(
        meanVolts(parts.traces, REST, 0, node),
        6,
      );
    expect(line.traces.states[0]!.saturation_A).toBe(parts.traces.states[0]!.saturation_A);
  }, 30_000);
});

describe('leaking capacitors against the same circuit written otherwise', () => {
  /** A plate load with a leak from its plate to chassis is a smaller load on a lower supply (Thévenin). */
  const thevenin = (
    supply: number,
    load: number,
    leak_ohm: number,
  ): Readonly<Record<'supply' | 'plateLoad', number>> => ({
    supply: (supply * leak_ohm) / (load + leak_ohm),
    plateLoad: (load * leak_ohm) / (load + leak_ohm),
  });

  test.for([
    [
      'local-oscillator',
      '6C4',
      'plateCapacitorLeakage',
      30e3,
      ['oscillatorVoltage', 'plateVoltage'],
    ],
    ['grid-leak-detector', '12AX7', 'plateBypassLeakage', 300e3, ['plateVoltage', 'detectionGain']],
  ] as const)('%s: a plate pulled down', async ([id, type, key, leak_ohm, measures]) => {
    const stage = findStage(id)!;
    const load = stage.values['plateLoad']!.default as number;
    const supply = stage.values['supply']!.default as number;
    const all = stage.steps.map((step) => step.id);
    const [leaking, otherwise, sound] = await Promise.all([
      one(stage, type, { [key]: leak_ohm }, all),
      one(stage, type, thevenin(supply, load, leak_ohm), all),
      one(stage, type, {}, all),
    ]);
    for (const measure of measures) {
      expect(numberOf(leaking, measure) / numberOf(otherwise, measure)).toBeCloseTo(1, 2);
      expect(numberOf(leaking, measure)).toBeLessThan(0.95 * numberOf(sound, measure));
    }
  });

  test('keyed AGC: a leak across the filter as large as the divider is a divider of half the size', async () => {
    const stage = findStage('keyed-agc')!;
    const [leaking, otherwise] = await Promise.all([
      one(stage, '6AU6', { filterCapacitorLeakage: 1.1e6 }, ['line']),
      one(stage, '6AU6', { dividerUpper: 500e3, dividerLower: 50e3 }, ['line']),
    ]);
    expect(numberOf(leaking, 'agcVoltage') / numberOf(otherwise, 'agcVoltage')).toBeCloseTo(1, 3);
  });

  test('the detector: its AGC capacitor divides, its winding lifts, its coupling brings the carrier’s voltage to the grid', async () => {
    const stage = findStage('diode-detector-agc')!;
    const at = stage.measures.find(({ id }) => id === 'agcVoltage')!.step;
    const steps = stage.steps
      .map(({ id }) => id)
      .slice(0, 1 + stage.steps.findIndex(({ id }) => id === at));
    const loud = { carrier: 10, modulation: 1, volume: 80 };
    const [sound, agc, winding, loudly, coupling] = await Promise.all([
      one(stage, '6AV6', {}, steps),
      one(stage, '6AV6', { agcCapacitorLeakage: 2.2e6 }, steps),
      one(stage, '6AV6', { windingLeakage: 20e6 }, steps),
      one(stage, '6AV6', loud, steps),
      one(stage, '6AV6', { ...loud, couplingLeakage: 20e6 }, steps),
    ]);
    // Ohm's law: half of what the detector makes, which it loads a little
    expect(numberOf(agc, 'agcVoltage') / numberOf(sound, 'agcVoltage')).toBeGreaterThan(0.44);
    expect(numberOf(agc, 'agcVoltage') / numberOf(sound, 'agcVoltage')).toBeLessThan(0.5);
    expect(numberOf(winding, 'agcAtRest')).toBeGreaterThan(numberOf(sound, 'agcAtRest') + 0.2);
    // a third of the eight volts, beyond the contact bias
    const grid = ({ traces }: Outcome): number => meanVolts(traces, at, 0, 'g');
    expect(grid(coupling)).toBeLessThan(grid(loudly) - 1);
  });

  test('the sync separator: what leaks through its coupling is what the grid must collect besides', async () => {
    const stage = findStage('sync-separator')!;
    const steps = stage.steps.map((step) => step.id);
    const [sound, little, more] = await Promise.all([
      one(stage, '6AU6', {}, steps),
      one(stage, '6AU6', { couplingLeakage: 20e6 }, steps),
      one(stage, '6AU6', { couplingLeakage: 5e6 }, steps),
    ]);
    const weak = [sound, little, more].map((each) => numberOf(each, 'weakPicture'));
    const grid = [sound, little, more].map((each) => numberOf(each, 'gridVoltage'));
    expect(grid[1]!).toBeGreaterThan(grid[0]!);
    expect(grid[2]!).toBeGreaterThan(grid[1]!);
    expect(weak[2]!).toBeGreaterThan(weak[0]!);
  });
});
