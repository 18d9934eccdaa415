import { atHeaterVoltage } from '../../../models/cathode.ts';
import type { CaseTube } from '../../central.ts';
import { tubeKnobValue } from '../../circuit/knobs.ts';
import { columnsOf, type Table } from '../../report/csv.ts';
import type { Electrode, SpiceText } from '../../types.ts';
import type { Command } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { oneCase } from '../one-case.ts';

export const modelCommand: Command = {
  name: 'model',
  usage: 'model SCENARIO --tube ID [--device FILE] [--json | --csv]',
  summary: "the tube's model as a SPICE subcircuit, with its wear as knob values",
  help: `Prints the subcircuit of the tube's type and, as a comment, the knob values that its readings
give: area, saturation current, gas, grid emission, contact shift, interface, and the leaks.
With --json the same by name, the subcircuit in "spice"; with --csv the values alone.

  stagefit model my-radio.json --tube "tin 14" > tin14.sub`,
  options: { tube: 'value', device: 'list', ...FORMS },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }) {
    checkForms(options);
    const { tube } = await oneCase(positionals[0]!, options, false);
    const spice = tube.model.spice();
    const knobs = knobsOf(tube, spice);
    const leaks = leaksOf(tube);
    process.stdout.write(
      document(options, {
        text: () => subcircuit(tube, spice, knobs, leaks),
        json: () => ({
          tube: tube.id,
          type: tube.type,
          section: tube.section,
          name: spice.name,
          pins: spice.pins,
          knobs: Object.fromEntries(knobs),
          leaks,
          spice: spice.text,
        }),
        csv: () => valuesTable(tube, knobs, leaks),
      }),
    );
    return 0;
  },
};

type Knobs = readonly (readonly [name: string, volts: number])[];
interface LeakValue {
  readonly between: readonly [Electrode, Electrode];
  readonly ohms: number;
}

/** In the order of the subcircuit's pins. */
function knobsOf({ wear }: CaseTube, { knobs }: SpiceText): Knobs {
  const state = atHeaterVoltage(wear.condition({}), 1);
  return knobs.map((knob) => [knob, tubeKnobValue(state, knob)] as const);
}

const leaksOf = ({ wear }: CaseTube): readonly LeakValue[] =>
  wear.condition({}).leaks.map(({ between, siemens }) => ({ between, ohms: 1 / siemens }));

const subcircuit = (
  { id, type }: CaseTube,
  { pins, text }: SpiceText,
  knobs: Knobs,
  leaks: readonly LeakValue[],
): string =>
  [
    `* ${type} as read: ${id}. Pins: ${pins.join(' ')}; then the knob nodes ${knobs.map(([name]) => name).join(' ')}`,
    `* knob voltages: ${knobs.map(([, volts]) => volts.toPrecision(4)).join(' ')}`,
    ...leaks.map(
      ({ between, ohms }) => `* leak ${between.join(' to ')}: ${ohms.toPrecision(4)} ohm`,
    ),
    text,
    '',
  ].join('\n');

/** A line a value; the names of knobs end in their units. */
const valuesTable = (
  { id, type, section }: CaseTube,
  knobs: Knobs,
  leaks: readonly LeakValue[],
): Table => ({
  columns: columnsOf('tube type section kind name value'),
  rows: [
    ...knobs.map(([name, value]) => ({ kind: 'knob', name, value })),
    ...leaks.map(({ between, ohms }) => ({
      kind: 'leak',
      name: `${between.join('-')}_ohm`,
      value: ohms,
    })),
  ].map((row) => ({ tube: id, type, section, ...row })),
});
