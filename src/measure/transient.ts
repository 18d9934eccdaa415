import { phaseOf } from '../circuit/copies.ts';
import { nodesOf, printRun, printStart, startFrom } from '../circuit/print.ts';
import { readRows } from '../circuit/read.ts';
import { Problem } from '../problem.ts';
import type {
  Circuit,
  Measures,
  MeasureValue,
  Row,
  RunOptions,
  Setting,
  SimResult,
  Simulator,
  Stage,
  StageValues,
  Traces,
  View,
} from '../types.ts';
import { lastCycles, settled, type Cycle } from './settled.ts';
import { leadIn } from './requests.ts';
import { Stopped, type Outcome, type Subject } from './subjects.ts';

/**
 * The same measures from settled transients: the check on the phase copies, and the answer where a capacitor is no short.
 * Each setting is one transient, started from the phase copies' mean voltages and run until two cycles agree.
 */

export interface TransientOptions extends RunOptions {
  onProgress?(done: number, all: number): void;
}

const FIRST_CYCLES = 24;
const MOST_CYCLES = 24 * 64;
/** Cycles of five longest R·C: beyond it even a small error of the start takes minutes to settle. */
const MOST_SETTLING = 50_000;
const STEPS_PER_CYCLE = 200;
const STEPS_PER_PULSES = 250;
/** Half-cycle samples handed to the measures; harmonics up to one less. */
const SAMPLES = 16;

/** Outcomes of the first subjects again, each setting of each step by a settled transient. `steady` are their phase-copy outcomes. */
export async function transientOutcomes(
  stage: Stage,
  circuit: Circuit,
  values: StageValues,
  subjects: readonly Subject[],
  steady: readonly Outcome[],
  simulator: Simulator,
  options: TransientOptions,
): Promise<Outcome[]> {
  if (stage.own !== undefined)
    throw new Problem('does-not-fit', 'an own circuit has the analyses that its netlist asks for', {
      place: '--transient',
      found: stage.title.toLowerCase(),
      expected:
        'a .tran line in the circuit, and mean(), swing(), fundamental() or thd() in a measure',
    });
  if (circuit.parts.some(({ kind }) => kind === 'oscillatorTank'))
    throw new Problem('does-not-fit', 'this stage has no settled transient', {
      place: '--transient',
      found: stage.title.toLowerCase(),
      expected: 'a stage that is driven',
      hint: 'An oscillator takes hundreds of cycles to its swing; the phase copies of this stage are held to such runs by tests.',
    });
  const views = stage.steps.map((step) => step.view(values).as);
  if (views.includes('envelope'))
    throw new Problem('does-not-fit', 'this stage has no settled transient', {
      place: '--transient',
      found: stage.title.toLowerCase(),
      expected: 'a stage with one signal',
      hint: 'Carrier and audio together take minutes a run; the phase copies of this stage are held to such runs by tests.',
    });
  if (views.includes('levels'))
    throw new Problem('does-not-fit', 'this stage has no settled transient', {
      place: '--transient',
      found: stage.title.toLowerCase(),
      expected: 'a stage whose signal is a sine',
      hint: 'Its capacitors take thousands of lines of the picture to settle; its levels are held to shorter ones by tests.',
    });
  const { frequency_Hz, settling_s } = stage.transient(values);
  if (frequency_Hz * settling_s > MOST_SETTLING)
    throw new Problem('does-not-fit', 'this socket would take too long to settle', {
      place: '--transient',
      found: `five times its longest R·C are ${Math.round(frequency_Hz * settling_s).toLocaleString('en')} cycles of its signal`,
      expected: `at most ${MOST_SETTLING.toLocaleString('en')}`,
      hint: 'The phase copies need no settling, and tests hold them to transients with smaller capacitors. Where it stands does not hang on capacitors that are shorts at the signal: give smaller ones.',
    });
  // a step at rest has nothing to settle: its answers stand
  const signalled = stage.steps.filter((step) => step.view(values).as !== 'quiescent');
  const settingsOf = (i: number): { step: string; index: number; setting: Setting }[] =>
    signalled.flatMap((step) =>
      steady[i]!.traces.settings(step.id).map((setting, index) => ({
        step: step.id,
        index,
        setting,
      })),
    );
  const all = subjects.flatMap((subject, i) => settingsOf(i).map((at) => ({ ...at, subject, i })));
  let done = 0;
  const samples = subjects.map(() => new Map<string, Map<string, Float64Array>[]>());
  const failed: (string | undefined)[] = subjects.map(() => undefined);
  await Promise.all(
    all.map(async ({ step, index, setting, subject, i }) => {
      const row: Row = {
        knobs: { ...subject.row.knobs, ...setting.knobs },
        tubes: subject.row.tubes,
        drive: setting.drive,
      };
      const result = await settledCycle(
        stage,
        circuit,
        values,
        row,
        `transient.${step}.${i}.${index}`,
        simulator,
        options,
        stage.steps.find((each) => each.id === step)!.view(values),
      );
      if ('failed' in result) failed[i] ??= result.failed;
      else {
        const rows = samples[i]!.get(step) ?? [];
        rows[index] = result.nodes;
        samples[i]!.set(step, rows);
      }
      options.onProgress?.(++done, all.length);
    }),
  );
  const found: Outcome[] = [];
  for (const [i, before] of steady.entries()) {
    if (before.failed !== undefined || failed[i] !== undefined) {
      found.push({ ...before, measures: {}, failed: before.failed ?? failed[i]! });
      continue;
    }
    const traces: Traces = {
      ...before.traces,
      volts: (step, setting, node) =>
        samples[i]!.get(step)?.[setting]?.get(node) ?? before.traces.volts(step, setting, node),
    };
    const measures: Record<string, MeasureValue> = {};
    const newTube: Measures | undefined =
      subjects[i]!.newTube === undefined ? undefined : found[subjects[i]!.newTube]!.measures;
    for (const step of stage.steps)
      for (const measure of stage.measures)
        if (measure.step === step.id) measures[measure.id] = measure.of(traces, measures, newTube);
    found.push({ ...before, measures, traces });
  }
  return found;
}

