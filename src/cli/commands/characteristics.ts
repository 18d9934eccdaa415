import { findDevice, designations } from '../../../models/catalogue.ts';
import { characteristics } from '../../../models/characteristics.ts';
import { compare } from '../../../models/predict.ts';
import type { Point } from '../../../models/device.ts';
import { tubeModel } from '../../../models/tube.ts';
import { sectionsOf } from '../../cases.ts';
import { Problem } from '../../problem.ts';
import { nearNames } from '../../scenario/near.ts';
import { parseQuantity } from '../../units/quantity.ts';
import type { Command, Invocation } from '../command.ts';

export const characteristicsCommand: Command = {
  name: 'characteristics',
  usage: 'characteristics TYPE [--section ID] [--plate V --grid V [--screen V]] [--json]',
  summary: 'what the model says of a new tube, beside the published figures',
  help: `Without voltages: the published points of the type beside the model's figures for them, so that
you see how far to trust it. With voltages (to the cathode): plate and screen current,
transconductance, plate resistance and amplification factor there.

  stagefit characteristics 6BA6
  stagefit characteristics 6V6GT --plate 250 --screen 250 --grid -12.5
  stagefit characteristics ECC83 --plate 100 --grid=-1 --json`,
  options: { plate: 'value', screen: 'value', grid: 'value', section: 'value', json: 'flag' },
  positionals: { least: 1, most: 1 },
  run({ positionals, options }) {
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
        options['json'] === true
          ? `${JSON.stringify(rows, null, 2)}\n`
          : table(found.designation, rows),
      );
      return Promise.resolve(0);
    }
    const plate_V = volts('plate', options, true)!;
    const grid_V = volts('grid', options, true)!;
    const screen_V = volts('screen', options, model.family === 'pentode');
    const figures = characteristics(model, {
      plate_V,
      grid_V,
      ...(screen_V === undefined ? {} : { screen_V }),
    });
    process.stdout.write(
      options['json'] === true
        ? `${JSON.stringify(figures, null, 2)}\n`
        : [
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
    );
    return Promise.resolve(0);
  },
};

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

function conditions(point: Point): string {
  const screen =
    'screen_V' in point && point.screen_V !== undefined ? ` / ${point.screen_V} V` : '';
  const bias =
    point.kind === 'operating' && point.cathode_ohm !== undefined
      ? `Rk ${point.cathode_ohm} Ω`
      : 'grid_V' in point && point.grid_V !== undefined
        ? `${point.grid_V} V`
        : '';
  return `${point.plate_V} V${screen}, ${bias}`;
}

function table(
  name: string,
  rows: readonly {
    at: string;
    quantity: string;
    published: number;
    model: number;
    provenance: string;
    source: string;
  }[],
): string {
  const short = (x: number): string => String(Number(x.toPrecision(4)));
  const sources = [...new Set(rows.map((row) => row.source))];
  return [
    `${name}: published figures and the model's`,
    `  ${'plate / screen, bias'.padEnd(26)}${'quantity'.padEnd(12)}${'published'.padStart(10)}${'model'.padStart(10)}${'off by'.padStart(9)}`,
    ...rows.map(
      (row) =>
        `  ${row.at.padEnd(26)}${row.quantity.padEnd(12)}${short(row.published).padStart(10)}${short(row.model).padStart(10)}${`${(100 * (row.model / row.published - 1)).toFixed(1)} %`.padStart(9)}`,
    ),
    ...sources.map((source) => `  Source: ${source}`),
    '',
  ].join('\n');
}
