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
const wasm = await WebAssembly.compile(readFileSync('src/simulation/generated/ngspice.wasm'));

async function record(request: SimRequest, how: string, before?: SimRequest): Promise<void> {
  const spice = await Spice.create(wasm);
  if (before !== undefined) await spice.run(withSerial(before, SERIAL - 1));
  try {
    const answer = await spice.run(before === undefined ? withSerial(request, SERIAL) : '');
    const recording = toRecording(how, ENGINE, request, SERIAL, answer);
    writeFileSync(`tests/engine/recorded/${request.runId}.json`, `${JSON.stringify(recording, null, 1)}\n`);
  } catch (error) {
    if (!(error instanceof SpiceDied)) throw error;
  }
}

const alone = 'npm run record:engine: a new instance, the netlist under the serial below, all it wrote and said';
for (const request of [DIVIDER, TABLE, LOW_PASS, ...BAD.map((bad) => bad.request)])
  await record(request, alone);
await record(
  { ...DIVIDER, runId: 'stale', netlist: DIVIDER.netlist.replace(DIVIDER.runId, 'stale') },
  'npm run record:engine: a good run, then an empty netlist file: the engine runs the loaded circuit once more',
  DIVIDER,
);
process.exit(0);
