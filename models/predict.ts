import type { TubeModel } from '../src/types.ts';
import { newTubeState } from './cathode.ts';
import { characteristics, type OperatingVolts } from './characteristics.ts';
import {
  conversion,
  conversionTransconductance_S,
  oscillatorPeak_V,
  type ConversionVolts,
} from './pentagrid/conversion.ts';
import type {
  ConversionPoint,
  ConversionCutoffPoint,
  OscillatorPoint,
  Point,
  Quantity,
} from './device.ts';
import { coupledStage } from './coupled-stage.ts';
import { rootOfRising } from './root.ts';
import { drivenTube } from './typical-operation.ts';

/** One published number beside what the model says of it. */
export interface Compared {
  readonly quantity: Quantity;
  readonly published: number;
  readonly model: number;
}

/** Everything a published point says, beside the model's figures for it. */
export function compare(model: TubeModel, point: Point): readonly Compared[] {
  if (point.kind === 'coupled')
    return [{ quantity: 'gain', published: point.gain, model: coupledStage(model, point).gain }];
  const screen_V = 'screen_V' in point ? point.screen_V : undefined;
  const volts = (grid_V: number): OperatingVolts => ({
    plate_V: point.plate_V,
    grid_V,
    ...(screen_V === undefined ? {} : { screen_V }),
  });
  switch (point.kind) {
    case 'drop': {
      const excess = (drop_V: number) =>
        plate_mA(model, { plate_V: drop_V, grid_V: 0 }) - point.plate_mA;
      return [
        { quantity: 'drop_V', published: point.plate_V, model: rootOfRising(excess, 0, 1000) },
      ];
    }
    case 'conversion': {
      const c = conversion(model, converting(point, point.signalGrid_V));
      return known([
        ['plate_mA', point.plate_mA, c.plate_A * 1e3],
        ['screen_mA', point.screen_mA, c.screen_A * 1e3],
        ['gc_uS', point.gc_uS, c.conversion_S * 1e6],
        ['rp_ohm', point.rp_ohm, c.plate_ohm],
      ]);
    }
    case 'gcAt': {
      // The oscillator's swing hardly feels the signal grid.
      const peak = oscillatorPeak_V(model, converting(point, point.signalGrid_V));
      const excess = (signal_V: number) =>
        logRatio(
          1e6 * conversionTransconductance_S(model, converting(point, signal_V), peak),
          point.gc_uS,
        );
      return [
        {
          quantity: 'gcAt_V',
          published: point.signalGrid_V,
          model: rootOfRising(excess, -100, 0),
        },
      ];
    }
    case 'driven': {
      const d = drivenTube(model, point);
      return known([
        ['power_W', point.power_W, d.power_W],
        ['distortion_percent', point.distortion_percent, d.distortion_percent],
        ['drivenPlate_mA', point.plate_mA, d.plate_mA],
        ['drivenScreen_mA', point.screen_mA, d.screen_mA],
      ]);
    }
    case 'oscillator':
      return known(oscillating(model, point));
    case 'curve': {
      const pins = { plate: point.plate_V, screen: screen_V ?? 0, grid: point.grid_V, cathode: 0 };
      const amps = model.currents(pins, newTubeState(model));
      return known([
        ['plate_mA', point.plate_mA, 1e3 * (amps.plate ?? 0)],
        ['screen_mA', point.screen_mA, 1e3 * (amps.screen ?? 0)],
      ]);
    }
    case 'cutoff': {
      const excess = (grid_V: number) =>
        logRatio(1e3 * plate_mA(model, volts(grid_V)), point.plate_uA);
      return [
        { quantity: 'cutoff_V', published: point.grid_V, model: rootOfRising(excess, -400, 0) },
      ];
    }
    case 'gmAt': {
      const excess = (grid_V: number) =>
        logRatio(1e3 * characteristics(model, volts(grid_V)).gm_mS, point.gm_uS);
      return [
        { quantity: 'gmAt_V', published: point.grid_V, model: rootOfRising(excess, -400, 0) },
      ];
    }
    case 'joined': {
      const c = characteristics(asTriode(model), volts(point.grid_V));
      return known([
        ['plate_mA', point.plate_mA, c.plateCurrent_mA],
        ['gm_mS', point.gm_mS, c.gm_mS],
        ['rp_ohm', point.rp_ohm, c.rp_ohm],
        ['mu', point.mu, c.mu],
      ]);
    }
    case 'operating': {
      const grid_V = point.grid_V ?? selfBias_V(model, volts(0), point.cathode_ohm ?? 0);
      const c = characteristics(model, volts(grid_V));
      return known([
        ['plate_mA', point.plate_mA, c.plateCurrent_mA],
        ['screen_mA', point.screen_mA, c.screenCurrent_mA],
        ['gm_mS', point.gm_mS, c.gm_mS],
        ['rp_ohm', point.rp_ohm, c.rp_ohm],
        ['mu', point.mu, c.mu],
      ]);
    }
  }
}

