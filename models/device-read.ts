import { Place, type Found } from './device-place.ts';
import type { Character, Device, Point } from './device.ts';

const FAMILIES = ['triode', 'pentode', 'pentagrid', 'diode'] as const;
const CHARACTERS: Readonly<Record<(typeof FAMILIES)[number], readonly Character[]>> = {
  triode: ['triode'],
  pentode: ['sharp', 'remote', 'beam'],
  pentagrid: ['pentagrid'],
  diode: ['diode'],
};
const ELECTRODES = ['plate', 'screen', 'grid', 'cathode', 'heater', 'oscillatorGrid', 'signalGrid'];
const PLACED_WITHIN = 2000;

/**
 * Checks a device file from outside and returns it as a `Device`.
 *
 * @param file name to tell in an error
 * @throws Problem with the place of the first field that is missing, of the wrong kind, or contradicts another
 */
export function readDevice(json: unknown, file?: string): Device {
  const at = new Place(file ?? idOf(json), '');
  const device = at.object(json);
  if (device['format'] !== 'stagefit-device')
    at.fail(
      'wrong-format',
      'this is not a device file',
      'format',
      device['format'],
      '"stagefit-device"',
    );
  if (device['version'] !== 1)
    at.fail(
      'wrong-version',
      'version of the device file is not known',
      'version',
      device['version'],
      '1',
    );
  at.text(device, 'id');
  at.text(device, 'title');
  at.list(device, 'designations', 1).forEach((name, i) => at.isText(name, `designations[${i}]`));
  readHeater(at.inside('heater', device));
  const base = at.inside('base', device);
  base.place.text(base.value, 'socket');
  cited(base);
  if (device['variants'] !== undefined)
    at.list(device, 'variants', 0).forEach((variant, i) => {
      const { place, value } = at.item(variant, `variants[${i}]`);
      place.list(value, 'designations', 1).forEach((name, k) => {
        place.isText(name, `designations[${k}]`);
      });
      place.text(value, 'differs');
      if (value['heater'] !== undefined) readHeater(place.inside('heater', value));
      if (value['ratings'] !== undefined) readRatings(place.inside('ratings', value));
    });
  const units = at.list(device, 'units', 1).map((unit, i) => at.item(unit, `units[${i}]`));
  units.forEach(readUnit);
  const ids = units.map(({ value }) => value['id']);
  if (new Set(ids).size !== ids.length)
    at.fail('contradiction', 'two units have one id', 'units', ids.join(', '), 'different ids');
  return json as Device;
}

function readHeater({ place, value }: Found): void {
  place.number(value, 'volts', 0.5, 200);
  place.number(value, 'amps', 0.01, 10);
  place.oneOf(value, 'connection', ['two pins', 'centre-tapped']);
  cited({ place, value });
}

function readUnit({ place, value }: Found): void {
  place.text(value, 'id');
  const family = place.oneOf(value, 'family', FAMILIES);
  place.oneOf(value, 'character', CHARACTERS[family]);
  const cathode = place.inside('saturation', value);
  cathode.place.number(cathode.value, 'newCathode_mA', 0.1, 1e5);
  cathode.place.number(cathode.value, 'spreadFactor', 1, 10);
  const picofarads = place.inside('capacitances_pF', value);
  for (const name of ['gridPlate', 'input', 'output'])
    picofarads.place.number(picofarads.value, name, 0, 1000);
  if (value['ratings'] !== undefined) readRatings(place.inside('ratings', value));
  if (value['grid'] !== undefined) {
    const grid = place.inside('grid', value);
    grid.place.number(grid.value, 'kgg_mA', 1e-3, 100);
    grid.place.number(grid.value, 'vc_V', -3, 2);
    grid.place.number(grid.value, 'plateDivision', 0, 100);
    cited(grid);
  }
  if (value['fit'] !== undefined) {
    const fit = place.inside('fit', value);
    const parameters = fit.place.inside('parameters', fit.value);
    for (const name of Object.keys(parameters.value))
      parameters.place.number(parameters.value, name, -1e9, 1e9);
  }
  place.list(value, 'sections', 1).forEach((section, i) => {
    const found = place.item(section, `sections[${i}]`);
    found.place.text(found.value, 'id');
    const pins = found.place.inside('pins', found.value);
    for (const electrode of Object.keys(pins.value)) {
      if (!ELECTRODES.includes(electrode))
        pins.place.fail(
          'bad-value',
          'not an electrode',
          electrode,
          electrode,
          ELECTRODES.join(', '),
        );
      pins.place.number(pins.value, electrode, 1, 20);
    }
  });
  place.list(value, 'points', 0).forEach((point, i) => {
    readPoint(place.item(point, `points[${i}]`), family);
  });
}

const KINDS: Readonly<Record<(typeof FAMILIES)[number], readonly Point['kind'][]>> = {
  triode: ['operating', 'cutoff', 'gmAt', 'curve', 'driven', 'coupled'],
  pentode: ['operating', 'joined', 'cutoff', 'gmAt', 'curve', 'driven', 'coupled'],
  pentagrid: ['conversion', 'gcAt', 'oscillator'],
  diode: ['drop'],
};

function readRatings({ place, value }: Found): void {
  for (const name of [
    'plate_V',
    'plate_W',
    'screen_V',
    'screen_W',
    'cathode_mA',
    'heaterCathode_V',
    'inverse_V',
    'platePeak_mA',
    'dcOutput_mA',
  ])
    if (value[name] !== undefined) place.number(value, name, 1e-3, 1e5);
  cited({ place, value });
}

