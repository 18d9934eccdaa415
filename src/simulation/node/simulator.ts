import { readFile } from 'node:fs/promises';
import { Worker } from 'node:worker_threads';
import type { FromWorker, StartThread } from '../client.ts';
import { ENGINE } from '../generated/version.mjs';
import { EnginePool } from '../pool.ts';

/** The built command line has the worker beside it; the sources (tests) use the one that was built. */
const here = import.meta.url;
const built = new URL(here.endsWith('.ts') ? '../../../dist/cli/' : './', here);

let compiled: Promise<WebAssembly.Module> | undefined;
const compile = (): Promise<WebAssembly.Module> =>
  (compiled ??= readFile(new URL('ngspice.wasm', built)).then((bytes) =>
    WebAssembly.compile(bytes),
  ));

const start: StartThread = async (events) => {
  const worker = new Worker(new URL('worker-node.js', built), {
    workerData: { wasm: await compile() },
    execArgv: [],
  });
  worker.unref();
  worker.on('message', (message: FromWorker) => events.message(message));
  worker.on('error', (error: Error) => events.died(error.message));
  worker.on('exit', (code) => events.died(`the engine's thread ended with code ${code}`));
  return {
    post: (message) => worker.postMessage(message),
    stop: () => void worker.terminate(),
    hold: (busy) => (busy ? worker.ref() : worker.unref()),
  };
};

/** ngspice in worker threads. An idle simulator does not keep the process alive. */
export function nodeSimulator({ workers = 1 }: { readonly workers?: number } = {}): EnginePool {
  return new EnginePool(ENGINE, workers, start);
}
