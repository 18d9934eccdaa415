import type {
  Circuit,
  Measures,
  MeasureSpec,
  MeasureValue,
  OwnAnswers,
  OwnRuns,
  Simulator,
  StageValues,
  Traces,
} from '../types.ts';
import { Stopped } from './stopped.ts';
import type { MeasureOptions, Outcome, Subject } from './subjects.ts';

/** One netlist of an own circuit may take this long: the engine is then ended, and the row has no number. */
const TIMEOUT_MS = 10_000;

/**
 * The measures of an own circuit: each subject by netlists of its own, one an analysis. Never rejects for a failed
 * simulation: that subject's outcome says so. Rejects only when stopped (`signal`).
 */
export async function ownOutcomes(
  own: OwnRuns,
  measures: readonly MeasureSpec[],
  circuit: Circuit,
  values: StageValues,
  subjects: readonly Subject[],
  simulator: Simulator,
  options: MeasureOptions,
): Promise<Outcome[]> {
  let done = 0;
  const [first] = subjects;
  // the first one's operating point leads to the others'
  const start =
    first === undefined
      ? undefined
      : (await run(own, circuit, first, `${options.runId}.start`, undefined, simulator, options, 1))
          .answers['rest'];
  const ran = await Promise.all(
    subjects.map(async (subject, i) => {
      const runId = `${options.runId}.${i}`;
      const found = await run(own, circuit, subject, runId, start, simulator, options);
      options.onProgress?.(++done, subjects.length);
      return found;
    }),
  );
  const outcomes: Outcome[] = [];
  const traces: Traces[] = [];
  // new tubes come first
  for (const [i, subject] of subjects.entries()) {
    const { answers, failed, notes } = ran[i]!;
    const trace = tracesOf(own, circuit, values, subject, answers, () =>
      subject.newTube === undefined ? undefined : traces[subject.newTube],
    );
    traces.push(trace);
    const newTube: Measures | undefined =
      subject.newTube === undefined ? undefined : outcomes[subject.newTube]!.measures;
    const found: Record<string, MeasureValue> = {};
    if (failed === undefined)
      for (const measure of measures) found[measure.id] = measure.of(trace, found, newTube);
    outcomes.push({
      measures: found,
      ...(failed === undefined ? {} : { failed }),
      notes,
      traces: trace,
    });
  }
  return outcomes;
}

async function run(
  own: OwnRuns,
  circuit: Circuit,
  subject: Subject,
  runId: string,
  start: OwnAnswers[string] | undefined,
  simulator: Simulator,
  options: MeasureOptions,
  count = Infinity,
): Promise<{ answers: OwnAnswers; failed?: string; notes: readonly string[] }> {
  const answers: Record<string, OwnAnswers[string]> = {};
  const notes: string[] = [];
  const analyses = own.requests(circuit, subject.row, runId, start).length;
  for (let i = 0; i < Math.min(analyses, count); i++) {
    // the other analyses begin at this subject's own operating point
    const from = answers['rest'] ?? start;
    const { analysis, request } = own.requests(circuit, subject.row, runId, from)[i]!;
    const result = await simulator.run(request, {
      ...options,
      timeout_ms: Math.min(TIMEOUT_MS, options.timeout_ms ?? TIMEOUT_MS),
    });
    if (!result.ok) {
      if (result.why === 'cancelled') throw new Stopped();
      return { answers, failed: `${result.why}: ${result.text}`, notes };
    }
    answers[analysis] = result.vectors;
    notes.push(...result.notes, ...result.warnings);
  }
  return { answers, notes };
}

function tracesOf(
  own: OwnRuns,
  circuit: Circuit,
  values: StageValues,
  subject: Subject,
  answers: OwnAnswers,
  newTube: () => Traces | undefined,
): Traces {
  return {
    get newTube() {
      return newTube();
    },
    line: undefined,
    values,
    models: circuit.tubes,
    states: subject.row.tubes.map((tube) => tube.state),
    leaks: subject.row.tubes.map((tube) => tube.leaks),
    knob(name) {
      const value = subject.row.knobs[name] ?? circuit.knobs[name]?.nominal;
      if (value === undefined) throw new Error(`no knob ${name}`);
      return value;
    },
    settings: () => [{ drive: 0 }],
    volts: (_, __, node) => Float64Array.of(own.restVolts(answers, node)),
    answers,
  };
}
