import { describe, expect, it } from 'vitest';
import { allDevices, catalogueWith, designations, findDevice } from '../../models/catalogue.ts';
import { readDevice } from '../../models/device-read.ts';
import type { Device } from '../../models/device.ts';
import { fitUnit } from '../../models/fit.ts';
import { tubeModel, withRatings } from '../../models/tube.ts';
import { Problem } from '../../src/problem.ts';

/** A small invented device to spoil. */
const plain = (): Record<string, unknown> => ({
  format: 'stagefit-device',
  version: 1,
  id: 'X1',
  title: 'invented triode',
  designations: ['X1'],
  base: { socket: 'octal', source: 'invented', provenance: 'fromMemory' },
  heater: {
    volts: 6.3,
    amps: 0.3,
    connection: 'two pins',
    source: 'invented',
    provenance: 'fromMemory',
  },
  units: [
    {
      id: 'triode',
      family: 'triode',
      character: 'triode',
      sections: [{ id: '1', pins: { plate: 3, grid: 5, cathode: 8 } }],
      capacitances_pF: {
        gridPlate: 2,
        input: 2,
        output: 1,
        source: 'invented',
        provenance: 'fromMemory',
      },
      saturation: {
        newCathode_mA: 60,
        spreadFactor: 1.8,
        source: 'invented',
        provenance: 'fromMemory',
      },
      points: [point({})],
    },
  ],
});
function point(change: Record<string, unknown>): Record<string, unknown> {
  return {
    kind: 'operating',
    plate_V: 250,
    grid_V: -4,
    plate_mA: 5,
    gm_mS: 1.7,
    rp_ohm: 17600,
    use: 'fit',
    source: 'invented',
    provenance: 'fromMemory',
    ...change,
  };
}
const withPoint = (change: Record<string, unknown>): Record<string, unknown> => {
  const device = plain();
  const [unit] = device['units'] as Record<string, unknown>[];
  return { ...device, units: [{ ...unit, points: [point(change)] }] };
};
const problemOf = (json: unknown): Problem => {
  try {
    readDevice(json, 'x1.json');
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error('no problem found');
};

describe('a device file', () => {
  it('is accepted as it is, with keys that are not known', () => {
    const json = { ...plain(), note: 'mine' };
    expect(readDevice(json)).toBe(json);
  });

  it.each([
    ['wrong-format', { ...plain(), format: 'something' }, 'format'],
    ['wrong-version', { ...plain(), version: 2 }, 'version'],
    ['missing', { ...plain(), title: undefined }, 'title'],
    ['missing', { ...plain(), heater: undefined }, 'heater'],
    ['bad-value', { ...plain(), designations: [] }, 'designations'],
    ['bad-value', withPoint({ plate_V: '250 V' }), 'units[0].points[0].plate_V'],
    ['bad-value', withPoint({ provenance: 'somewhere' }), 'units[0].points[0].provenance'],
    ['contradiction', withPoint({ cathode_ohm: 1000 }), 'units[0].points[0]'],
    ['contradiction', withPoint({ grid_V: undefined }), 'units[0].points[0]'],
    ['contradiction', withPoint({ screen_V: 100 }), 'units[0].points[0].screen_V'],
    ['contradiction', withPoint({ kind: 'conversion' }), 'units[0].points[0].kind'],
    ['contradiction', withPoint({ kind: 'drop' }), 'units[0].points[0].kind'],
    ['contradiction', withPoint({ kind: 'joined' }), 'units[0].points[0].kind'],
    ['bad-value', withPoint({ kind: 'guess' }), 'units[0].points[0].kind'],
    ['bad-value', { ...plain(), variants: [{ designations: [] }] }, 'variants[0].designations'],
    ['contradiction', withPoint({ mu: 70 }), 'units[0].points[0].mu'],
    [
      'missing',
      withPoint({ plate_mA: undefined, gm_mS: undefined, rp_ohm: undefined }),
      'units[0].points[0]',
    ],
  ])('is refused as %s with the place', (code, json, place) => {
    const problem = problemOf(json);
    expect(problem.code).toBe(code);
    expect(problem.fields.place).toBe(place);
    expect(problem.fields.file).toBe('x1.json');
    expect(problem.fields.expected).toMatch(/\w/);
  });

  it('that is no object at all is refused', () => {
    expect(problemOf(null).code).toBe('bad-value');
    expect(problemOf([]).code).toBe('bad-value');
  });
});

describe('a fit of the user’s own type', () => {
  it('meets its one point and says what rests on typical values', () => {
    const device = readDevice(plain());
    const [unit] = device.units;
    if (unit === undefined) throw new Error('no unit');
    const fit = fitUnit(device, unit);
    for (const { error_percent } of fit.residuals) expect(Math.abs(error_percent)).toBeLessThan(2);
    expect(fit.restOnPrior).toEqual(expect.arrayContaining(['ex', 'kvb']));
    expect(fit.atBound).toEqual([]);
  });

  it('without a point is refused, as is a model without a fit', () => {
    const device = readDevice({
      ...plain(),
      units: [{ ...(plain()['units'] as Record<string, unknown>[])[0], points: [] }],
    });
    const [unit] = device.units;
    if (unit === undefined) throw new Error('no unit');
    expect(() => fitUnit(device, unit)).toThrow(Problem);
    expect(() => tubeModel(device)).toThrow(/no fitted model/);
    expect(() => tubeModel(device, 'pentode')).toThrow(/no such unit/);
  });
});

describe('the catalogue', () => {
  it('reads every file of its own', () => {
    expect(allDevices().length).toBeGreaterThanOrEqual(105);
    expect(new Set(allDevices().map(({ id }) => id)).size).toBe(allDevices().length);
  });

  it('finds a type by any of its names, however written', () => {
    for (const name of ['12AX7', '12ax7a', 'ECC 83', '12-AX7', 'ecc83'])
      expect(findDevice(name)?.device.id).toBe('12AX7');
    expect(findDevice('EL84')?.device.id).toBe('6BQ5');
    expect(findDevice('12AX')).toBeUndefined();
    expect(designations()).toContain('EF93');
  });

  it('gives a variant its own heater', () => {
    expect(findDevice('12SN7GT')).toMatchObject({
      designation: '12SN7GT',
      heater: { volts: 12.6, amps: 0.3 },
    });
    expect(findDevice('12BA6')?.device.id).toBe('6BA6');
    expect(findDevice('6BA6')?.heater.volts).toBe(6.3);
  });

  it('gives a variant its own ratings, and the rest of the type’s', () => {
    const found = findDevice('6SN7GTB');
    if (found === undefined) throw new Error('no 6SN7GTB');
    expect(found.device.id).toBe('6SN7GT');
    expect(withRatings(tubeModel(found.device), found.ratings).ratings).toMatchObject({
      plate_V: 450,
      plate_W: 5,
    });
    expect(withRatings(tubeModel(found.device), undefined).ratings?.plate_W).toBe(2.5);
    const older = findDevice('6L6');
    if (older === undefined) throw new Error('no 6L6');
    expect(withRatings(tubeModel(older.device), older.ratings).ratings).toMatchObject({
      plate_W: 19,
      screen_V: 270,
    });
  });

  it.each([
    ['ECC83', '12AX7'],
    ['7025', '12AX7'],
    ['EL84', '6BQ5'],
    ['EK90', '6BE6'],
    ['DK91', '1R5'],
    ['6BX6', 'EF80'],
    ['6AM6', 'EF91'],
    ['6BM8', 'ECL82'],
    ['6GW8', 'ECL86'],
    ['6AQ8', 'ECC85'],
    ['GZ34', '5AR4'],
    ['EZ90', '6X4'],
    ['6080', '6AS7G'],
    ['35B5', '35C5'],
    ['25L6GT', '50L6GT'],
  ])('knows %s as the %s', (name, id) => {
    expect(findDevice(name)?.device.id).toBe(id);
  });

  it('puts the user’s own devices first', () => {
    const own = { ...readDevice(plain()), designations: ['X1', '12AX7'] } as Device;
    const find = catalogueWith([own]);
    expect(find('12ax7')?.device.id).toBe('X1');
    expect(find('6V6')?.device.id).toBe('6V6GT');
  });

  it('keeps sections of one type apart, no pin given twice but for shared cathodes', () => {
    for (const device of allDevices()) {
      const pins = device.units.flatMap(({ sections }) =>
        sections.flatMap((section) =>
          Object.entries(section.pins)
            .filter(([electrode]) => electrode !== 'cathode')
            .map(([, pin]) => pin),
        ),
      );
      expect(new Set([...pins, ...(device.base.heaterPins ?? [])]).size, device.id).toBe(
        pins.length + (device.base.heaterPins ?? []).length,
      );
    }
  });
});
