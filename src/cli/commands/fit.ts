import { designations, findDevice } from '../../../models/catalogue.ts';
import type { Character, Device, Unit } from '../../../models/device.ts';
import { fitOwn } from '../../../models/own-fit.ts';
import { tubeModel } from '../../../models/tube.ts';
import { Problem } from '../../problem.ts';
import { nearNames } from '../../scenario/near.ts';
import { csvText } from '../../report/csv.ts';
import type { Command, Invocation } from '../command.ts';
import { readTextFile } from '../files.ts';
import { readPoints, type ReadPoints } from '../fit-points.ts';
import { fitTable } from '../fit-table.ts';
import { fitText } from '../fit-text.ts';

const TYPICAL: Readonly<Record<Character, string>> = {
  triode: '12AU7',
  sharp: '6AU6',
  remote: '6BA6',
  beam: '6V6GT',
  pentagrid: '',
  diode: '',
};

export const fitCommand: Command = {
  name: 'fit',
  usage:
    'fit POINTS.csv (--like TYPE | --family triode|pentode [--character sharp|remote|beam]) [--name NAME] [--without LINES] [--json | --csv | --spice]',
  summary: 'your own tube from its measured points: parameters, a device file, SPICE text',
  help: `Fits the model of a triode or pentode to points you measured. The table is CSV with the units in
its header, one line a point, volts to the cathode:

  plate_V,grid_V,plate_mA
  250,-8,8.7

  plate_V;screen_V;grid_V;plate_mA;screen_mA        (decimal commas go with semicolons)
  250;100;-3;9,1;2,6

--like TYPE takes base, heater, capacitances and ratings from a type of the catalogue; without it
those of a common tube of the family are taken, which the circuits' high frequencies would notice.

  stagefit fit points.csv --like 6SN7GT                         what was found, and what to doubt
  stagefit fit points.csv --like 6SN7GT --name mine --json > mine.json
  stagefit assess radio.json --device mine.json                 a scenario may now name "mine"
  stagefit fit points.csv --like 6SN7GT --spice > mine.sub      a subcircuit for any ngspice
  stagefit fit points.csv --like 6SN7GT --csv > mine.csv        every point beside the model

Every point takes part; one that lies far out is named, and --without 7,12 leaves lines out.`,
  options: {
    like: 'value',
    family: 'value',
    character: 'value',
    name: 'value',
    without: 'value',
    json: 'flag',
    csv: 'flag',
    spice: 'flag',
  },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }) {
    const file = positionals[0] ?? '-';
    const { device, unit } = likeOf(options);
    const forms = ['json', 'csv', 'spice'].filter((form) => options[form] === true);
    if (forms.length > 1)
      throw new Problem('usage', 'one document at a time', {
        found: forms.map((form) => `--${form}`).join(' and '),
        expected: 'one of them',
      });
    const read = without(
      readPoints(
        await readTextFile(file),
        file === '-' ? 'standard input' : file,
        unit.family === 'triode' ? 'triode' : 'pentode',
      ),
      options['without'],
    );
    const name = typeof options['name'] === 'string' ? options['name'] : `${device.id} measured`;
    const result = fitOwn(
      device,
      unit,
      name,
      read.points.map(({ point }) => point),
    );
    if (options['json'] === true)
      process.stdout.write(`${JSON.stringify(result.device, null, 1)}\n`);
    else if (options['csv'] === true) process.stdout.write(csvText(fitTable(read, result)));
    else if (options['spice'] === true) {
      const spice = tubeModel(result.device).spice();
      process.stdout.write(
        [
          `* ${name}: pins ${spice.pins.join(' ')}; then the knob nodes ${spice.knobs.join(' ')}`,
          `* a new tube: knobs at 1 ${result.unit.saturation.newCathode_mA} 0 0 0 0 volts`,
          spice.text,
          '',
        ].join('\n'),
      );
    } else process.stdout.write(fitText(read, result));
    return 0;
  },
};

/** The type whose base and heater the new one has, and the unit that is fitted. */
function likeOf(options: Invocation['options']): { device: Device; unit: Unit } {
  const { like, family, character } = options;
  if (family !== undefined && family !== 'triode' && family !== 'pentode')
    throw new Problem('usage', 'only triodes and pentodes are fitted from measured points', {
      place: '--family',
      found: String(family),
      expected: 'triode or pentode',
    });
  if (character !== undefined && !['sharp', 'remote', 'beam'].includes(String(character)))
    throw new Problem('usage', 'no such character of a pentode', {
      place: '--character',
      found: String(character),
      expected: 'sharp, remote or beam',
    });
  if (like === undefined && family === undefined)
    throw new Problem('usage', 'what is it?', {
      expected: '--like TYPE, or --family triode or --family pentode',
    });
  const type =
    typeof like === 'string'
      ? like
      : TYPICAL[family === 'triode' ? 'triode' : ((character ?? 'sharp') as Character)];
  const found = findDevice(type);
  if (found === undefined) {
    const near = nearNames(type, designations());
    throw new Problem('unknown-tube', 'this type is not in the catalogue', {
      place: '--like',
      found: type,
      expected: 'a designation that "stagefit tubes" lists',
      ...(near.length === 0 ? {} : { hint: `Did you mean ${near.join(' or ')}?` }),
    });
  }
  const unit = found.device.units.find((each) => family === undefined || each.family === family);
  if (unit === undefined)
    throw new Problem('does-not-fit', `the ${found.designation} has no such section`, {
      place: '--family',
      found: String(family),
      expected: found.device.units.map((each) => each.family).join(' or '),
    });
  return {
    device: found.device,
    unit:
      character === undefined || unit.family !== 'pentode'
        ? unit
        : { ...unit, character: character as Character },
  };
}

function without(
  read: ReadPoints,
  lines: string | boolean | readonly string[] | undefined,
): ReadPoints {
  if (typeof lines !== 'string') return read;
  const out = lines.split(/[,\s]+/).filter((text) => text !== '');
  const known = read.points.map(({ line }) => String(line));
  const wrong = out.find((text) => !known.includes(text));
  if (wrong !== undefined)
    throw new Problem('usage', 'no point is on that line', {
      place: '--without',
      found: wrong,
      expected: `lines of the table, ${known[0] ?? 'none'} to ${known.at(-1) ?? 'none'}`,
    });
  return {
    points: read.points.filter(({ line }) => !out.includes(String(line))),
    notes: [...read.notes, `Left out as asked: line ${out.join(', ')}.`],
  };
}
