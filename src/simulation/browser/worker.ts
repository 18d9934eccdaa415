import type { ToWorker } from '../client.ts';
import { Spice } from '../spice.ts';
import { answer } from '../worker.ts';

/** The part of a dedicated worker's scope that is used. */
const scope = globalThis as unknown as {
  postMessage(message: unknown, transfer: Transferable[]): void;
  onmessage:
    | ((event: MessageEvent<ToWorker | { readonly wasm: WebAssembly.Module }>) => void)
    | null;
};

let spice: Promise<Spice> = Promise.reject(new Error('a netlist came before the engine'));
spice.catch(() => undefined);

scope.onmessage = ({ data }) => {
  if ('wasm' in data) {
    spice = Spice.create(data.wasm);
    // a failed start is told with the first run
    spice.catch(() => undefined);
    return;
  }
  void answer(spice, data).then(({ message, buffers }) => scope.postMessage(message, buffers));
};