function readPoint(found: Found, family: (typeof FAMILIES)[number]): void {
  const { place, value } = found;
  // A kind of another family is a contradiction, and told as such: the file mixes curves of two types.
  const known = Object.values(KINDS).flat();
  const kind = place.oneOf(value, 'kind', [...new Set(known)]);
  if (!KINDS[family].includes(kind))
    place.fail(
      'contradiction',
      `a point of another family than the unit’s`,
      'kind',
      kind,
      `${KINDS[family].join(', ')}, as a ${family} has`,
    );
  cited({ place, value });
  place.oneOf(value, 'use', ['fit', 'check']);
  if (value['weight'] !== undefined) place.number(value, 'weight', 1e-3, 1e3);
  if (kind === 'coupled') {
    readCoupledPoint(found, family);
    return;
  }
  place.number(value, 'plate_V', 0, PLACED_WITHIN);
  if (kind === 'drop') {
    place.number(value, 'plate_mA', 1e-3, 1e5);
    return;
  }
  if (family === 'pentagrid') {
    readPentagridPoint(found, kind);
    return;
  }
  if (kind === 'joined') {
    place.number(value, 'grid_V', -PLACED_WITHIN, 100);
    saysSomething(found, ['plate_mA', 'gm_mS', 'rp_ohm', 'mu']);
    return;
  }
  if (family === 'pentode') place.number(value, 'screen_V', 0, PLACED_WITHIN);
  else if (value['screen_V'] !== undefined)
    place.fail(
      'contradiction',
      'a triode has no screen',
      'screen_V',
      value['screen_V'],
      'no screen_V, or the family pentode',
    );
  if (kind === 'cutoff') place.number(value, 'plate_uA', 1e-3, 1e5);
  if (kind === 'gmAt') place.number(value, 'gm_uS', 1e-3, 1e6);
  if (kind === 'driven') {
    place.number(value, 'drive_V', 1e-3, PLACED_WITHIN);
    place.number(value, 'load_ohm', 1, 1e7);
    saysSomething(found, ['power_W', 'distortion_percent', 'plate_mA', 'screen_mA']);
  }
  if (kind === 'curve') {
    place.number(value, 'plate_mA', 0, 1e4);
    if (value['screen_mA'] !== undefined) place.number(value, 'screen_mA', 0, 1e4);
    if (value['reading_mA'] !== undefined) place.number(value, 'reading_mA', 1e-6, 100);
  }
  if (kind !== 'operating') {
    place.number(value, 'grid_V', -PLACED_WITHIN, 100);
    return;
  }
  if ((value['grid_V'] === undefined) === (value['cathode_ohm'] === undefined))
    place.fail(
      'contradiction',
      'the bias of an operating point is given once',
      '',
      value['grid_V'] === undefined ? 'neither' : 'both',
      'either grid_V or cathode_ohm',
    );
  saysSomething({ place, value }, ['plate_mA', 'screen_mA', 'gm_mS', 'rp_ohm', 'mu']);
  const { gm_mS, rp_ohm, mu } = value as { gm_mS?: number; rp_ohm?: number; mu?: number };
  if (gm_mS !== undefined && rp_ohm !== undefined && mu !== undefined) {
    const product = gm_mS * 1e-3 * rp_ohm;
    if (Math.abs(product / mu - 1) > 0.05 && value['note'] === undefined)
      place.fail(
        'contradiction',
        'mu is not gm times rp',
        'mu',
        `mu ${mu}, gm·rp ${product.toPrecision(3)}`,
        'agreement within 5 %, or a note that says so',
      );
  }
}

function readCoupledPoint({ place, value }: Found, family: (typeof FAMILIES)[number]): void {
  place.number(value, 'supply_V', 1, PLACED_WITHIN);
  for (const name of ['plate_ohm', 'next_ohm']) place.number(value, name, 1, 1e9);
  place.number(value, 'cathode_ohm', 0, 1e6);
  place.number(value, 'gain', 1e-3, 1e5);
  if (family === 'pentode') place.number(value, 'screen_ohm', 1, 1e9);
}

function readPentagridPoint({ place, value }: Found, kind: Point['kind']): void {
  if (kind === 'oscillator') {
    place.number(value, 'oscillatorGrid_V', -PLACED_WITHIN, 100);
    saysSomething({ place, value }, ['cathode_mA', 'gm_mS', 'mu']);
    return;
  }
  place.number(value, 'screen_V', 0, PLACED_WITHIN);
  place.number(value, 'signalGrid_V', -PLACED_WITHIN, 100);
  place.number(value, 'oscillatorGrid_ohm', 100, 1e7);
  place.number(value, 'oscillatorGrid_mA', 1e-3, 100);
  if (kind === 'gcAt') place.number(value, 'gc_uS', 1e-3, 1e6);
  else saysSomething({ place, value }, ['plate_mA', 'screen_mA', 'gc_uS', 'rp_ohm']);
}

function saysSomething({ place, value }: Found, names: readonly string[]): void {
  const told = names.filter((name) => value[name] !== undefined);
  if (told.length === 0)
    place.fail('missing', 'a point says nothing', '', 'none', `one of ${names.join(', ')}`);
  for (const name of told) place.number(value, name, 1e-6, 1e9);
}

function cited({ place, value }: Found): void {
  place.text(value, 'source');
  place.oneOf(value, 'provenance', ['published', 'fromMemory']);
}

function idOf(json: unknown): string {
  const id = typeof json === 'object' && json !== null && 'id' in json ? json.id : undefined;
  return typeof id === 'string' ? `device ${id}` : 'device file';
}
