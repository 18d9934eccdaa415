import { Problem } from '../../problem.ts';
import { acceptanceMap } from '../../decide/map.ts';
import { mapText } from '../../report/map-text.ts';
import { mapTable } from '../../report/tables.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import type { Scenario, TestedTube } from '../../scenario/scenario.ts';
import type { Electrode } from '../../types.ts';
import type { Command, ExitCode, Invocation } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { socketsOf } from '../options.ts';
import { progressLine } from '../progress.ts';
import { catalogueFrom, doubts, scenarioFrom } from '../scenario.ts';

export const mapCommand: Command = {
  name: 'map',
  usage:
    'map SCENARIO --socket ID [--tube ID] [--path A-B] [--type TYPE] [--device FILE] [--json | --csv]',
  summary: 'emission against leakage for a socket: where it works, and what ends it',
  help: `Draws emission against grid leakage, as your own instrument reads them, for one socket: where a
tube lies within every limit, and which limit ends that.

  stagefit map scenarios/table-radio/scenario.json --socket V3
  stagefit map scenarios/table-radio/scenario.json --socket V3 --tube "tin 9"
  stagefit map my-radio.json --socket V3 --csv > map.csv

Usable: the whole 90 % interval lies within every limit. Marginal: a limit lies inside it. How far
the intervals reach is simulated at some points of the boundary and taken from there; the card of
"stagefit accept" tries its limits one by one. --tube puts a tube of the scenario on the map and
takes its own drop with a starved heater; without it the drop is a new tube's. All of the leakage
goes the likeliest way, or along --path: grid-plate, grid-screen, grid-cathode.

Exit code: 0 a map, 2 usage or input, 3 the new tube could not be simulated.`,
  options: {
    socket: 'value',
    tube: 'value',
    path: 'value',
    type: 'value',
    device: 'list',
    ...FORMS,
  },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }): Promise<ExitCode> {
    checkForms(options);
    if (options['socket'] === undefined)
      throw new Problem('usage', 'a map is of one socket', {
        place: '--socket',
        found: 'nothing',
        expected: 'the id of a socket of the scenario',
      });
    const find = await catalogueFrom(options['device']);
    const scenario = await scenarioFrom(positionals[0] ?? '', find);
    const [socket] = socketsOf(scenario, options['socket']);
    if (socket === undefined) throw new Error('a socket was found and is not there');
    const tube = tubeOf(scenario, options['tube']);
    const { type, path } = options;
    const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
    const progress = progressLine();
    try {
      const map = await acceptanceMap(scenario, socket, simulator, {
        find,
        ...(tube === undefined ? {} : { tube }),
        ...(typeof path === 'string' ? { path: path.split('-') as [Electrode, Electrode] } : {}),
        ...(typeof type === 'string' ? { type } : {}),
        onProgress: (what, done, all) => progress.show(`${socket.id}, ${what}`, done, all),
      });
      progress.clear();
      process.stdout.write(
        document(options, {
          json: () => map,
          csv: () => mapTable(map),
          text: () => `${doubts(scenario)}${mapText(map)}`,
        }),
      );
      return 0;
    } catch (error) {
      if (!(error instanceof Problem) || error.code !== 'simulation') throw error;
      progress.clear();
      process.stderr.write(`${error.toText()}\n`);
      return 3;
    } finally {
      progress.clear();
      simulator.close();
    }
  },
};

function tubeOf(scenario: Scenario, given: Invocation['options'][string]): TestedTube | undefined {
  if (typeof given !== 'string') return undefined;
  const found = scenario.tubes.find(({ id }) => id === given);
  if (found !== undefined) return found;
  throw new Problem('unknown-name', 'the scenario has no tube of that name', {
    place: '--tube',
    found: given,
    expected: scenario.tubes.map(({ id }) => id).join(', '),
  });
}
