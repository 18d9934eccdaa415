import { placing } from '../../decide/place.ts';
import { placingText } from '../../report/placing-text.ts';
import { placingTable } from '../../report/tables.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import type { Command, ExitCode } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { seedOf } from '../options.ts';
import { progressLine } from '../progress.ts';
import { catalogueFrom, heading, scenarioFrom, withReadings } from '../scenario.ts';

export const placeCommand: Command = {
  name: 'place',
  usage: 'place SCENARIO [--readings FILE.csv] [--device FILE] [--json | --csv] [--seed N]',
  summary: 'every tube in every socket, the best placing of them all, and what to order',
  help: `Puts each tube of the scenario into each socket that its type fits and finds the best placing:
first as many sockets as can be with a usable tube, then the worst margin as large as it can be,
then the sum of the margins. A marginal tube is placed only where no usable one is left.

  stagefit place my-set.json
  stagefit place my-set.json --readings drawer.csv

The table shows the least margin of each tube in each socket, at the unsafe end of its interval:
12 % means that the worst measure still lies 12 % inside its limit.
For a socket with two tubes (push-pull) pairs are listed by how close their plate currents are, and
the closest are judged together.

--readings adds the tubes of a CSV table to the scenario's own, as for "stagefit assess".
--device FILE (any number of times) adds a type of your own, as "stagefit fit" writes it.

Exit code: 0 every socket gets a usable tube, 1 not every socket, 2 usage or input, 3 a simulation
failed.`,
  options: { readings: 'value', device: 'list', ...FORMS, seed: 'value' },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }): Promise<ExitCode> {
    checkForms(options);
    const find = await catalogueFrom(options['device']);
    const alone = await scenarioFrom(positionals[0] ?? '', find);
    const table = options['readings'];
    const scenario = typeof table === 'string' ? await withReadings(alone, table, find) : alone;
    const seed = seedOf(options['seed']);
    const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
    const progress = progressLine();
    try {
      const report = await placing(scenario, simulator, {
        find,
        ...(seed === undefined ? {} : { seed }),
        onProgress: (what, done, all) => progress.show(what, done, all),
      });
      progress.clear();
      process.stdout.write(
        document(options, {
          json: () => ({ ...report, title: scenario.title }),
          csv: () => placingTable(report),
          text: () => `${heading(scenario)}${placingText(report)}`,
        }),
      );
      if (report.cells.some(({ verdict }) => verdict === 'failed')) return 3;
      return report.placing.every(({ verdict }) => verdict === 'usable') ? 0 : 1;
    } finally {
      progress.clear();
      simulator.close();
    }
  },
};
