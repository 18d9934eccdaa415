import { findDevice, designations } from '../../../models/catalogue.ts';
import { characteristics } from '../../../models/characteristics.ts';
import { compare } from '../../../models/predict.ts';
import { conditions } from '../../../models/accuracy.ts';
import type { Unit } from '../../../models/device.ts';
import { conversion } from '../../../models/pentagrid/conversion.ts';
import { tubeModel } from '../../../models/tube.ts';
import type { TubeModel } from '../../types.ts';
import { sectionsOf } from '../../cases.ts';
import { Problem } from '../../problem.ts';
import { columnsOf, type CsvRow, type Table } from '../../report/csv.ts';
import { nearNames } from '../../scenario/near.ts';
import { parseQuantity } from '../../units/quantity.ts';
import { wrap } from '../../report/text.ts';
import type { Command, Invocation } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';

export const characteristicsCommand: Command = {
  name: 'characteristics',
  usage: 'characteristics TYPE [--section ID] [--plate V --grid V [--screen V]] [--json | --csv]',
  summary: 'what the model says of a new tube, beside the published figures',
  help: `Without voltages: the published points of the type beside the model's figures for them, so that
you see how far to trust it. With voltages (to the cathode): plate and screen current,
transconductance, plate resistance and amplification factor there.

  stagefit characteristics 6BA6
  stagefit characteristics 6V6GT --plate 250 --screen 250 --grid -12.5
  stagefit characteristics ECC83 --plate 100 --grid=-1 --json`,
  options: { plate: 'value', screen: 'value', grid: 'value', section: 'value', ...FORMS },
  positionals: { least: 1, most: 1 },
  run({ positionals, options }) {
    checkForms(options);
    const name = positionals[0]!;
    const found = findDevice(name);
    if (found === undefined) throw unknownTube(name);
    const sections = sectionsOf(found.device).filter(({ unit }) => unit.fit !== undefined);
    const asked = options['section'];
    const section = asked === undefined ? sections[0] : sections.find(({ id }) => id === asked);
    if (section === undefined)
      throw new Problem('unknown-name', 'no such section', {
        found: String(asked),
        expected: sections.map(({ id }) => id).join(', '),
      });
    const model = tubeModel(found.device, section.unit.id);
    if (
      options['plate'] === undefined &&
      options['grid'] === undefined &&
      options['screen'] === undefined
    ) {
      const rows = section.unit.points.flatMap((point) =>
        compare(model, point).map((compared) => ({
          at: conditions(point),
          ...compared,
          source: point.source,
          provenance: point.provenance,
        })),
      );
      process.stdout.write(
        document(options, {
          json: () => rows,
          csv: () => pointsTable(found.designation, rows),
          text: () => table(found.designation, rows),
        }),
      );
      return Promise.resolve(0);
    }
    if (section.unit.family === 'pentagrid') {
      process.stdout.write(converting(found.designation, section.unit, model, options));
      return Promise.resolve(0);
    }
    const plate_V = volts('plate', options, true)!;
    const grid_V = volts('grid', options, model.electrodes.includes('grid')) ?? 0;
    const screen_V = volts('screen', options, model.family === 'pentode');
    const figures = characteristics(model, {
      plate_V,
      grid_V,
      ...(screen_V === undefined ? {} : { screen_V }),
    });
    process.stdout.write(
      document(options, {
        json: () => figures,
        csv: () =>
          figuresTable({
            type: found.designation,
            plate_V,
            screen_V: screen_V ?? null,
            grid_V,
            ...figures,
          }),
        text: () =>
          [
            `${found.designation}, a new tube by the model:`,
            `  plate current      ${figures.plateCurrent_mA.toPrecision(4)} mA`,
            ...(model.family === 'pentode'
              ? [`  screen current     ${figures.screenCurrent_mA.toPrecision(4)} mA`]
              : []),
            `  transconductance   ${figures.gm_mS.toPrecision(4)} mS`,
            `  plate resistance   ${(figures.rp_ohm / 1e3).toPrecision(4)} kΩ`,
            `  amplification      ${figures.mu.toPrecision(4)}`,
            '',
          ].join('\n'),
      }),
    );
    return Promise.resolve(0);
  },
};

