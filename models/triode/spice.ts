import type { SpiceText, TubeModel } from '../../src/types.ts';
import { ionisationSpice, wearSpice } from '../cathode.ts';
import { gridElectronsSpice } from '../grid.ts';
import { SpiceBody, number } from '../spice-text.ts';
import type { TriodeParameters } from './equation.ts';

/** `triodeCurrents` as a subcircuit: p g k, then the knobs. Node voltages are volts, or mA where they stand for currents. */
export function triodeSpice(
  device: string,
  p: TriodeParameters,
  capacitances: TubeModel['capacitances'],
): SpiceText {
  const body = new SpiceBody(['plate', 'grid', 'cathode']);
  body.node('pp', 'PP(v(p,k)-v(kd))');
  body.node('ge1', 'v(g,k)-v(kd)+v(wc)');
  body.node(
    'y',
    `${number(p.kp / p.mu)}+${number(p.kp)}*(v(ge1)+${number(p.vct)})/sqrt(${number(p.kvb)}+v(pp)*v(pp))`,
  );
  body.node('e', `${number(1 / p.kp)}*v(pp)*LL(v(y))`);
  // The solver may pass a negative v(e) on its way; the sizes keep the quotient free of poles.
  const tail = p.tail === 0 ? '' : `*abs(v(e))/(abs(v(e))+${number(p.tail)})`;
  body.node('i0', `${number(2e3 / p.kg1)}*pow(v(e),${number(p.ex)})${tail}`);
  const grid = gridElectronsSpice(body, 'v(ge1)', 'PP(v(p,k)-v(kd))', p);
  ionisationSpice(body, 'pp');
  wearSpice(body, { plate: 'i0', screen: undefined, grid }, p.ns);
  body.capacitor('gk', 'g', 'k', capacitances.input);
  body.capacitor('gp', 'g', 'p', capacitances.gridPlate);
  body.capacitor('pk', 'p', 'k', capacitances.output);
  return body.finish(device, { ...p });
}
