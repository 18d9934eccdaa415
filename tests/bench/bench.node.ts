import { spawn } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { assess, type Case } from '../../src/assess.ts';
import { subjectOf, tubesOf } from '../../src/central.ts';
import { caseOf, pairsOf, readerContext } from '../../src/cases.ts';
import { circuitOf } from '../../src/line-neighbours.ts';
import { acceptanceMap } from '../../src/decide/map.ts';
import { transientOutcomes } from '../../src/measure/transient.ts';
import { measureSubjects } from '../../src/measure/subjects.ts';
import { Problem } from '../../src/problem.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import type { SimResult, Simulator, StageValues } from '../../src/types.ts';
import { nativeVersion, runNative } from '../native-run.ts';
import { NEW } from '../stage/bench.ts';
import { AUDIO_HZ, byEnvelope, byTransient, detectorAt } from '../stage/detector-answers.ts';
import { pageSize } from './page-size.ts';

/**
 * Speed, printed and never asserted: each bundled socket with and without intervals, the same central measures by
 * settled transients in native ngspice in this very run (as a ratio), maps, the cold command line with its memory, the page's size.
 * `npm run bench -- STAGE` times one stage alone.
 */
const only = process.argv[2];
const COLD = ['assess', 'scenarios/table-radio/scenario.json', '--tube', 'tin 4'];
const MAPPED = [
  ['record-player', 'V1'],
  ['table-radio', 'V3'],
  ['one-tube-receiver', 'V1'],
] as const;
const simulator = nodeSimulator({ workers: 2 });
const native = nativeSimulator();

async function best(times: number, run: () => Promise<unknown>): Promise<number> {
  let least = Infinity;
  for (let i = 0; i < times; i++) {
    const started = performance.now();
    await run();
    least = Math.min(least, performance.now() - started);
  }
  return least;
}

function scenarioAt(file: string) {
  return readScenario(readFileSync(file, 'utf8'), readerContext(file));
}

