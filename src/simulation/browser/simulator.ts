import type { FromWorker, StartThread } from '../client.ts';
import { ENGINE } from '../generated/version.mjs';
import { EnginePool } from '../pool.ts';
import { compileEngine } from './compile.ts';

export interface BrowserSimulatorOptions {
  readonly workers?: number;
  /** The engine that somebody else compiles; it is compiled here where that gives none. */
  readonly engine?: Promise<WebAssembly.Module | undefined>;
}

/** ngspice in web workers, compiled once for all of them. */
export function browserSimulator({
  workers = 1,
  engine = Promise.resolve(undefined),
}: BrowserSimulatorOptions = {}): EnginePool {
  let compiled: Promise<WebAssembly.Module> | undefined;
  const compile = (): Promise<WebAssembly.Module> => {
    compiled ??= engine.then((given) => given ?? compileEngine());
    // a failed download is tried again with the next run
    compiled.catch(() => {
      compiled = undefined;
    });
    return compiled;
  };
  const start: StartThread = async (events) => {
    const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
    worker.addEventListener('message', ({ data }: MessageEvent<FromWorker>) =>
      events.message(data),
    );
    worker.addEventListener('error', (event) => events.died(event.message));
    worker.addEventListener('messageerror', () => events.died('an answer could not be read'));
    try {
      worker.postMessage({ wasm: await compile() });
    } catch (error) {
      worker.terminate();
      throw error;
    }
    return {
      post: (message) => worker.postMessage(message),
      stop: () => worker.terminate(),
    };
  };
  return new EnginePool(ENGINE, workers, start);
}
