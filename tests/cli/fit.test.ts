import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { newTubeState } from '../../models/cathode.ts';
import { findDevice } from '../../models/catalogue.ts';
import { readDevice } from '../../models/device-read.ts';
import { fitOwn } from '../../models/own-fit.ts';
import { tubeModel } from '../../models/tube.ts';
import { readPoints } from '../../src/cli/fit-points.ts';
import { Problem } from '../../src/problem.ts';
import type { TubeModel } from '../../src/types.ts';
import { testWithNative } from '../native-ngspice.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'stagefit-fit-'));
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});
const stagefit = (args: readonly string[]) =>
  spawnSync(process.execPath, [join(root, 'dist/cli/stagefit.js'), ...args], {
    encoding: 'utf8',
    cwd: root,
    timeout: 60_000,
  });
const fileOf = (name: string, text: string) => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};

/** Average plate characteristics of the 6SL7GT, read by hand: Fun with Transistors, fig. 4 eh.5 and 6 (seen). Decimal commas. */
const CURVE = [
  'Anode V;g1 (V);plate_mA;who',
  ['50;0;1', '97;0;2', '140;0;3', '180;0;4', '215;0;5', '110;-1;1', '163;-1;2', '210;−1;3'],
  ['250;-1;4', '290;-1;5', '185;-2;1,0', '235;-2;2,0', '280;-2;3', '322;-2;4,0'],
  ['255;-3;1', '307;-3;2', '350;-3;3', '50;0;1', '200;-2;2,9', '100;-1;'],
]
  .flat()
  .join('\n');
const deviceOf = (type: string) => {
  const device = findDevice(type)?.device;
  const unit = device?.units[0];
  if (device === undefined || unit === undefined) throw new Error(type);
  return { device, unit };
};
const modelPoints = (
  model: TubeModel,
  screen: number | undefined,
  plates: readonly number[],
  grids: readonly number[],
) =>
  plates.flatMap((plate) =>
    grids.map((grid) => {
      const amps = model.currents(
        { plate, grid, cathode: 0, ...(screen === undefined ? {} : { screen }) },
        newTubeState(model),
      );
      const mA = (x: number | undefined) => (1e3 * (x ?? NaN)).toPrecision(4);
      return screen === undefined
        ? `${plate},${grid},${mA(amps.plate)}`
        : `${plate},${screen},${grid},${mA(amps.plate)},${mA(amps.screen)}`;
    }),
  );