/** Samples of every watched node over a settled cycle, as the copies of `view` have them, or why there are none. */
export async function settledCycle(
  stage: Stage,
  circuit: Circuit,
  values: StageValues,
  row: Row,
  runId: string,
  simulator: Simulator,
  options: RunOptions,
  view: View = { as: 'phases', count: SAMPLES },
): Promise<{ nodes: Map<string, Float64Array> } | { failed: string }> {
  const { frequency_Hz, settling_s } = stage.transient(values);
  // an inductance is a short at the start: with both its ends given, the rounding between them would be an enormous current
  const inner = new Set(
    circuit.parts.flatMap((part) =>
      part.kind === 'outputTransformer'
        ? [part.nodes[1]]
        : part.kind === 'pushPullTransformer'
          ? [part.nodes[3]]
          : [],
    ),
  );
  const everywhere: Circuit = {
    ...circuit,
    watch: nodesOf(circuit).filter((node) => node !== '0' && !inner.has(node)),
  };
  const startView =
    view.as === 'phases' ? ({ as: 'phases', count: 8, substeps: 4 } as const) : view;
  const start = await meansOf(everywhere, row, startView, `${runId}.means`, simulator, options);
  if ('failed' in start) return start;
  for (let cycles = FIRST_CYCLES; cycles <= MOST_CYCLES; cycles *= 4) {
    const printed = printRun(
      circuit,
      `${runId}.${cycles}`,
      {
        as: 'transient',
        frequency_Hz,
        cycles,
        ...(view.as === 'levels'
          ? { stepsPerCycle: STEPS_PER_PULSES, shares: view.shares }
          : { stepsPerCycle: STEPS_PER_CYCLE }),
      },
      [row],
      start.means,
    );
    const result = await simulator.run(printed.request, { timeout_ms: 120_000, ...options });
    if (!result.ok) return failure(result);
    const found = new Map<string, readonly Cycle[]>(
      circuit.watch.map((node) => [
        node,
        lastCycles(
          result.vectors['time']!,
          result.vectors[`v(${node.toLowerCase()})`]!,
          frequency_Hz,
          2,
        ),
      ]),
    );
    if ([...found.values()].every((nodeCycles) => settled(nodeCycles, settling_s * frequency_Hz)))
      return {
        nodes: new Map([...found].map(([node, last]) => [node, samplesAs(view, last.at(-1)!)])),
      };
  }
  return { failed: `incomplete: the transient did not settle within ${MOST_CYCLES} cycles` };
}