/** Screen joined to the plate: one electrode with the current of both. */
function asTriode(model: TubeModel): TubeModel {
  return {
    ...model,
    currents: (pins, state) => {
      const amps = model.currents({ ...pins, screen: pins.plate ?? 0 }, state);
      return { ...amps, plate: (amps.plate ?? 0) + (amps.screen ?? 0), screen: 0 };
    },
  };
}

type Pair = readonly [Quantity, number | undefined, number];

function known(pairs: readonly Pair[]): readonly Compared[] {
  return pairs.flatMap(([quantity, published, model]) =>
    published === undefined ? [] : [{ quantity, published, model }],
  );
}

function converting(
  point: ConversionPoint | ConversionCutoffPoint,
  signalGrid_V: number,
): ConversionVolts {
  return {
    plate_V: point.plate_V,
    screen_V: point.screen_V,
    signalGrid_V,
    oscillatorGrid_ohm: point.oscillatorGrid_ohm,
    oscillatorGrid_A: point.oscillatorGrid_mA * 1e-3,
  };
}

function oscillating(model: TubeModel, point: OscillatorPoint): readonly Pair[] {
  const state = newTubeState(model);
  const joined_mA = (plate_V: number, oscillatorGrid: number) => {
    const pins = model.currents(
      { plate: plate_V, screen: plate_V, oscillatorGrid, signalGrid: 0, cathode: 0 },
      state,
    );
    return 1e3 * ((pins.plate ?? 0) + (pins.screen ?? 0));
  };
  const { plate_V: plate, oscillatorGrid_V: grid } = point;
  const gm_mS = (joined_mA(plate, grid + 1e-3) - joined_mA(plate, grid - 1e-3)) / 2e-3;
  const gp_mS = (joined_mA(plate + 0.1, grid) - joined_mA(plate - 0.1, grid)) / 0.2;
  return [
    ['cathode_mA', point.cathode_mA, joined_mA(plate, grid)],
    ['gm_mS', point.gm_mS, gm_mS],
    ['mu', point.mu, gm_mS / gp_mS],
  ];
}

/** The bias that a cathode resistor makes of the tube's own current, V (negative). Voltages are to the cathode. */
export function selfBias_V(model: TubeModel, at: OperatingVolts, cathode_ohm: number): number {
  const state = newTubeState(model);
  const excess = (grid_V: number) =>
    grid_V -
    cathode_ohm *
      (model.currents(
        { plate: at.plate_V, screen: at.screen_V ?? 0, grid: grid_V, cathode: 0 },
        state,
      ).cathode ?? 0);
  return rootOfRising(excess, -100, 0);
}

function plate_mA(model: TubeModel, at: OperatingVolts): number {
  const pins = { plate: at.plate_V, screen: at.screen_V ?? 0, grid: at.grid_V, cathode: 0 };
  return 1e3 * (model.currents(pins, newTubeState(model)).plate ?? 0);
}

/** Far below cutoff the current underflows to 0, whose logarithm no root finder can use. */
function logRatio(value: number, reference: number): number {
  return Math.log(Math.max(value, 1e-300) / reference);
}
