import { afterAll, describe, expect, test } from 'vitest';
import { printRun, printStart, startFrom } from '../../src/circuit/print.ts';
import { readRows } from '../../src/circuit/read.ts';
import { settledCycle } from '../../src/measure/transient.ts';
import { fundamental, meanOf, thdPercent } from '../../src/numerics/harmonics.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { agcIfAmplifier } from '../../src/stage/agc-if-amplifier.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import type { Stage, TubeCondition } from '../../src/types.ts';
import { leak, modelOf, NEW, subjectOf, valuesOf } from './bench.ts';

/**
 * The quick answer against the slow one: phase copies against the settled transient of the same parts, at a tenth of the
 * onset of grid current, at it and at twice it.
 */
const simulator = nodeSimulator({ workers: 2 });
afterAll(() => simulator.close());

const CONDITIONS: Readonly<Record<string, TubeCondition>> = {
  new: NEW,
  'half-emission': { ...NEW, area: 0.5, saturation_A: 0.02 },
  leaky: { ...NEW, leaks: [leak(['plate', 'grid'], 300e6)] },
};

async function both(
  stage: Stage,
  type: string,
  given: Record<string, number | readonly number[]>,
  knobs: Record<string, number>,
  condition: TubeCondition,
  drive: number,
  count: number,
): Promise<{ quick: (node: string) => Float64Array; slow: (node: string) => Float64Array }> {
  const values = valuesOf(stage, given);
  const circuit = stage.circuit(values, [modelOf(type)]);
  const row = { ...subjectOf(values, condition).row, drive, knobs };
  const atRest = await simulator.run(printStart(circuit, 'rest', row));
  if (!atRest.ok) throw new Error(atRest.text);
  const view = { as: 'phases', count, substeps: 4 } as const;
  const ramp = [0.25, 0.5, 0.75, 1].map((share) => ({ ...row, drive: share * drive }));
  const result = await simulator.run(
    printRun(circuit, 'phases', view, ramp, startFrom(atRest.vectors)).request,
  );
  if (!result.ok) throw new Error(result.text);
  const rows = readRows(circuit, view, ramp.length, result);
  const settled = await settledCycle(stage, circuit, values, row, 'settled', simulator, {});
  if ('failed' in settled) throw new Error(settled.failed);
  return { quick: (node) => rows.at(-1)!.of(node), slow: (node) => settled.nodes.get(node)! };
}

interface Case {
  readonly stage: Stage;
  readonly type: string;
  readonly given: Record<string, number | readonly number[]>;
  readonly knobs: Record<string, number>;
  readonly output: string;
  /** Onset of grid current, V peak at the source. */
  readonly onset: number;
  readonly copies: number;
  /** Whether harmonics are compared: those of a carrier end in the next tuned circuit, and the copies leave them out. */
  readonly audio: boolean;
  /** Means are held to 1 % of themselves or of the grid bias, whichever is more. */
  readonly bias: number;
}

const CASES: readonly Case[] = [
  {
    stage: rcAmplifier,
    type: '12AX7',
    given: { couplingCapacitor: 100e-9, outputCapacitor: 100e-9 },
    knobs: {},
    output: 'o',
    onset: 1.2,
    copies: 16,
    bias: 1.4,
    audio: true,
  },
  {
    stage: rcAmplifier,
    type: '6AU6',
    given: {
      plateLoad: 100e3,
      screenDropper: 390e3,
      cathodeResistor: 1000,
      couplingCapacitor: 100e-9,
      outputCapacitor: 100e-9,
      screenBypass: 1e-6,
      cathodeBypass: 100e-6,
    },
    knobs: {},
    output: 'o',
    onset: 1,
    copies: 16,
    bias: 1.6,
    audio: true,
  },
  {
    stage: agcIfAmplifier,
    type: '6BA6',
    // a shorter line than in sets: its time constant is what a transient at 455 kHz has to sit out
    given: {
      agcVoltages: [0, -5],
      agcLineResistance: 220e3,
      lineCapacitor: 2e-9,
      tunedImpedance: 15e3,
      gridTankImpedance: 20e3,
      loadedQ: 12,
      screenBypass: 5e-9,
    },
    knobs: { agcVoltage: -5 },
    output: 'p',
    onset: 4.7,
    copies: 8,
    bias: 5.5,
    audio: false,
  },
];

describe.for(CASES)(
  '$stage.id with a $type',
  ({ stage, type, given, knobs, output, onset, copies, bias, audio }) => {
    for (const [name, condition] of Object.entries(CONDITIONS))
      for (const share of [0.1, 1, 2])
        test(`${name} tube at ${share} of the onset of grid current: both ways agree`, async () => {
          const { quick, slow } = await both(
            stage,
            type,
            given,
            knobs,
            condition,
            share * onset,
            copies,
          );
          const [a, b] = [
            Math.abs(fundamental(quick(output))),
            Math.abs(fundamental(slow(output))),
          ];
          expect(Math.abs(a / b - 1)).toBeLessThan(0.02);
          if (audio)
            expect(Math.abs(thdPercent(quick(output)) - thdPercent(slow(output)))).toBeLessThan(1);
          for (const node of ['g', 'k', 'p']) {
            const [x, y] = [meanOf(quick(node)), meanOf(slow(node))];
            expect(Math.abs(x - y), `mean of ${node}: ${x} against ${y}`).toBeLessThan(
              0.01 * Math.max(Math.abs(y), node === 'p' ? 0 : bias),
            );
          }
        }, 120_000);
  },
);
