import { afterAll, describe, expect } from 'vitest';
import { printRun, printStart, startFrom } from '../../src/circuit/print.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { STAGES } from '../../src/stage/catalogue.ts';
import type {
  Electrode,
  Family,
  Measures,
  Row,
  SimResult,
  Simulator,
  Stage,
} from '../../src/types.ts';
import { measureSubjects } from '../../src/measure/subjects.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';
import { leak, modelOf, NEW, subjectOf, valuesOf } from './bench.ts';

/** A port check, not outside evidence: the system's own ngspice on the very same netlists, every measure within 0.1 %. */
const simulator = nodeSimulator();
afterAll(() => simulator.close());

/** A suitable type for each stage; others are taken from the first family that fits. */
const TYPES: Readonly<Record<string, string>> = {
  'rc-amplifier': '12AX7',
  'agc-if-amplifier': '6BA6',
  'output-single-ended': '6V6GT',
  'diode-detector-agc': '6AV6',
  'sync-separator': '6AU6',
  'keyed-agc': '6AU6',
  'frequency-converter': '6BE6',
  'local-oscillator': '6C4',
};
const BY_FAMILY: Readonly<Record<string, string>> = {
  triode: '12AU7',
  pentode: '6V6GT',
  diode: '6X4',
};
/** Electrode that leaks, where the family has no control grid of that name. */
const LEAKS_TO: Readonly<Partial<Record<Family, Electrode>>> = {
  diode: 'cathode',
  pentagrid: 'signalGrid',
};
const typeFor = (stage: Stage): string => TYPES[stage.id] ?? BY_FAMILY[stage.families.at(-1)!]!;

const native: Simulator = {
  engine: 'native ngspice',
  workers: 1,
  run: (request): Promise<SimResult> => Promise.resolve(runNative(request)),
  close: () => undefined,
};

async function measuresOf(stage: Stage, by: Simulator): Promise<Measures[]> {
  const values = valuesOf(stage);
  const circuit = stage.circuit(
    values,
    Array.from({ length: stage.tubes }, () => modelOf(typeFor(stage))),
  );
  const worn = {
    ...NEW,
    area: 0.7,
    saturation_A: 0.05,
    gasRatio: 2e-6,
    leaks: [leak(['plate', LEAKS_TO[stage.families[0]!] ?? 'grid'], 800e6)],
  };
  const subjects = [subjectOf(values, NEW), subjectOf(values, worn, 0)];
  const outcomes = await measureSubjects(stage, circuit, values, subjects, by, {
    runId: 'port',
    timeout_ms: 120_000,
  });
  for (const outcome of outcomes) expect(outcome.failed).toBeUndefined();
  return outcomes.map((outcome) => outcome.measures);
}

describe('port check against native ngspice', () => {
  for (const stage of STAGES.filter((each) => each.tubes === 1))
    testWithNative(`${stage.id}: every measure within 0.1 %`, async () => {
      const [ours, theirs] = [await measuresOf(stage, simulator), await measuresOf(stage, native)];
      ours.forEach((measures, i) => {
        for (const [id, value] of Object.entries(measures)) {
          const other = theirs[i]![id];
          if (typeof value !== 'number') expect(typeof other, id).toBe(typeof value);
          else
            expect(
              Math.abs((other as number) - value),
              `${id}: ${value} against ${JSON.stringify(other)}`,
            ).toBeLessThan(1e-3 * Math.max(Math.abs(value), 1e-3));
        }
      });
    });

  testWithNative('a printed start and its table are the same text for both', async () => {
    const stage = STAGES[0]!;
    const values = valuesOf(stage);
    const circuit = stage.circuit(values, [modelOf(typeFor(stage))]);
    const row: Row = { ...subjectOf(values, NEW).row, drive: 0.02 };
    const start = await simulator.run(printStart(circuit, 'start', row));
    expect(start.ok).toBe(true);
    const from = start.ok ? startFrom(start.vectors) : {};
    const print = (): string =>
      printRun(circuit, 'same', { as: 'phases', count: 2 }, [row], from).request.netlist;
    expect(print()).toBe(print());
    expect(
      runNative(printRun(circuit, 'same', { as: 'phases', count: 2 }, [row], from).request).ok,
    ).toBe(true);
  });
});
