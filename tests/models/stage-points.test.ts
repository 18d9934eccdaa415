import { afterAll, describe, expect, it } from 'vitest';
import { coupledStage } from '../../models/coupled-stage.ts';
import { readDevice } from '../../models/device-read.ts';
import { compare } from '../../models/predict.ts';
import { findDevice } from '../../models/catalogue.ts';
import { drivenTube } from '../../models/typical-operation.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import type { TubeModel } from '../../src/types.ts';
import { measured, modelOf, NEW, numberOf } from '../stage/bench.ts';

/** The short computations of whole stages and of a screen joined to the plate, against closed forms and against the engine. */
const simulator = nodeSimulator({ workers: 1 });
afterAll(() => simulator.close());

const newTube = (type: string) => ({
  ...NEW,
  saturation_A: modelOf(type).parameters['isat_mA']! * 1e-3,
});

/** A tube of straight lines: 5 mS, 10 kohm, 50 mA at 250 V and no bias. */
const straight: TubeModel = {
  ...modelOf('6V6GT'),
  currents: (v) => {
    const cathode = v.cathode ?? 0;
    const plate = 0.05 + 5e-3 * ((v.grid ?? 0) - cathode) + 1e-4 * ((v.plate ?? 0) - cathode - 250);
    return { plate, screen: 0, grid: 0, cathode: -plate };
  },
};

describe('an output tube along its load line', () => {
  it('of straight lines gives the power of gm·v times the load beside rp, without distortion', () => {
    const at = { plate_V: 250, grid_V: 0, drive_V: 4, load_ohm: 5000 };
    const driven = drivenTube(straight, at);
    const swing_V = (5e-3 * 4) / (1 / 5000 + 1 / 10e3);
    expect(driven.power_W).toBeCloseTo(swing_V ** 2 / (2 * 5000), 9);
    expect(driven.distortion_percent).toBeCloseTo(0, 6);
    expect(driven.plate_mA).toBeCloseTo(50, 9);
  });

  it.each([
    ['6V6GT', 315, 225, -13, 8500],
    ['6K6GT', 100, 100, -7, 12000],
    ['6Y6G', 135, 135, -13.5, 2000],
  ])(
    '%s at %i/%i V, grid %d V, into %i ohm as the engine',
    async (type, plate_V, screen_V, grid_V, load_ohm) => {
      const driven = drivenTube(modelOf(type), {
        plate_V,
        screen_V,
        grid_V,
        drive_V: -grid_V,
        load_ohm,
      });
      const given = {
        plateSupply: plate_V,
        screenSupply: screen_V,
        fixedBias: grid_V,
        drive: -grid_V,
        loadResistance: load_ohm,
        primaryResistance: 1,
        sourceResistance: 1,
        // So small that the grid's own current moves no bias.
        gridResistor: 1e3,
      };
      const [outcome] = await measured(outputSingleEnded, type, given, [newTube(type)], simulator, [
        'rest',
        'driven',
      ]);
      expect(Math.abs(driven.power_W / numberOf(outcome!, 'powerOutput') - 1)).toBeLessThan(0.01);
      expect(
        Math.abs((driven.screen_mA * 1e-3) / numberOf(outcome!, 'drivenScreenCurrent') - 1),
      ).toBeLessThan(0.01);
    },
  );
});

describe('a resistance-coupled stage at rest', () => {
  it('of straight lines has gain gm·(rp beside the loads)', () => {
    const stage = { supply_V: 300, plate_ohm: 2000, cathode_ohm: 100, next_ohm: 10e3 };
    const { gain, grid_V, plate_mA, plate_V } = coupledStage(straight, stage);
    expect(gain).toBeCloseTo(5e-3 / (1e-4 + 1 / 2000 + 1 / 10e3), 6);
    expect(plate_V).toBeCloseTo(300 - 2 * plate_mA, 6);
    expect(-grid_V).toBeCloseTo(0.1 * plate_mA, 6);
  });

  it('of a pentode as the engine', async () => {
    const stage = {
      supply_V: 180,
      plate_ohm: 0.5e6,
      screen_ohm: 2.2e6,
      cathode_ohm: 2180,
      next_ohm: 1e6,
    };
    const given = {
      supply: stage.supply_V,
      plateLoad: stage.plate_ohm,
      nextGridResistor: stage.next_ohm,
      cathodeResistor: stage.cathode_ohm,
      screenDropper: stage.screen_ohm,
      gridResistor: 1e4,
      cathodeBypass: 1e-3,
      screenBypass: 1e-5,
      outputCapacitor: 1e-6,
      sourceResistance: 0,
    };
    const [outcome] = await measured(rcAmplifier, '6SJ7', given, [newTube('6SJ7')], simulator, [
      'small',
    ]);
    const here = coupledStage(modelOf('6SJ7'), stage);
    expect(Math.abs(here.gain / numberOf(outcome!, 'gain') - 1)).toBeLessThan(0.01);
    expect(Math.abs(here.plate_V / numberOf(outcome!, 'plateVoltage') - 1)).toBeLessThan(0.01);
  });
});

describe('a pentode with its screen joined to the plate', () => {
  it('of straight lines is a triode of both currents and both slopes', () => {
    const pentode: TubeModel = {
      ...straight,
      currents: (v, state) => {
        const screen = 0.01 + 1e-3 * (v.grid ?? 0) + 2e-4 * ((v.screen ?? 0) - 250);
        return { ...straight.currents(v, state), screen };
      },
    };
    const figures = compare(pentode, {
      kind: 'joined',
      plate_V: 250,
      grid_V: -2,
      plate_mA: 48,
      gm_mS: 6,
      rp_ohm: 1e4 / 3,
      mu: 20,
      use: 'check',
      source: 'closed form',
      provenance: 'published',
    });
    expect(figures.map(({ quantity }) => quantity)).toEqual(['plate_mA', 'gm_mS', 'rp_ohm', 'mu']);
    for (const { published, model } of figures) expect(model / published).toBeCloseTo(1, 9);
  });
});

describe('a device file with such points', () => {
  const broken = (change: Readonly<Record<string, unknown>>) => {
    const json = structuredClone(findDevice('6SJ7')!.device) as unknown as {
      units: { points: Record<string, unknown>[] }[];
    };
    json.units[0]!.points[0] = {
      kind: 'coupled',
      supply_V: 300,
      plate_ohm: 100e3,
      screen_ohm: 370e3,
      cathode_ohm: 530,
      next_ohm: 250e3,
      gain: 98,
      use: 'check',
      source: 'invented',
      provenance: 'fromMemory',
      ...change,
    };
    return () => readDevice(json, '6SJ7.json');
  };
  it('says which figure of a row is missing', () => {
    expect(broken({})).not.toThrow();
    expect(broken({ screen_ohm: undefined })).toThrow(
      expect.objectContaining({
        fields: expect.objectContaining({ place: 'units[0].points[0].screen_ohm' }) as object,
      }),
    );
    expect(broken({ gain: 'high' })).toThrow(/number/);
  });
});
