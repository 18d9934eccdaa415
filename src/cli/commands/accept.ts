import { acceptanceCard, type AcceptanceCard } from '../../decide/accept.ts';
import { cardText } from '../../report/card-text.ts';
import { cardTable } from '../../report/tables.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import type { Command, ExitCode } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { progressLine } from '../progress.ts';
import { seedOf, socketsOf } from '../options.ts';
import { catalogueFrom, heading, scenarioFrom } from '../scenario.ts';

export const acceptCommand: Command = {
  name: 'accept',
  usage: 'accept SCENARIO [--socket ID] [--type TYPE] [--device FILE] [--json | --csv] [--seed N]',
  summary: 'which readings a socket still takes: the card for the bench, before any tube is read',
  help: `For a socket, or for each socket of the scenario: the lowest emission, the largest drop with a
starved heater and the lowest leakage resistance, on each path, that still make a usable tube,
in the units of your own instrument. Print it and put it beside the instrument.

  stagefit accept scenarios/table-radio/scenario.json --socket V3
  stagefit accept my-radio.json > cards.txt

Every figure is found by trying: the reading on the card is usable by "stagefit assess", the next
step of the scale is not (marginal does not count). Each limit holds while the other readings are
a new tube's; the table below them says how one trades against the other. A tube that is inside on
one reading and doubtful on another is assessed on its own.

--type asks for another type than the first that the socket takes. --seed draws other samples.
--device FILE (any number of times) adds a type of your own, as "stagefit fit" writes it.

Exit code: 0 a card for every socket; 1 a socket that takes not even a tube that reads as new (the
card says why); 2 usage or input; 3 a simulation failed.`,
  options: { socket: 'value', type: 'value', device: 'list', ...FORMS, seed: 'value' },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }): Promise<ExitCode> {
    checkForms(options);
    const find = await catalogueFrom(options['device']);
    const scenario = await scenarioFrom(positionals[0] ?? '', find);
    const sockets = socketsOf(scenario, options['socket']);
    const seed = seedOf(options['seed']);
    const type = options['type'];
    const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
    const progress = progressLine();
    const cards: AcceptanceCard[] = [];
    try {
      for (const socket of sockets)
        cards.push(
          await acceptanceCard(scenario, socket, simulator, {
            find,
            ...(typeof type === 'string' ? { type } : {}),
            ...(seed === undefined ? {} : { seed }),
            onProgress: (what, done, all) => progress.show(`${socket.id}, ${what}`, done, all),
          }),
        );
    } finally {
      progress.clear();
      simulator.close();
    }
    process.stdout.write(
      document(options, {
        json: () => ({
          format: 'stagefit-acceptance-cards',
          version: 1,
          title: scenario.title,
          cards,
        }),
        csv: () => cardTable(cards),
        text: () => `${heading(scenario)}${cards.map(cardText).join('\n')}`,
      }),
    );
    if (cards.some((card) => card.verdict === 'failed')) return 3;
    return cards.every((card) => card.verdict === 'usable') ? 0 : 1;
  },
};
