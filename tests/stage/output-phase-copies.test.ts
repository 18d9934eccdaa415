import { afterAll, describe, expect, test } from 'vitest';
import { measureSubjects } from '../../src/measure/subjects.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { fundamental, meanOf, thdPercent } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import type { Stage, TubeCondition } from '../../src/types.ts';
import { leak, modelOf, NEW, subjectOf, valuesOf } from './bench.ts';

/**
 * The output stage's quick answer against the settled transient of the same parts, transformer included: at a tenth of the
 * onset of grid current of a new tube, at it and at twice it.
 */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const TYPE = '6V6GT';
const ONSET_V = 12.5;
const FRESH: TubeCondition = { ...NEW, saturation_A: 0.4 };
const CONDITIONS: Readonly<Record<string, TubeCondition>> = {
  new: FRESH,
  'half-emission': { ...FRESH, area: 0.5, saturation_A: 0.08 },
  leaky: { ...FRESH, gasRatio: 2e-5, leaks: [leak(['plate', 'grid'], 200e6)] },
};

/** The stage with these drives alone; twice the onset is beyond what it looks at, and takes a few more copies. */
const drivenWith = (drive: number, count: number): Stage => ({
  ...outputSingleEnded,
  steps: outputSingleEnded.steps.map((step) =>
    step.id === 'driven'
      ? {
          ...step,
          view: () => ({ as: 'phases', count }),
          settings: () => [0.25, 0.5, 0.75, 1].map((share) => ({ drive: share * drive })),
        }
      : step,
  ),
});

const BIAS = { 'cathode bias': { cathodeResistor: 270 }, 'fixed bias': { fixedBias: -12.5 } };

describe.for(Object.entries(BIAS))('an output stage with %s', ([, bias]) => {
  for (const [name, condition] of Object.entries(CONDITIONS))
    for (const share of [0.1, 1, 2])
      test(`${name} tube at ${share} of the onset of grid current: both ways agree`, async () => {
        const drive = share * ONSET_V;
        const stage = drivenWith(drive, share > 1 ? 12 : 8);
        // a smaller bypass and a larger primary than usual: what a transient at 1 kHz has to sit out, and what shunts the load
        const values = valuesOf(stage, { ...bias, drive, primaryInductance: 20 });
        const circuit = stage.circuit(values, [modelOf(TYPE)]);
        const subject = subjectOf(values, condition);
        const [outcome] = await measureSubjects(stage, circuit, values, [subject], simulator, {
          runId: 'copies',
          steps: ['rest', 'driven'],
        });
        expect(outcome!.failed).toBeUndefined();
        const settled = await settledCycle(
          stage,
          circuit,
          values,
          { ...subject.row, drive },
          'settled',
          simulator,
          {},
        );
        if ('failed' in settled) throw new Error(settled.failed);
        const quick = (node: string): Float64Array => outcome!.traces.volts('driven', 3, node);
        const slow = (node: string): Float64Array => settled.nodes.get(node)!;
        const power = (fundamental(quick('p')) / fundamental(slow('p'))) ** 2;
        expect(Math.abs(power - 1)).toBeLessThan(0.02);
        expect(Math.abs(thdPercent(quick('p')) - thdPercent(slow('p')))).toBeLessThan(1);
        for (const node of ['g', 'k', 'p'].filter((each) => circuit.watch.includes(each))) {
          const [x, y] = [meanOf(quick(node)), meanOf(slow(node))];
          expect(Math.abs(x - y), `mean of ${node}: ${x} against ${y}`).toBeLessThan(
            0.01 * Math.max(Math.abs(y), node === 'p' ? 0 : ONSET_V),
          );
        }
      }, 120_000);
});
