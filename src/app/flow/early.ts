import { compileEngine } from '../../simulation/browser/compile.ts';
import type { EngineGiven } from './protocol.ts';

/**
 * The worker of the flow and the engine are started before the page's own script is there: the first answer waits for
 * them longest. The engine is compiled by the document, while the worker starts, and once for all workers of the page.
 */
let early: Worker | undefined;
let engine: Promise<WebAssembly.Module> | undefined;

function newFlowWorker(): Worker {
  const worker = new Worker(new URL('./flow.worker.ts', import.meta.url), {
    type: 'module',
    name: 'flow',
  });
  engine ??= compileEngine();
  const give = (wasm?: WebAssembly.Module): void =>
    worker.postMessage({ kind: 'engine', wasm } satisfies EngineGiven);
  engine.then(give, () => {
    // the worker tries by itself, and tells why it cannot
    engine = undefined;
    give();
  });
  return worker;
}

export function startEarly(): void {
  const worker = newFlowWorker();
  early = worker;
  // nobody listens yet: one that could not be started is started again by whoever needs it, and told then
  worker.addEventListener('error', () => {
    if (early === worker) early = undefined;
  });
}

/** The early worker, once; after that new ones. */
export function takeFlowWorker(): Worker {
  const worker = early ?? newFlowWorker();
  early = undefined;
  return worker;
}
