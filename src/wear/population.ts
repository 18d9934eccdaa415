/** New tubes are a population: bogey is its middle, not its best. */
import type { Draw, TubeCondition } from '../types.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import {
  ABOVE_SCALE,
  CONTACT_POTENTIAL,
  GAS,
  GRID_EMISSION,
  HEATER_CATHODE,
  NEW_SATURATION,
} from './priors.ts';

export type NewTubeCharacter = 'triode' | 'sharp' | 'remote' | 'beam' | 'pentagrid' | 'diode';

export interface NewTubeLimits {
  readonly type: string;
  /** Plate current of a bogey tube and the maker's limits, mA. */
  readonly bogey_mA: number;
  readonly least_mA: number;
  readonly most_mA: number;
  readonly source: string;
}

const SHEET = 'New Sensor data sheet, current production, undated';

/** Published plate-current limits of new tubes. Bogeys from receiving tube manuals, from memory. */
export const NEW_TUBE_LIMITS: readonly NewTubeLimits[] = [
  {
    type: '6V6GT',
    bogey_mA: 45,
    least_mA: 33,
    most_mA: 59,
    source: `${SHEET}, 250 V, 250 V, -12.5 V`,
  },
  {
    type: 'EL34',
    bogey_mA: 100,
    least_mA: 80,
    most_mA: 120,
    source: `${SHEET}, 250 V, 265 V, -13.5 V`,
  },
  { type: '6SN7GT', bogey_mA: 9, least_mA: 7, most_mA: 13, source: `${SHEET}, 250 V, -8 V` },
  { type: '6CG7', bogey_mA: 9, least_mA: 7, most_mA: 14, source: `${SHEET}, 250 V, -8 V` },
];

export interface Spread {
  /** Standard deviation of the logarithm of the plate current about bogey. */
  readonly plateCurrent_sd: number;
  /** The same of the area: part of the spread in plate current is contact potential. */
  readonly area_sd: number;
  readonly source: string;
}

/** Share of the variance of plate current that is area; the rest is contact potential. No source. */
const AREA_SHARE = 0.5;

/**
 * Spread of new tubes, log-normal, with the published limits taken as its 95 % interval (sample inspection lets a few
 * tubes through beyond them; common practice, no source).
 */
export function newTubeSpread(character: NewTubeCharacter): Spread {
  const types = character === 'beam' ? ['6V6GT', 'EL34'] : ['6SN7GT', '6CG7'];
  const rows = NEW_TUBE_LIMITS.filter(({ type }) => types.includes(type));
  const sds = rows.map(({ least_mA, most_mA }) => Math.log(most_mA / least_mA) / (2 * 1.96));
  const sd = sds.reduce((sum, one) => sum + one, 0) / sds.length;
  return {
    plateCurrent_sd: sd,
    area_sd: sd * Math.sqrt(AREA_SHARE),
    source: rows.map(({ type, source }) => `${type}: ${source}`).join('; '),
  };
}

/** Unknowns of a new tube, for stratified populations. */
export const NEW_TUBE_UNKNOWNS = [
  'new area',
  'new saturation',
  'new gas',
  'new grid emission',
  'new contact potential',
  'new grid leak',
  'new heater-cathode',
] as const;

/** One new tube of the population under a draw of `NEW_TUBE_UNKNOWNS`; its small grid leak goes to the plate. */
export function newTubeOf(tube: TubeFacts, character: NewTubeCharacter, draw: Draw): TubeCondition {
  const z = (name: (typeof NEW_TUBE_UNKNOWNS)[number]): number => draw[name] ?? 0;
  const around = (median: number, sd: number, by: number): number => median * Math.exp(sd * by);
  const output = tube.isOutputTube;
  const heater_ohm = output ? HEATER_CATHODE.output_ohm : HEATER_CATHODE.small_ohm;
  return {
    area: around(1, newTubeSpread(character).area_sd, z('new area')),
    saturation_A: around(
      tube.newSaturation_A,
      tube.newSaturation_sd ?? NEW_SATURATION.sd,
      z('new saturation'),
    ),
    gasRatio: around(GAS.median, GAS.sd, z('new gas')),
    gridEmission_A: around(
      output ? GRID_EMISSION.output_A : GRID_EMISSION.small_A,
      GRID_EMISSION.sd,
      z('new grid emission'),
    ),
    contactShift_V: (tube.contactPotential_sd ?? CONTACT_POTENTIAL.sd) * z('new contact potential'),
    interface_ohm: 0,
    leaks: [
      {
        between: [controlGrid(tube), 'plate'],
        siemens: 1 / around(ABOVE_SCALE.median_ohm, ABOVE_SCALE.sd, z('new grid leak')),
      },
      ...(tube.electrodes.includes('heater') && tube.electrodes.includes('cathode')
        ? [
            {
              between: ['heater', 'cathode'] as const,
              siemens: 1 / around(heater_ohm, HEATER_CATHODE.sd, z('new heater-cathode')),
            },
          ]
        : []),
    ],
  };
}
