import { atHeaterVoltage } from '../../../models/cathode.ts';
import { subjectOf, tubesOf } from '../../central.ts';
import { printRun } from '../../circuit/print.ts';
import type { Command } from '../command.ts';
import { oneCase } from '../one-case.ts';

export const netlistCommand: Command = {
  name: 'netlist',
  usage: 'netlist SCENARIO --tube ID --socket ID [--device FILE]',
  summary: 'the circuit at rest with this tube in it, as open SPICE text',
  help: `Prints the netlist of the socket at rest, worn tube included, as it goes to the engine.
Any SPICE with behavioural sources can run it:

  stagefit netlist my-radio.json --tube "tin 14" --socket V3 > v3.cir
  ngspice -b v3.cir`,
  options: { tube: 'value', socket: 'value', device: 'list' },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }) {
    const given = await oneCase(positionals[0]!, options, true);
    const { stage, values } = given.socket;
    const tubes = tubesOf(given);
    const circuit = stage.circuit(
      values,
      tubes.map(({ model }) => model),
    );
    const conditions = tubes.map(({ wear }) => wear.condition({}));
    const row = { ...subjectOf(values, circuit, conditions, {}, undefined).row, drive: 0 };
    const request =
      stage.own?.requests(circuit, row, 'netlist')[0]!.request ??
      printRun(circuit, 'netlist', { as: 'quiescent' }, [row]).request;
    process.stdout.write(`${request.netlist}\n`);
    return 0;
  },
};

export const modelCommand: Command = {
  name: 'model',
  usage: 'model SCENARIO --tube ID [--device FILE]',
  summary: "the tube's model as a SPICE subcircuit, with its wear as knob values",
  help: `Prints the subcircuit of the tube's type and, as a comment, the knob values that its readings
give: area, saturation current, gas, grid emission, contact shift, interface, and the leaks.

  stagefit model my-radio.json --tube "tin 14" > tin14.sub`,
  options: { tube: 'value', device: 'list' },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }) {
    const { tube } = await oneCase(positionals[0]!, options, false);
    const condition = tube.wear.condition({});
    const state = atHeaterVoltage(condition, 1);
    const spice = tube.model.spice();
    const lines = [
      `* ${tube.type} as read: ${tube.id}. Pins: ${spice.pins.join(' ')}; then the knob nodes ${spice.knobs.join(' ')}`,
      `* knob voltages: ${state.area.toPrecision(4)} ${(state.saturation_A * 1e3).toPrecision(4)} ${(state.gasRatio * 1e6).toPrecision(4)} ${(state.gridEmission_A * 1e6).toPrecision(4)} ${state.contactShift_V.toPrecision(4)} ${state.interface_ohm.toPrecision(4)}`,
      ...condition.leaks.map(
        ({ between, siemens }) =>
          `* leak ${between.join(' to ')}: ${(1 / siemens).toPrecision(4)} ohm`,
      ),
      spice.text,
    ];
    process.stdout.write(`${lines.join('\n')}\n`);
    return 0;
  },
};
