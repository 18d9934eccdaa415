import { assess } from '../../assess.ts';
import { picturesOf } from '../../decide/pictures.ts';
import { Problem } from '../../problem.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import type { Simulator } from '../../types.ts';
import { caseFrom } from './case-from.ts';
import type { JobRun } from './jobs.ts';
import type { FromFlow, JobRequest, RunRequest, ToFlow } from './protocol.ts';
import { capital } from '../../units/title.ts';

/** On two cores the engines would take the page's time to draw its answer; the first runs code for the first time too. */
const FIRST_DRAWN_ms = 80;
const DRAWN_ms = 20;
let isDrawn = false;

function drawn(): Promise<void> {
  const wait_ms = isDrawn ? DRAWN_ms : FIRST_DRAWN_ms;
  isDrawn = true;
  return new Promise((resolve) => {
    setTimeout(resolve, wait_ms);
  });
}

/**
 * Runs the flow beside the page: scenario text in, central report, report with intervals and pictures out. A new run
 * cancels the one before it. The engines are workers of this worker.
 */
export function flowRuns(
  engines: Simulator,
  post: (message: FromFlow) => void,
  broken: (error: unknown) => void,
): (message: ToFlow) => void {
  // an edit of a reading leaves the new tube as it was, and an undo everything
  const simulator = rememberingSimulator(engines);
  let current: { readonly id: number; readonly stop: AbortController } | undefined;
  return (data) => {
    if (data.kind === 'stop') {
      if (current?.id === data.id) current.stop.abort();
      return;
    }
    current?.stop.abort();
    const stop = new AbortController();
    current = { id: data.id, stop };
    const tell = (message: FromFlow): void => {
      if (!stop.signal.aborted || message.kind === 'stopped') post(message);
    };
    telling(data.id, stop.signal, tell, () =>
      data.kind === 'run'
        ? run(data, simulator, stop.signal, tell)
        : work(data, simulator, stop.signal, tell),
    ).catch(broken);
  };
}

type Tell = (message: FromFlow) => void;

/** How far a run is, is told when it is slow to answer and then as often as the eye can follow; it costs the page a drawing each. */
const SELDOM_ms = 150;

function progressOf(id: number, tell: Tell): JobRun['onProgress'] {
  let told = performance.now();
  return (what, done, all) => {
    const now = performance.now();
    if (now - told < SELDOM_ms) return;
    told = now;
    tell({ kind: 'progress', id, what, done, all });
  };
}

async function run(
  { id, text, tube, socket }: RunRequest,
  simulator: Simulator,
  signal: AbortSignal,
  tell: Tell,
): Promise<void> {
  const given = caseFrom(text, tube, socket);
  const report = await assess(given, simulator, {
    signal,
    onPair: (pair) => {
      tell({ kind: 'report', id, report: pair, causes: false, settled: false });
      return drawn();
    },
    onCentral: (central) =>
      tell({ kind: 'report', id, report: central, causes: true, settled: false }),
    // what would change it is sought after the answer stands
    onIntervals: (whole) =>
      tell({ kind: 'report', id, report: whole, causes: true, settled: true }),
    onProgress: progressOf(id, tell),
  });
  tell({ kind: 'report', id, report, causes: true, settled: true });
  await picturesOf(given, report, simulator, {
    signal,
    onPictures: (pictures) => tell({ kind: 'pictures', id, pictures }),
  });
}

/** The further places; what they need is fetched when one of them is opened. */
async function work(
  { id, job }: JobRequest,
  simulator: Simulator,
  signal: AbortSignal,
  tell: Tell,
): Promise<void> {
  const { answerTo } = await import('./jobs.ts');
  const answer = await answerTo(job, {
    simulator,
    signal,
    onProgress: progressOf(id, tell),
  });
  tell({ kind: 'answer', id, answer });
}

async function telling(
  id: number,
  signal: AbortSignal,
  tell: Tell,
  task: () => Promise<void>,
): Promise<void> {
  try {
    await task();
    tell({ kind: 'done', id });
  } catch (error) {
    if (signal.aborted) tell({ kind: 'stopped', id });
    else if (error instanceof Problem)
      tell({ kind: 'problem', id, title: capital(error.message), text: detail(error) });
    else throw error;
  }
}

function detail({ fields: { place, found, expected, hint } }: Problem): string {
  return [
    place === undefined ? undefined : `At ${place}.`,
    found === undefined ? undefined : `Found: ${found}.`,
    expected === undefined ? undefined : `Expected: ${expected}.`,
    hint,
  ]
    .filter((part) => part !== undefined)
    .join(' ');
}
