import { once } from 'node:events';
import { availableParallelism } from 'node:os';
import { Problem } from '../../problem.ts';
import type { Outcome } from '../batch/answer.ts';
import { inOrder, linesOf } from '../batch/stream.ts';
import { BATCH_COLUMNS, batchRows } from '../batch/table.ts';
import { BatchThreads, LINES_PER_THREAD } from '../batch/threads.ts';
import { csvLine, csvRow } from '../../report/csv.ts';
import type { Command, ExitCode, Invocation } from '../command.ts';
import { readTextFile } from '../files.ts';
import { seedOf, socketsOf } from '../options.ts';
import { catalogueFrom } from '../scenario.ts';
import { readScenario } from '../../scenario/read.ts';
import { readerContext } from '../../cases.ts';

/** Lines asked for or kept back at a time, a thread: enough that a slow line does not leave the other threads idle. */
const WINDOW_PER_THREAD = 8 * LINES_PER_THREAD;

export const batchCommand: Command = {
  name: 'batch',
  usage:
    'batch SCENARIO [--socket ID] [--draws N] [--seed N] [--workers N] [--device FILE] [--csv] < readings.jsonl',
  summary: 'many tubes: readings as JSON lines on standard input, a line of verdicts for each',
  help: `Reads tubes from standard input, one JSON object a line, puts each into the scenario's sockets and
prints one JSON object a line, in the same order, as soon as it is known. Any number of lines;
memory does not grow with it.

  stagefit batch set.json < drawer.jsonl > verdicts.jsonl

A line has the keys of a scenario's tube: "tube" (its name), "type", "readings", and where they
are needed "section", "sockets", or "socket" for one:

  {"tube":"b17","type":"6BA6","readings":{"emission":{"percent":71}},"socket":"V2"}

Its answer: {"tube":…,"type":…,"section":…,"assessments":[{"socket":…,"verdict":…,
"decidedBy":…,"measures":[…],"draws":…}]}, with "circuitFault" as "assess" has it where the circuit
is to blame. A line that cannot be read is answered with
{"error":{"code":…,"message":…,"found":…,"expected":…}} in its place, and the others go on.

--csv prints a table instead, one line a measure of a tube in a socket, with the same figures. Where
the circuit is to blame, "circuitFaults" lists its faults, "newTubeHere" is the verdict of a new tube
with them, "inSoundCircuit" this tube's without them, and "enoughToMend" lists those that it is enough
to mend alone.

--draws N samples for the intervals (64 as in "assess", fewer where 16 already leave every limit
far outside; "draws" says which. 0: central values only, many times faster, and then no verdict is
ever "marginal"). The cause is not looked for: "assess" a tube for that. --workers N threads; one a
core by default.

A line's answer depends on nothing but the scenario and the line: a file may be split over any
number of machines, for instance by GNU parallel, and the joined answers are the same:

  parallel --pipepart -a drawer.jsonl --keep-order --block 1M stagefit batch set.json > verdicts.jsonl

Exit code: 0 all usable, 1 not all usable, 2 usage, or a line that could not be read, 3 a
simulation failed.`,
  options: {
    socket: 'value',
    draws: 'value',
    seed: 'value',
    workers: 'value',
    device: 'list',
    csv: 'flag',
  },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }): Promise<ExitCode> {
    const [file] = positionals as [string];
    if (file === '-' || process.stdin.isTTY)
      throw new Problem('usage', 'the readings come on standard input', {
        found: file === '-' ? 'the scenario there' : 'a terminal',
        expected: 'stagefit batch SCENARIO < readings.jsonl',
      });
    const find = await catalogueFrom(options['device']);
    const text = await readTextFile(file);
    socketsOf(readScenario(text, readerContext(file, find)), options['socket']);
    const paths = Array.isArray(options['device']) ? (options['device'] as string[]) : [];
    const devices = await Promise.all(
      paths.map(async (path) => ({ file: path, text: await readTextFile(path) })),
    );
    const seed = seedOf(options['seed']);
    const draws = numberOf('draws', options, 0, 1000);
    const workers = numberOf('workers', options, 1, 256) ?? availableParallelism();
    const { socket } = options;
    const threads = new BatchThreads(
      {
        file,
        text,
        devices,
        options: {
          ...(typeof socket === 'string' ? { socket } : {}),
          ...(draws === undefined ? {} : { draws }),
          ...(seed === undefined ? {} : { seed }),
        },
      },
      workers,
    );
    // whoever reads the answers may have enough of them
    process.stdout.on('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'EPIPE') process.exit(0);
      throw error;
    });
    const table = options['csv'] === true;
    let head = table ? csvLine(BATCH_COLUMNS) : '';
    const counts: Record<Outcome, number> = { usable: 0, notUsable: 0, failed: 0, broken: 0 };
    try {
      const lines = linesOf(process.stdin as AsyncIterable<Uint8Array>);
      for await (const { json, outcome } of inOrder(lines, workers * WINDOW_PER_THREAD, (line) =>
        threads.answer(line),
      )) {
        counts[outcome] += 1;
        const said = table
          ? batchRows(json)
              .map((row) => csvRow(BATCH_COLUMNS, row))
              .join('')
          : `${json}\n`;
        if (!process.stdout.write(head + said)) await once(process.stdout, 'drain');
        head = '';
      }
    } finally {
      await threads.close();
    }
    const all = Object.values(counts).reduce((sum, count) => sum + count, 0);
    if (all === 0)
      throw new Problem('missing', 'there were no readings', {
        file: 'standard input',
        found: 'no line',
        expected: 'a JSON object a line',
      });
    if (counts.broken > 0)
      process.stderr.write(
        `${counts.broken} of ${all} lines could not be read: see their "error".\n`,
      );
    if (counts.broken > 0) return 2;
    if (counts.failed > 0) return 3;
    return counts.notUsable > 0 ? 1 : 0;
  },
};

function numberOf(
  name: string,
  options: Invocation['options'],
  low: number,
  high: number,
): number | undefined {
  const given = options[name];
  if (given === undefined) return undefined;
  const value = typeof given === 'string' && /^\d{1,6}$/.test(given) ? Number(given) : NaN;
  if (!(value >= low && value <= high))
    throw new Problem('usage', `--${name} is no such number`, {
      place: `--${name}`,
      found: String(given),
      expected: `${low} to ${high}`,
    });
  return value;
}