function failure(result: Extract<SimResult, { ok: false }>): { failed: string } {
  if (result.why === 'cancelled') throw new Stopped();
  return { failed: `${result.why}: ${result.text}` };
}

/** Node voltages at the beginning of a cycle, by the copies: where the transient starts. */
async function meansOf(
  circuit: Circuit,
  row: Row,
  view: View,
  runId: string,
  simulator: Simulator,
  options: RunOptions,
): Promise<{ means: Record<string, number> } | { failed: string }> {
  const atRest = await simulator.run(printStart(circuit, `${runId}.rest`, row), options);
  const rows = [...leadIn(row, view, true), row];
  const printed = printRun(circuit, runId, view, rows, atRest.ok ? startFrom(atRest.vectors) : {});
  const result = await simulator.run(printed.request, options);
  if (!result.ok) return failure(result);
  const volts = readRows(circuit, view, rows.length, result).at(-1)!;
  return {
    means: Object.fromEntries(
      circuit.watch.map((node) => {
        const samples = volts.of(node);
        return [node, startOf(view, samples)];
      }),
    ),
  };
}

/** Where a cycle begins: a pulse train at its first level, a sine at the means. */
function startOf(view: View, samples: Float64Array): number {
  // a rail is shared by all copies and has one value
  return samples.length === 1 || view.as === 'levels'
    ? samples[0]!
    : samples.reduce((sum, x) => sum + x, 0) / samples.length;
}

/** A settled cycle as the view's copies have it: the cycle begins at the drive's positive peak, a quarter after the period. */
function samplesAs(view: View, cycle: Cycle): Float64Array {
  const n = cycle.length;
  if (view.as === 'cycle')
    return Float64Array.from({ length: view.points }, (_, m) => {
      const at = (m * n) / view.points;
      const [i, share] = [Math.floor(at), at % 1];
      return (1 - share) * cycle[i]! + share * cycle[(i + 1) % n]!;
    });
  if (view.as !== 'levels') return evenSamples(cycle);
  let from = 0;
  return Float64Array.from(view.shares, (share) => {
    // the middle half of a level: away from its edges
    const middle = Array.from(
      { length: 9 },
      (_, k) => cycle[Math.round((from + share * (0.25 + k / 16) + 0.75) * n) % n]!,
    );
    from += share;
    return middle.reduce((sum, x) => sum + x, 0) / middle.length;
  });
}

/** A cycle's harmonics, each turned to phase 0 or 180 degrees, sampled as the phase copies are: magnitudes are kept exactly. */
export function evenSamples(cycle: Cycle): Float64Array {
  const n = cycle.length;
  const harmonics = Array.from({ length: SAMPLES }, (_, m) => {
    let real = 0;
    let imaginary = 0;
    for (let i = 0; i < n; i++) {
      const theta = (2 * Math.PI * i) / n;
      real += cycle[i]! * Math.cos(m * theta);
      imaginary += cycle[i]! * Math.sin(m * theta);
    }
    const scale = (m === 0 ? 1 : 2) / n;
    return m === 0 ? real * scale : Math.sign(real || 1) * Math.hypot(real, imaginary) * scale;
  });
  return Float64Array.from({ length: SAMPLES }, (_, k) => {
    const theta = phaseOf(k, SAMPLES);
    return harmonics.reduce((sum, amplitude, m) => sum + amplitude * Math.cos(m * theta), 0);
  });
}
