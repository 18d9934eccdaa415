import type { FromWorker, StartThread } from '../client.ts';
import { ENGINE } from '../generated/version.mjs';
import wasmUrl from '../generated/ngspice.wasm?url';
import { EnginePool } from '../pool.ts';

let compiled: Promise<WebAssembly.Module> | undefined;

function compile(): Promise<WebAssembly.Module> {
  compiled ??= compileOnce();
  // a failed download is tried again with the next run
  compiled.catch(() => {
    compiled = undefined;
  });
  return compiled;
}

async function compileOnce(): Promise<WebAssembly.Module> {
  const response = await fetch(wasmUrl);
  if (!response.ok) throw new Error(`${response.status} for ${wasmUrl}`);
  // a server that calls the file anything but application/wasm is no reason to fail
  if (response.headers.get('content-type') !== 'application/wasm')
    return WebAssembly.compile(await response.arrayBuffer());
  return WebAssembly.compileStreaming(response);
}

const start: StartThread = async (events) => {
  const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
  worker.addEventListener('message', ({ data }: MessageEvent<FromWorker>) => events.message(data));
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

/** ngspice in web workers, compiled once for all of them. */
export function browserSimulator({ workers = 1 }: { readonly workers?: number } = {}): EnginePool {
  return new EnginePool(ENGINE, workers, start);
}
