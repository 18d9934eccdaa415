import { browserSimulator } from '../../simulation/browser/simulator.ts';
import type { EngineGiven, FromFlow, ToFlow } from './protocol.ts';

/** The worker beside the page: starts the engines, and while they start fetches what runs on them. */
const scope = globalThis as unknown as {
  postMessage(message: FromFlow): void;
  onmessage: ((event: MessageEvent<ToFlow | EngineGiven>) => void) | null;
};

const cores =
  (globalThis as { navigator?: { hardwareConcurrency?: number } }).navigator?.hardwareConcurrency ??
  2;
let give: (wasm: WebAssembly.Module | undefined) => void;
const engine = new Promise<WebAssembly.Module | undefined>((resolve) => {
  give = resolve;
});
const simulator = browserSimulator({ workers: Math.min(4, Math.max(1, cores)), engine });
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

scope.onmessage = ({ data }) => {
  if (data.kind === 'engine') give(data.wasm);
  else void runs.then((heed) => heed(data)).catch(() => undefined);
};