/** A converter at its signal grid's volts, oscillating as the type's published row does. */
function converting(
  name: string,
  unit: Unit,
  model: TubeModel,
  options: Invocation['options'],
): string {
  const row = unit.points.find((point) => point.kind === 'conversion');
  if (row === undefined)
    throw new Problem('does-not-fit', 'no published row says how hard the oscillator drives', {
      found: name,
    });
  const at = {
    plate_V: volts('plate', options, true)!,
    screen_V: volts('screen', options, true)!,
    signalGrid_V: volts('grid', options, true)!,
  };
  const c = conversion(model, {
    ...at,
    oscillatorGrid_ohm: row.oscillatorGrid_ohm,
    oscillatorGrid_A: row.oscillatorGrid_mA * 1e-3,
  });
  const figures = {
    plateCurrent_mA: c.plate_A * 1e3,
    screenCurrent_mA: c.screen_A * 1e3,
    conversion_mS: c.conversion_S * 1e3,
    rp_ohm: c.plate_ohm,
    oscillator_V: c.oscillator_V,
  };
  const text = (): string =>
    [
      `${name}, a new tube by the model, ${row.oscillatorGrid_mA} mA through ${row.oscillatorGrid_ohm} Ω at the oscillator grid:`,
      `  plate current               ${figures.plateCurrent_mA.toPrecision(4)} mA`,
      `  screen current              ${figures.screenCurrent_mA.toPrecision(4)} mA`,
      `  conversion transconductance ${figures.conversion_mS.toPrecision(4)} mS`,
      `  plate resistance            ${(figures.rp_ohm / 1e3).toPrecision(4)} kΩ`,
      `  oscillator, peak            ${figures.oscillator_V.toPrecision(4)} V`,
      '',
    ].join('\n');
  return document(options, {
    json: () => figures,
    csv: () => figuresTable({ type: name, ...at, ...figures }),
    text,
  });
}

export function unknownTube(name: string): Problem {
  const near = nearNames(name, designations());
  return new Problem('unknown-tube', 'this type is not in the catalogue', {
    found: name,
    expected: 'a designation that "stagefit tubes" lists',
    ...(near.length === 0 ? {} : { hint: `Did you mean ${near.join(' or ')}?` }),
  });
}

function volts(name: string, options: Invocation['options'], needed: boolean): number | undefined {
  const text = options[name];
  if (typeof text !== 'string') {
    if (!needed) return undefined;
    throw new Problem('usage', `--${name} is missing`, {
      place: `--${name}`,
      expected: 'volts to the cathode, e.g. 250 or -2',
    });
  }
  const parsed = parseQuantity(text, 'V');
  if (!parsed.ok)
    throw new Problem('usage', `--${name} is no voltage`, {
      place: `--${name}`,
      found: parsed.found,
      expected: parsed.expected,
    });
  if (Math.abs(parsed.value) > 5000)
    throw new Problem('usage', `--${name} is out of range`, {
      place: `--${name}`,
      found: text,
      expected: 'at most 5 kV',
    });
  return parsed.value;
}

interface Row {
  readonly at: string;
  readonly quantity: string;
  readonly published: number;
  readonly model: number;
  readonly provenance: string;
  readonly source: string;
}

/** The quantity's name ends in its unit. */
const pointsTable = (type: string, rows: readonly Row[]): Table => ({
  columns: columnsOf('type at quantity published model provenance source'),
  rows: rows.map((row) => ({ type, ...row })),
});

/** One line; the names end in their units. */
const figuresTable = (figures: CsvRow): Table => ({
  columns: Object.keys(figures),
  rows: [figures],
});

/** By place: its volts once, then a line for every figure there. */
function table(name: string, rows: readonly Row[]): string {
  const short = (x: number): string => String(Number(x.toPrecision(4)));
  const sources = [...new Set(rows.map((row) => row.source))];
  const line = (cells: readonly [string, string, string, string]): string =>
    `    ${cells[0].padEnd(22)}${cells
      .slice(1)
      .map((cell) => cell.padStart(12))
      .join('')}`;
  return [
    `${name}: published figures and the model's`,
    line(['', 'published', 'model', 'off by']),
    ...rows.flatMap((row, i) => [
      ...(row.at === rows[i - 1]?.at ? [] : wrap(row.at, 2)),
      line([
        row.quantity,
        short(row.published),
        short(row.model),
        `${(100 * (row.model / row.published - 1)).toFixed(1)} %`,
      ]),
    ]),
    ...sources.flatMap((source) => wrap(`Source: ${source}`, 2)),
    '',
  ].join('\n');
}
