import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkAnswer, withSerial } from '../src/simulation/check.ts';
import { parseRaw, type RawPlot } from '../src/simulation/raw.ts';
import type { SimRequest, SimResult } from '../src/types.ts';

export const TIMEOUT_MS = 120_000;

/** The system's own ngspice, a build that shares nothing with ours but the name; undefined where there is none. */
export const nativeVersion: string | undefined = /ngspice-(\S+)/.exec(
  spawnSync('ngspice', ['--version'], { encoding: 'utf8' }).stdout ?? '',
)?.[1];

/** `ngspice -b` on the request's very netlist, its answer under the same checks as ours. */
export function runNative(request: SimRequest): SimResult {
  const serial = 1;
  const folder = mkdtempSync(join(tmpdir(), 'stagefit-native-'));
  try {
    const netlist = join(folder, 'run.cir');
    const raw = join(folder, 'run.raw');
    writeFileSync(netlist, withSerial(request, serial));
    // -n: without the user's own start-up file
    const done = spawnSync('ngspice', ['-n', '-b', '-r', raw, netlist], {
      encoding: 'utf8',
      timeout: TIMEOUT_MS,
      cwd: folder,
    });
    const lines = [
      ...done.stdout.split('\n').map((text) => ({ text, isError: false })),
      ...done.stderr.split('\n').map((text) => ({ text, isError: true })),
    ];
    return checkAnswer(request, serial, { plots: plotsOf(raw), lines });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A run that failed leaves no file, or one without numbers: no plots then, which no check lets pass. */
function plotsOf(path: string): RawPlot[] {
  try {
    return parseRaw(readFileSync(path));
  } catch {
    return [];
  }
}