function cases(): Case[] {
  const seen = new Set<string>();
  return readdirSync('scenarios', { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => `scenarios/${entry.name}/scenario.json`)
    .filter((file) => existsSync(file))
    .flatMap((file) => {
      const scenario = scenarioAt(file);
      return pairsOf(scenario).flatMap((pair) => {
        if (seen.has(pair.socket.stage) || (only !== undefined && pair.socket.stage !== only))
          return [];
        seen.add(pair.socket.stage);
        return [caseOf(scenario, pair.tube, pair.socket)];
      });
    });
}

const ms = (x: number): string => `${x.toFixed(0)} ms`.padStart(9);
console.log(
  'one tube in one socket, engine warm, two workers       central   100 draws   native transients   ratio',
);
for (const given of cases()) {
  const { stage, values: ordinary } = given.socket;
  const first = await assess(given, simulator, { draws: 0 });
  if (first.verdict === 'failed') {
    console.log(
      `${stage.id.padEnd(24)} ${given.tube.type.padEnd(26)} not timed: ${first.decidedBy.sentence}`,
    );
    continue;
  }
  const central = await best(5, () => assess(given, simulator, { draws: 0 }));
  const withDraws = await best(3, () =>
    assess(given, simulator, { draws: 100, changes: false, moreSeeds: false }),
  );
  let ratio = 'no native ngspice here';
  if (native !== undefined && stage.id === 'grid-leak-detector')
    ratio = await detectorRatio(native);
  else if (native !== undefined) {
    const tubes = tubesOf(given);
    const shorter = shorterOf(stage.id, ordinary);
    const values = { ...ordinary, ...shorter };
    const circuit =
      shorter === undefined
        ? await circuitOf(given, simulator, {})
        : stage.circuit(
            values,
            tubes.map(({ model }) => model),
          );
    const subjects = [
      subjectOf(
        values,
        circuit,
        tubes.map(({ wear }) => wear.newTube({})),
        {},
        undefined,
      ),
      subjectOf(
        values,
        circuit,
        tubes.map(({ wear }) => wear.condition({})),
        {},
        0,
      ),
    ];
    const plain = { runId: 'bench' };
    const quick = await best(3, () =>
      measureSubjects(stage, circuit, values, subjects, simulator, plain),
    );
    const steady = await measureSubjects(stage, circuit, values, subjects, simulator, plain);
    const started = performance.now();
    try {
      const outcomes = await transientOutcomes(
        stage,
        circuit,
        values,
        subjects,
        steady,
        native,
        {},
      );
      const slow = performance.now() - started;
      const failed = outcomes.find((outcome) => outcome.failed !== undefined)?.failed;
      ratio = `${ms(slow)} against ${ms(quick)}   ${(slow / quick).toFixed(0)} ×${failed === undefined ? '' : ` (one did not settle: ${failed.slice(0, 60)})`}`;
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      ratio = error.message;
    }
  }
  console.log(
    `${stage.id.padEnd(24)} ${given.tube.type.padEnd(26)} ${ms(central)}   ${ms(withDraws)}   ${ratio}`,
  );
}
if (only === undefined)
  for (const [file, socket] of MAPPED) console.log(await mapTimes(file, socket));
simulator.close();
if (only !== undefined) process.exit(0);

const cold = await coldCommandLine();
console.log(
  `command line, cold, the whole report: ${ms(cold.ms)}, most memory ${cold.megabytes.toFixed(0)} MB; its first verdict on a terminal: ${await coldFirstVerdict()}`,
);
for (const [draws, few, many] of [
  [0, 10, 160],
  [64, 4, 24],
] as const) {
  // the start of the engine is taken out: the difference of two runs
  const [short, long] = [await batchSeconds(few, draws), await batchSeconds(many, draws)];
  console.log(
    `batch, one thread, ${draws === 0 ? 'central values' : `${draws} draws`}: ${((many - few) / (long - short)).toFixed(1)} pairs a second`,
  );
}
for (const line of pageSize()) console.log(line);

/** The map of a socket at 41 × 41 cells, with warm engines: until every cell has its central answer, and with its intervals. */
async function mapTimes(name: string, id: string): Promise<string> {
  const scenario = scenarioAt(`scenarios/${name}/scenario.json`);
  const socket = scenario.sockets.find((one) => one.id === id)!;
  let central = Infinity;
  const whole = await best(2, async () => {
    const started = performance.now();
    let cells = 0;
    await acceptanceMap(scenario, socket, rememberingSimulator(simulator), {
      onProgress: (what) => {
        if (what === 'points') cells = performance.now() - started;
      },
    });
    central = Math.min(central, cells);
  });
  return `map, ${socket.stage.padEnd(20)} central ${ms(central)}   with intervals ${ms(whole)}`;
}

/** What shortens a stage's settling to a time that a peer can sit out; its quick answer is then timed with the same. */
function shorterOf(stage: string, values: StageValues): StageValues | undefined {
  if (stage !== 'agc-if-amplifier') return undefined;
  const shorter = { lineCapacitor: 2e-9, screenBypass: 5e-9, agcLineResistance: 220e3 };
  return Object.fromEntries(
    Object.entries(shorter).map(([key, value]) => [key, { ...values[key]!, value }]),
  );
}

/** Carrier and audio together: the envelope of phase copies against every cycle of the carrier, one tube at one carrier. */
async function detectorRatio(peer: Simulator): Promise<string> {
  const { circuit, row } = detectorAt(455e3, NEW, 0.3);
  const quick = await best(3, () => byEnvelope(simulator, circuit, row, AUDIO_HZ, 8, 7));
  const started = performance.now();
  await byTransient(peer, circuit, row, AUDIO_HZ, 455e3);
  const slow = performance.now() - started;
  return `${ms(slow)} against ${ms(quick)}   ${(slow / quick).toFixed(0)} × (one tube, one carrier, five cycles of 5 kHz audio)`;
}

function nativeSimulator(): Simulator | undefined {
  if (nativeVersion === undefined) return undefined;
  return {
    engine: `native ngspice ${nativeVersion}`,
    workers: 1,
    run: (request): Promise<SimResult> => Promise.resolve(runNative(request)),
    close: () => undefined,
  };
}

/** Seconds for some lines, each another invented tube, in a resistance-coupled stage. */
function batchSeconds(count: number, draws: number): Promise<number> {
  return new Promise((resolve) => {
    const started = performance.now();
    const scenario = 'scenarios/record-player/scenario.json';
    const child = spawn(
      process.execPath,
      ['dist/cli/stagefit.js', 'batch', scenario, '--workers', '1', '--draws', String(draws)],
      { stdio: ['pipe', 'ignore', 'inherit'] },
    );
    child.on('exit', () => resolve((performance.now() - started) / 1e3));
    for (let i = 0; i < count; i++)
      child.stdin.write(
        `${JSON.stringify({
          tube: `t${i}`,
          type: '6AV6',
          section: 'triode',
          readings: {
            emission: { percent: 40 + ((7 * i) % 60) },
            starvedHeater: { heater_percent: 90, drop_percent: 4 + ((3 * i) % 17) },
            leakage: [{ megohms: 15 + ((53 * i) % 700), atVolts: 100 }],
          },
        })}\n`,
      );
    child.stdin.end();
  });
}

/** Until a terminal shows what the verdict is so far, from central values; with the pseudo-terminal of util-linux. */
function coldFirstVerdict(): Promise<string> {
  return new Promise((resolve) => {
    const started = performance.now();
    const command = [process.execPath, 'dist/cli/stagefit.js', ...COLD]
      .map((part) => `'${part}'`)
      .join(' ');
    const child = spawn('script', ['-qec', command, '/dev/null']);
    child.on('error', () => resolve('not measured, no `script` here'));
    child.stdout.on('data', (text: Buffer) => {
      if (!text.includes('so far')) return;
      resolve(ms(performance.now() - started));
      child.kill();
    });
    child.on('exit', () => resolve('not seen'));
  });
}

/** Wall time and the peak of resident memory of a whole process. */
function coldCommandLine(): Promise<{ ms: number; megabytes: number }> {
  return new Promise((resolve) => {
    const started = performance.now();
    const child = spawn(process.execPath, ['dist/cli/stagefit.js', ...COLD], { stdio: 'ignore' });
    let kilobytes = 0;
    const watch = setInterval(() => {
      try {
        kilobytes = Number(
          /VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))?.[1] ??
            kilobytes,
        );
      } catch {
        // it has ended
      }
    }, 10);
    child.on('exit', () => {
      clearInterval(watch);
      resolve({ ms: performance.now() - started, megabytes: kilobytes / 1024 });
    });
  });
}