const problemOf = (run: () => unknown): Problem => {
  try {
    run();
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error('no problem');
};

describe('a table of measured points', () => {
  test('is read with decimal commas, British names, true minus signs, missing cells and repeated lines told', () => {
    const read = readPoints(CURVE, 'curve.csv', 'triode');
    expect(read.points).toHaveLength(18);
    expect(read.points[10]?.point).toMatchObject({ plate_V: 185, grid_V: -2, plate_mA: 1 });
    expect(read.points[7]?.point.grid_V).toBe(-1);
    expect(read.notes.join(' ')).toMatch(
      /left alone: who.*Line 21 is left out: no plate_mA.*Line 19 repeats line 2|Line 19 repeats line 2.*Line 21/,
    );
  });

  test('takes other units from the header and keeps readings of one condition that differ', () => {
    const read = readPoints(
      'plate_kV,grid_mV,plate_uA\n0.25,-2000,1200\n0.25,-2000,1300\n',
      'x.csv',
      'triode',
    );
    expect(read.points.map(({ point }) => [point.plate_V, point.grid_V, point.plate_mA])).toEqual([
      [250, -2, 1.2],
      [250, -2, 1.3],
    ]);
    expect(read.notes.join(' ')).toMatch(
      /Lines 2 and 3 are one condition with 1.2 mA and 1.3 mA: all count/,
    );
  });

  test.each([
    ['plate_V,plate_mA\n1,2\n', 'missing', 'grid_V'],
    ['plate,grid_V,plate_mA\n1,2,3\n', 'missing', 'plate_V'],
    ['plate_V,anode_V,grid_V,plate_mA\n1,1,2,3\n', 'contradiction', 'plate_V'],
    ['plate_V,grid_V,plate_mA\n1,two,3\n', 'bad-value', 'grid_V'],
    ['plate_V,grid_V,plate_mA\n250 V,-2,3\n', 'bad-value', 'plate_V'],
    ['plate_V,grid_V,plate_mA\n250,-2,-3\n', 'bad-value', 'plate_mA'],
    ['plate_V;grid_V;plate_mA\n1.234,5;-2;3\n', 'bad-value', 'plate_V'],
  ])('that is wrong is refused with its place: %j', (text, code, place) => {
    const problem = problemOf(() => readPoints(text, 'x.csv', 'triode'));
    expect([problem.code, problem.fields.place, problem.fields.file]).toEqual([
      code,
      place,
      'x.csv',
    ]);
    expect(problem.fields.line).toBeGreaterThan(0);
  });
});

describe('a fit of measured points', () => {
  test('of a published curve family gives its amplification factor and names the reading that is far out', () => {
    const { device, unit } = deviceOf('6SL7GT');
    const read = readPoints(CURVE, 'curve.csv', 'triode');
    const result = fitOwn(
      device,
      unit,
      'mine',
      read.points.map(({ point }) => point),
    );
    expect(result.outliers.map((i) => read.points[i]?.line)).toEqual([20]);
    expect(result.scatter_percent).toBeGreaterThan(8);
    expect(result.scatterWithout_percent).toBeLessThan(3);
    // The handbook's mu is 70.
    const clean = fitOwn(
      device,
      unit,
      'mine',
      read.points.slice(0, -1).map(({ point }) => point),
    );
    expect(Math.abs((clean.fit.parameters['mu'] ?? NaN) / 70 - 1)).toBeLessThan(0.1);
    expect(clean.outliers).toEqual([]);
  });

  test.each([
    ['2A3', undefined, [150, 250, 300], [-60, -52, -45, -38]],
    ['12AX7', undefined, [100, 200, 300], [-3, -2, -1, 0]],
    ['EL34', 265, [40, 100, 250, 300], [-25, -18, -13.5, -8]],
  ] as const)(
    'finds a %s again from points of another program’s making: its own model’s, rounded to 4 digits',
    (type, screen, plates, grids) => {
      const { device, unit } = deviceOf(type);
      const model = tubeModel(device);
      const family = screen === undefined ? 'triode' : 'pentode';
      const header =
        screen === undefined
          ? 'plate_V,grid_V,plate_mA'
          : 'plate_V,screen_V,grid_V,plate_mA,screen_mA';
      const read = readPoints(
        [header, ...modelPoints(model, screen, plates, grids)].join('\n'),
        'x.csv',
        family,
      );
      // Like another type of the family, so that only the points can tell.
      const other = deviceOf(screen === undefined ? '12AU7' : '6V6GT');
      const character = unit.character;
      const result = fitOwn(
        other.device,
        { ...other.unit, character },
        'mine',
        read.points.map(({ point }) => point),
      );
      expect(result.scatter_percent).toBeLessThan(1.5);
      expect(device.id).toBe(type);
    },
  );

  test('with too few conditions says how many it needs, and with few which parameters are held', () => {
    const { device, unit } = deviceOf('6SL7GT');
    const points = readPoints(CURVE, 'curve.csv', 'triode').points.map(({ point }) => point);
    const problem = problemOf(() => fitOwn(device, unit, 'mine', points.slice(0, 2)));
    expect(problem.code).toBe('too-few-points');
    expect(problem.toText()).toMatch(/at least 3; 7 decide every parameter/);
    const few = fitOwn(device, unit, 'mine', [points[0]!, points[3]!, points[6]!, points[11]!]);
    expect(few.heldForWant).toEqual(['vct', 'ex', 'kvb']);
    expect(few.conditionsForAll).toBe(7);
  });

  test('of a pentode without screen readings says that its screen rests on a typical value', () => {
    const { device, unit } = deviceOf('6AU6');
    const rows = modelPoints(tubeModel(device), 100, [60, 150, 250], [-3, -2, -1, -0.5]).map(
      (row) => row.split(',').slice(0, 4).join(','),
    );
    const read = readPoints(
      ['plate_V,screen_V,grid_V,plate_mA', ...rows].join('\n'),
      'x.csv',
      'pentode',
    );
    const result = fitOwn(
      device,
      unit,
      'mine',
      read.points.map(({ point }) => point),
    );
    expect(result.heldForWant).toEqual(expect.arrayContaining(['kg2', 'kappa']));
  });
});

describe('stagefit fit', () => {
  test('prints parameters with errors and a picture; --without leaves a line out and says so', () => {
    const csv = fileOf('curve.csv', CURVE);
    const ran = stagefit(['fit', csv, '--like', '6SL7GT']);
    expect(ran.status).toBe(0);
    expect(ran.stdout).toMatch(/mu +\d+\.\d+ +± /);
    expect(ran.stdout).toMatch(/│/);
    expect(ran.stdout).toMatch(/Far outside the others: line 20\. It took part/);
    const rest = stagefit(['fit', csv, '--like', '6SL7GT', '--without', '20']);
    expect(rest.stdout).toMatch(/Left out as asked: line 20/);
    expect(rest.stdout).not.toMatch(/Far outside/);
  });

  test('writes a device file that the reader takes and a scenario can name', () => {
    const csv = fileOf('curve.csv', CURVE);
    const ran = stagefit(['fit', csv, '--like', '6SL7GT', '--name', 'my SL7', '--json']);
    expect(ran.status).toBe(0);
    const device = readDevice(JSON.parse(ran.stdout));
    expect(tubeModel(device).parameters['mu']).toBeGreaterThan(50);
    const path = fileOf('mine.json', ran.stdout);
    const radio = JSON.parse(
      readFileSync(join(root, 'scenarios/table-radio/scenario.json'), 'utf8'),
    ) as object;
    const scenario = fileOf(
      'scenario.json',
      JSON.stringify({
        ...radio,
        sockets: [{ id: 'V1', stage: 'rc-amplifier', tube: 'my SL7' }],
        tubes: [{ id: 'a', type: 'my SL7', readings: { emission: [{ percent: 80 }] } }],
      }),
    );
    const model = stagefit(['model', scenario, '--tube', 'a', '--device', path]);
    expect(model.stderr).toBe('');
    expect(model.stdout).toMatch(/\.subckt TmySL7_/);
    expect(stagefit(['model', scenario, '--tube', 'a']).status).toBe(2);
    const broken = stagefit([
      'model',
      scenario,
      '--tube',
      'a',
      '--device',
      fileOf('no.json', '{"format": "stagefit-device"'),
    ]);
    expect(broken.status).toBe(2);
    expect(broken.stderr).toMatch(/no\.json.*this is no JSON/);
  });

  test.each([
    [[], /what is it\?/],
    [['--like', '12XX9'], /not in the catalogue/],
    [['--family', 'pentagrid'], /only triodes and pentodes/],
    [['--family', 'pentode', '--character', 'blunt'], /sharp, remote or beam/],
    [['--like', '6SL7GT', '--without', '99'], /no point is on that line/],
    [['--like', '6SL7GT', '--json', '--spice'], /one document at a time/],
  ])('with bad options %j says what was expected', (options, message) => {
    const ran = stagefit(['fit', fileOf('curve.csv', CURVE), ...options]);
    expect(ran.status).toBe(2);
    expect(ran.stdout).toBe('');
    expect(ran.stderr).toMatch(message);
  });

  testWithNative(
    'writes SPICE text that the system’s ngspice runs unchanged to the model’s own currents',
    () => {
      const csv = fileOf('curve.csv', CURVE);
      const text = stagefit(['fit', csv, '--like', '6SL7GT', '--without', '20', '--spice']).stdout;
      const device = readDevice(
        JSON.parse(stagefit(['fit', csv, '--like', '6SL7GT', '--without', '20', '--json']).stdout),
      );
      const model = tubeModel(device);
      const circuit = fileOf(
        'run.cir',
        [
          '* a new tube at 250 V, -2 V',
          text,
          `X1 p g 0 wa ws wg we wc wi ${model.spice().name}`,
          'Vp p 0 250',
          'Vg g 0 -2',
          'Va wa 0 1',
          `Vs ws 0 ${device.units[0]?.saturation.newCathode_mA}`,
          ...['wg', 'we', 'wc', 'wi'].map((node) => `V${node} ${node} 0 0`),
          '.op',
          '.print op i(Vp)',
          '.end',
          '',
        ].join('\n'),
      );
      const ran = spawnSync('ngspice', ['-n', '-b', circuit], {
        encoding: 'utf8',
        timeout: 60_000,
      });
      const found =
        /^\s*0\s+(-?\d\.\d+e[-+]\d+)/m.exec(ran.stdout)?.[1] ??
        /i\(vp\) = (-?\S+)/i.exec(ran.stdout)?.[1];
      const expected =
        model.currents({ plate: 250, grid: -2, cathode: 0 }, newTubeState(model)).plate ?? NaN;
      expect(-Number(found) / expected).toBeCloseTo(1, 3);
    },
  );
});
