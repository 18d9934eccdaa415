import type { OptionalKnob, SpiceText, TubeModel } from '../../src/types.ts';
import { wearSpice } from '../cathode.ts';
import { gridElectronsSpice } from '../grid.ts';
import { SpiceBody, number } from '../spice-text.ts';
import type { TriodeParameters } from './equation.ts';

/** `triodeCurrents` as a subcircuit: p g k, then the knobs. Node voltages are volts, or mA where they stand for currents. */
export function triodeSpice(
  device: string,
  p: TriodeParameters,
  capacitances: TubeModel['capacitances'],
  zero?: ReadonlySet<OptionalKnob>,
): SpiceText {
  const body = new SpiceBody(['plate', 'grid', 'cathode'], zero);
  const plate = `PP(${body.over('plate')})`;
  body.node('pp', plate);
  body.node('ge1', `${body.over('grid')}+v(wc)`);
  body.node(
    'y',
    `${number(p.kp / p.mu)}+${number(p.kp)}*(v(ge1)+${number(p.vct)})/sqrt(${number(p.kvb)}+v(pp)*v(pp))`,
  );
  body.node('e', `${number(1 / p.kp)}*v(pp)*LL(v(y))`);
  const tail = p.tail === 0 ? '' : `*abs(v(e))/(abs(v(e))+${number(p.tail)})`;
  body.node('i0', `${number(2e3 / p.kg1)}*pwr(v(e),${number(p.ex)})${tail}`);
  const grid = gridElectronsSpice(body, 'v(ge1)', plate, p);
  wearSpice(body, { plate: 'i0', screen: undefined, grid, plateVolts: 'v(pp)' }, p.ns);
  body.capacitor('gk', 'g', 'k', capacitances.input);
  body.capacitor('gp', 'g', 'p', capacitances.gridPlate);
  body.capacitor('pk', 'p', 'k', capacitances.output);
  return body.finish(device, { ...p });
}
