import { assess, type Case } from '../../assess.ts';
import { caseOf, readerContext } from '../../cases.ts';
import { Problem } from '../../problem.ts';
import { readScenario } from '../../scenario/read.ts';
import { browserSimulator } from '../../simulation/browser/simulator.ts';
import { picturesOf } from '../../decide/pictures.ts';
import type { FromFlow, RunRequest, ToFlow } from './protocol.ts';

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
  void run(data, stop.signal);
};

async function run(request: RunRequest, signal: AbortSignal): Promise<void> {
  const { id } = request;
  const tell = (message: FromFlow): void => {
    if (!signal.aborted || message.kind === 'stopped') scope.postMessage(message);
  };
  try {
    const given = caseFrom(request);
    const report = await assess(given, simulator, {
      signal,
      onCentral: (central) => tell({ kind: 'report', id, report: central, settled: false }),
      onProgress: (what, done, all) => tell({ kind: 'progress', id, what, done, all }),
    });
    tell({ kind: 'report', id, report, settled: true });
    await picturesOf(given, report, simulator, {
      signal,
      onPictures: (pictures) => tell({ kind: 'pictures', id, pictures }),
    });
    tell({ kind: 'done', id });
  } catch (error) {
    if (signal.aborted) tell({ kind: 'stopped', id });
    else if (error instanceof Problem)
      tell({ kind: 'problem', id, title: sentence(error.message), text: detail(error) });
    else throw error;
  }
}

function caseFrom({ text, tube, socket }: RunRequest): Case {
  const scenario = readScenario(text, readerContext('this set'));
  const [found, place] = [
    scenario.tubes.find((one) => one.id === tube),
    scenario.sockets.find((one) => one.id === socket),
  ];
  if (found === undefined || place === undefined)
    throw new Problem('missing', 'there is no such tube or socket in this set', {
      found: `${tube} in ${socket}`,
    });
  return caseOf(scenario, found, place);
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
