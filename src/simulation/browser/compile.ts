import wasmUrl from '../generated/ngspice.wasm?url';

/** The engine, fetched and compiled while it comes. Rejects where it cannot be had. */
export async function compileEngine(): Promise<WebAssembly.Module> {
  const response = await fetch(wasmUrl);
  if (!response.ok) throw new Error(`${response.status} for ${wasmUrl}`);
  // a server that calls the file anything but application/wasm is no reason to fail
  if (response.headers.get('content-type') !== 'application/wasm')
    return WebAssembly.compile(await response.arrayBuffer());
  return WebAssembly.compileStreaming(response);
}
