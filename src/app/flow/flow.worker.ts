import { assess } from '../../assess.ts';
import { Problem } from '../../problem.ts';
import { browserSimulator } from '../../simulation/browser/simulator.ts';
import { picturesOf } from '../../decide/pictures.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import { caseFrom } from './case-from.ts';
import type { FromFlow, JobRequest, RunRequest, ToFlow } from './protocol.ts';

/**
 * Runs the flow beside the page: scenario text in, central report, report with intervals and pictures out. A new run
 * cancels the one before it. The engines are workers of this worker.
 */
const scope = globalThis as unknown as {
  postMessage(message: FromFlow): void;
  onmessage: ((event: MessageEvent<ToFlow>) => void) | null;
};

const cores =
  (globalThis as { navigator?: { hardwareConcurrency?: number } }).navigator?.hardwareConcurrency ??
  2;
const simulator = browserSimulator({ workers: Math.min(4, Math.max(1, cores)) });
const remembering = rememberingSimulator(simulator);
void simulator.warmUp().catch(() => undefined);

let current: { readonly id: number; readonly stop: AbortController } | undefined;

scope.onmessage = ({ data }) => {
  if (data.kind === 'stop') {
    if (current?.id === data.id) current.stop.abort();
    return;
  }
  current?.stop.abort();
  const stop = new AbortController();
  current = { id: data.id, stop };
  void (data.kind === 'run' ? run(data, stop.signal) : work(data, stop.signal));
};

async function run(request: RunRequest, signal: AbortSignal): Promise<void> {
  const { id, text, tube, socket } = request;
  await telling(id, signal, async (tell) => {
    const given = caseFrom(text, tube, socket);
    const report = await assess(given, simulator, {
      signal,
      onCentral: (central) => tell({ kind: 'report', id, report: central, settled: false }),
      // what would change it is sought after the answer stands
      onIntervals: (whole) => tell({ kind: 'report', id, report: whole, settled: true }),
      onProgress: (what, done, all) => tell({ kind: 'progress', id, what, done, all }),
    });
    tell({ kind: 'report', id, report, settled: true });
    await picturesOf(given, report, simulator, {
      signal,
      onPictures: (pictures) => tell({ kind: 'pictures', id, pictures }),
    });
  });
}

/** The further places; what they need is fetched when one of them is opened. */
async function work({ id, job }: JobRequest, signal: AbortSignal): Promise<void> {
  await telling(id, signal, async (tell) => {
    const { answerTo } = await import('./jobs.ts');
    const answer = await answerTo(job, {
      simulator: remembering,
      signal,
      onProgress: (what, done, all) => tell({ kind: 'progress', id, what, done, all }),
    });
    tell({ kind: 'answer', id, answer });
  });
}

async function telling(
  id: number,
  signal: AbortSignal,
  task: (tell: (message: FromFlow) => void) => Promise<void>,
): Promise<void> {
  const tell = (message: FromFlow): void => {
    if (!signal.aborted || message.kind === 'stopped') scope.postMessage(message);
  };
  try {
    await task(tell);
    tell({ kind: 'done', id });
  } catch (error) {
    if (signal.aborted) tell({ kind: 'stopped', id });
    else if (error instanceof Problem)
      tell({ kind: 'problem', id, title: sentence(error.message), text: detail(error) });
    else throw error;
  }
}

const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

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
