import { assess, type Case } from '../../assess.ts';
import { caseOf, pairsOf, type FindDevice } from '../../cases.ts';
import { Problem } from '../../problem.ts';
import { assessmentsJson } from '../../report/json.ts';
import { assessmentTable } from '../../report/tables.ts';
import { STATUS_WORDS, reportsText } from '../../report/text.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import type { Scenario } from '../../scenario/scenario.ts';
import type { Report } from '../../types.ts';
import { anyReading } from '../../wear/readings.ts';
import type { Command, ExitCode } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { seedOf } from '../options.ts';
import { catalogueFrom, heading, scenarioFrom, withReadings } from '../scenario.ts';
import { progressLine } from '../progress.ts';

const NO_READING = 'No reading yet. One is enough to begin: emission, or leakage to the grid.\n';

export const assessCommand: Command = {
  name: 'assess',
  usage:
    'assess SCENARIO [--readings FILE.csv] [--tube ID] [--socket ID] [--device FILE] [--json | --csv] [--transient] [--seed N]',
  summary: 'does this tube work in this socket: the verdict, why, and what would change it',
  help: `Puts each tube of the scenario into each socket that it is meant for, simulates it, and says
whether it works there.

  stagefit assess scenarios/table-radio/scenario.json
  stagefit assess my-radio.json --tube "tin 14" --socket V3
  stagefit assess my-radio.json --json > verdicts.json
  stagefit assess my-radio.json --csv > verdicts.csv
  stagefit assess my-radio.json --readings drawer.csv

How to read it. The first line under the title is the verdict:
  usable         the whole 90 % interval lies within the limit
  marginal       the limit lies inside the interval: it may work
  unsuitable     the whole interval lies beyond the limit
  undetermined   a reading that decides was not taken; it says which
  not computed   a simulation did not finish; it says why
Then what decides it, each measure for a new tube and for this one, and what would change it.
Of a tube that nobody read nothing is said in words.

--readings adds the tubes of a CSV table to the scenario's own: one line a tube, or one line a
reading time. Columns: tube, type, section, minutes, emission_percent, drop_percent,
leakage_megohms … as the keys of a scenario's readings; "-" reads the table from standard input.

--transient takes the central values from settled transients instead of phase copies: slower,
an independent check of the large-signal figures (an audio stage takes seconds, a stage at an
intermediate frequency minutes). --seed draws other samples for the intervals.

--device FILE (any number of times) adds a type of your own, as "stagefit fit" writes it.

Exit code: 0 all usable, 1 not all usable, 2 usage or input, 3 a simulation failed.`,
  options: {
    readings: 'value',
    tube: 'value',
    socket: 'value',
    device: 'list',
    ...FORMS,
    transient: 'flag',
    seed: 'value',
  },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }): Promise<ExitCode> {
    checkForms(options);
    const text = (name: string): string | undefined => {
      const value = options[name];
      return typeof value === 'string' ? value : undefined;
    };
    const table = text('readings');
    if (table === '-' && positionals[0] === '-')
      throw new Problem('usage', 'standard input can be read once only', {
        expected: 'a file for the scenario or for --readings',
      });
    const find = await catalogueFrom(options['device']);
    const alone = await scenarioFrom(positionals[0]!, find);
    const scenario = table === undefined ? alone : await withReadings(alone, table, find);
    const seed = seedOf(options['seed']);
    const [tube, socket] = [text('tube'), text('socket')];
    const only = {
      ...(tube === undefined ? {} : { tube }),
      ...(socket === undefined ? {} : { socket }),
    };
    const pairs = pairsOf(scenario, only, find);
    if (pairs.length === 0)
      throw new Problem('does-not-fit', 'no tube of this scenario goes into one of its sockets', {
        file: positionals[0]!,
        expected: 'tubes whose type a socket takes, or a "sockets" list on the tube',
      });
    // words of a tube that nobody read would read as if something were known of it; a program may have its figures
    const inWords = options['json'] !== true && options['csv'] !== true;
    const told = pairs.filter(({ tube: one }) => !inWords || anyReading(one.readings));
    const cases = told.map((pair) => caseOf(scenario, pair.tube, pair.socket, find));
    const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
    const progress = progressLine();
    const reports: Report[] = [];
    try {
      for (const [i, given] of cases.entries()) {
        const where = `${given.tube.id} in ${given.socket.id} (${i + 1} of ${cases.length})`;
        let soFar = '';
        const note = ({ verdict }: Report): void => {
          soFar = `, so far ${STATUS_WORDS[verdict]}`;
        };
        reports.push(
          await assess(given, simulator, {
            transient: options['transient'] === true,
            ...(seed === undefined ? {} : { seed }),
            otherSockets: elsewhere(scenario, told[i]!, find),
            onPair: note,
            onCentral: note,
            onIntervals: note,
            onProgress: (what, done, all) => progress.show(`${where}${soFar}; ${what}`, done, all),
          }),
        );
      }
    } finally {
      progress.clear();
      simulator.close();
    }
    process.stdout.write(
      document(options, {
        json: () => assessmentsJson(scenario.title, reports),
        csv: () => assessmentTable(reports),
        text: () =>
          `${heading(scenario)}${reports.length === 0 ? NO_READING : reportsText(reports)}`,
      }),
    );
    if (reports.some((report) => report.verdict === 'failed')) return 3;
    return told.length === pairs.length && reports.every(({ verdict }) => verdict === 'usable')
      ? 0
      : 1;
  },
};

/** The same tube in the other sockets that it fits; one that it must not be put to is left out. */
function elsewhere(
  scenario: Scenario,
  { tube, socket }: ReturnType<typeof pairsOf>[number],
  find: FindDevice,
): Case[] {
  return pairsOf(scenario, { tube: tube.id }, find)
    .filter((pair) => pair.socket.id !== socket.id && pair.tube === tube)
    .flatMap((pair) => {
      try {
        return [caseOf(scenario, tube, pair.socket, find)];
      } catch (error) {
        if (error instanceof Problem) return [];
        throw error;
      }
    });
}
