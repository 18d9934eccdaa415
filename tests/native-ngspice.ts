import { test } from 'vitest';
import { nativeVersion, TIMEOUT_MS } from './native-run.ts';

export { nativeVersion, runNative } from './native-run.ts';

/** A test that needs the system's ngspice; without it, it is reported as not run, with the reason in its name. */
export function testWithNative(name: string, body: () => Promise<void> | void): void {
  if (nativeVersion === undefined)
    test.skip(`${name} (not run: no ngspice on this machine, install the package "ngspice")`, body);
  else test(name, body, TIMEOUT_MS);
}
