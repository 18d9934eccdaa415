import { THERMAL_V, positivePart, retarding } from './smooth.ts';
import { number, type SpiceBody } from './spice-text.ts';

/** What decides the electron current of the control grid. */
export interface GridParameters {
  /** mA/V^1.5 of the positive grid with the plate far above it. */
  readonly kgg: number;
  /** Contact potential, V: where the 3/2-power law would start. Uncertain by ±0.3 V from tube to tube. */
  readonly vc: number;
  /** Share by which the grid takes more when the plate is no more positive than itself. */
  readonly kr: number;
}

/** Keeps the division of grid current finite where the engine's first guess of both voltages is 0: with less it does not find an operating point. */
const DIVISION_FLOOR_V = 0.05;

/**
 * Electron current into the grid before area and saturation, mA:
 * kgg·RF^1.5·(1 + kr·G/(0.05 V + G + plate)), G the retarding-field voltage of the grid.
 *
 * @param grid_V effective grid voltage to the cathode's coating, contact shift included
 * @param plate_V plate to the cathode's coating
 */
export function gridElectrons_mA(grid_V: number, plate_V: number, p: GridParameters): number {
  const g = retarding(grid_V - p.vc);
  return p.kgg * g ** 1.5 * (1 + (p.kr * g) / (DIVISION_FLOOR_V + g + positivePart(plate_V)));
}

/**
 * The same as SPICE nodes: returns the name of a node carrying mA. `effectiveGrid` is an expression, and `plate` one that is never
 * negative.
 */
export function gridElectronsSpice(
  body: SpiceBody,
  effectiveGrid: string,
  plate: string,
  p: GridParameters,
): string {
  const width = 1.5 * THERMAL_V;
  body.node('gu', `(${effectiveGrid}-${number(p.vc)})*${number(1 / width)}`);
  body.node('gl', `${number(width)}*LL(v(gu))`);
  const division = p.kr === 0 ? '' : `*(1+${number(p.kr)}*v(gd))`;
  if (p.kr !== 0) body.node('gd', `v(gl)/(${DIVISION_FLOOR_V}+abs(v(gl))+${plate})`);
  body.node('gi', `${number(p.kgg)}*pwr(v(gl),1.5)${division}`);
  return 'gi';
}
