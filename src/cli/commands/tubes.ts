import { allDevices } from '../../../models/catalogue.ts';
import type { Device } from '../../../models/device.ts';
import { columnsOf, listed, type Table } from '../../report/csv.ts';
import { searchWords } from '../../scenario/terms.ts';
import type { Command } from '../command.ts';
import { document, FORMS } from '../forms.ts';

const namesOf = (device: Device): string[] => [
  ...device.designations.filter((name) => name !== device.id),
  ...(device.variants ?? []).flatMap((variant) => variant.designations),
];

export const tubesCommand: Command = {
  name: 'tubes',
  usage: 'tubes [WORDS…] [--json | --csv]',
  summary: 'the types that are known, with their other names',
  help: `Lists the types of the catalogue; words narrow it down, in American or British terms.

  stagefit tubes                 all of them
  stagefit tubes ECC83           what an equivalent is called here
  stagefit tubes remote pentode  all words must be found`,
  options: FORMS,
  positionals: { least: 0, most: 20 },
  run({ positionals, options }) {
    const words = positionals.flatMap((word) => searchWords(word));
    const text = (device: Device): string =>
      [
        device.id,
        device.title,
        ...namesOf(device),
        ...device.units.flatMap((unit) => [
          unit.family,
          unit.character,
          ...(unit.family === 'pentagrid' ? ['frequency-converter'] : []),
        ]),
      ]
        .join(' ')
        .toLowerCase();
    const found = allDevices().filter((device) =>
      words.every((word) => text(device).includes(word.toLowerCase())),
    );
    process.stdout.write(
      document(options, {
        json: () => found.map(asData),
        csv: () => table(found),
        text: () =>
          found.length === 0
            ? `No type answers to "${positionals.join(' ')}".\n`
            : found
                .map(
                  (device) =>
                    `${device.id.padEnd(9)} ${device.title.padEnd(34)} ${namesOf(device).join(' ')}\n`,
                )
                .join(''),
      }),
    );
    return Promise.resolve(found.length > 0 ? 0 : 1);
  },
};

const asData = (device: Device): object => ({
  id: device.id,
  title: device.title,
  designations: namesOf(device),
  base: device.base.eia ?? null,
  heater: { volts: device.heater.volts, amps: device.heater.amps },
  sections: device.units.flatMap((unit) =>
    unit.sections.map((section) => ({
      unit: unit.id,
      section: section.id,
      family: unit.family,
      pins: section.pins,
    })),
  ),
});

/** A line a section. */
const table = (devices: readonly Device[]): Table => ({
  columns: columnsOf('id title designations base heater_V heater_A unit section family pins'),
  rows: devices.flatMap((device) =>
    device.units.flatMap((unit) =>
      unit.sections.map((section) => ({
        id: device.id,
        title: device.title,
        designations: listed(namesOf(device)),
        base: device.base.eia,
        heater_V: device.heater.volts,
        heater_A: device.heater.amps,
        unit: unit.id,
        section: section.id,
        family: unit.family,
        pins: listed(Object.entries(section.pins).map(([electrode, pin]) => `${electrode} ${pin}`)),
      })),
    ),
  ),
});
