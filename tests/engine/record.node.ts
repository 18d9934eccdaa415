import { readFileSync, writeFileSync } from 'node:fs';
import { withSerial } from '../../src/simulation/check.ts';
import { ENGINE } from '../../src/simulation/generated/version.mjs';
import { toRecording } from '../../src/simulation/recorded/recording.ts';
import { Spice, SpiceDied } from '../../src/simulation/spice.ts';
import type { SimRequest } from '../../src/types.ts';
import { BAD, DIVIDER, LOW_PASS, TABLE } from './circuits.ts';

// `npm run record:engine`, from the top of the repository. Writes what the engine of node_modules answers today:
// look at the difference before keeping it.

const SERIAL = 7;
const HOW =
  'npm run record:engine: a new instance, the netlist under the serial below, all it wrote and said';
const wasm = await WebAssembly.compile(readFileSync('src/simulation/generated/ngspice.wasm'));

async function record(request: SimRequest): Promise<void> {
  const spice = await Spice.create(wasm);
  try {
    const answer = await spice.run(withSerial(request, SERIAL));
    const recording = toRecording(HOW, ENGINE, request, SERIAL, answer);
    writeFileSync(
      `tests/engine/recorded/${request.runId}.json`,
      `${JSON.stringify(recording, null, 1)}\n`,
    );
  } catch (error) {
    // an engine that leaves answers nothing: those circuits are tested live only
    if (!(error instanceof SpiceDied)) throw error;
  }
}

for (const request of [DIVIDER, TABLE, LOW_PASS, ...BAD.map((bad) => bad.request)])
  await record(request);
process.exit(0);
