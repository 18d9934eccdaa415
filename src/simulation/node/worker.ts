import { parentPort, workerData } from 'node:worker_threads';
import type { ToWorker } from '../client.ts';
import { Spice } from '../spice.ts';
import { answer } from '../worker.ts';

const port = parentPort!;
const spice = Spice.create((workerData as { wasm: WebAssembly.Module }).wasm);
// a failed start is told with the first run
spice.catch(() => undefined);
// the engine's own promise chain breaks when it exits; `Spice` has told of it by then
process.on('unhandledRejection', () => undefined);

port.on('message', (message: ToWorker) => {
  void answer(spice, message).then((answered) =>
    port.postMessage(answered.message, answered.buffers),
  );
});
