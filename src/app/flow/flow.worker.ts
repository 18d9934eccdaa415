import { browserSimulator } from '../../simulation/browser/simulator.ts';
import type { FromFlow, ToFlow } from './protocol.ts';

/** The worker beside the page: starts the engines, and while they start fetches what runs on them. */
const scope = globalThis as unknown as {
  postMessage(message: FromFlow): void;
  onmessage: ((event: MessageEvent<ToFlow>) => void) | null;
};

const cores =
  (globalThis as { navigator?: { hardwareConcurrency?: number } }).navigator?.hardwareConcurrency ??
  2;
const simulator = browserSimulator({ workers: Math.min(4, Math.max(1, cores)) });
void simulator.warmUp().catch(() => undefined);

// the page hears of errors, not of rejections
const broken = (error: unknown): unknown =>
  setTimeout(() => {
    throw error;
  });

const runs = import('./runs.ts').then(({ flowRuns }) =>
  flowRuns(simulator, (message) => scope.postMessage(message), broken),
);
runs.catch(broken);

scope.onmessage = ({ data }) => void runs.then((heed) => heed(data)).catch(() => undefined);
