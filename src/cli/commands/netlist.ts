import { subjectOf, tubesOf } from '../../central.ts';
import { circuitIn } from '../../line-neighbours.ts';
import { printRun, printStart, startFrom, type StartVolts } from '../../circuit/print.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import type { Circuit, Row } from '../../types.ts';
import type { Command } from '../command.ts';
import { oneCase } from '../one-case.ts';

export const netlistCommand: Command = {
  name: 'netlist',
  usage: 'netlist SCENARIO --tube ID --socket ID [--device FILE]',
  summary: 'the circuit at rest with this tube in it, as open SPICE text',
  help: `Prints the netlist of the socket at rest, worn tube included, as it goes to the engine, with the
voltages found as its first guess. Any SPICE with behavioural sources can run it:

  stagefit netlist my-radio.json --tube "tin 14" --socket V3 > v3.cir
  ngspice -b v3.cir`,
  options: { tube: 'value', socket: 'value', device: 'list' },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }) {
    const given = await oneCase(positionals[0]!, options, true);
    const { stage, values } = given.socket;
    const tubes = tubesOf(given);
    const circuit = circuitIn(given);
    const conditions = tubes.map(({ wear }) => wear.condition({}));
    const row = { ...subjectOf(values, circuit, conditions, {}, undefined).row, drive: 0 };
    const request =
      stage.own?.requests(circuit, row, 'netlist')[0]!.request ??
      printRun(circuit, 'netlist', { as: 'quiescent' }, [row], await atRest(circuit, row)).request;
    process.stdout.write(`${request.netlist}\n`);
    return 0;
  },
};

/** So that an engine with another ladder finds it at once. */
async function atRest(circuit: Circuit, row: Row): Promise<StartVolts> {
  const simulator = nodeSimulator({ workers: 1 });
  try {
    const result = await simulator.run(printStart(circuit, 'rest', row));
    return result.ok ? startFrom(result.vectors) : {};
  } finally {
    simulator.close();
  }
}
