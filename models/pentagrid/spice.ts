import type { OptionalKnob, SpiceText, TubeModel } from '../../src/types.ts';
import { wearSpice } from '../cathode.ts';
import { gridElectronsSpice } from '../grid.ts';
import { THERMAL_V } from '../smooth.ts';
import { SpiceBody, number } from '../spice-text.ts';
import type { PentagridParameters } from './equation.ts';

/** `pentagridCurrents` as a subcircuit: p s g1 g3 k, then the knobs. */
export function pentagridSpice(
  device: string,
  p: PentagridParameters,
  capacitances: TubeModel['capacitances'],
  oscillatorInput_F: number,
  zero?: ReadonlySet<OptionalKnob>,
): SpiceText {
  const body = new SpiceBody(['plate', 'screen', 'oscillatorGrid', 'signalGrid', 'cathode'], zero);
  const screen = `PP(${body.over('screen')})`;
  body.node('pp', `PP(${body.over('plate')})`);
  body.node('sp', screen);
  body.node('ge1', `${body.over('oscillatorGrid')}+v(wc)`);
  body.node('ge3', `${body.over('signalGrid')}+v(wc)`);
  // As in the pentode: no node that starts at 0 V divides.
  body.node('yr', `1/${screen}`);
  body.node('y1', `${number(p.kp)}*(v(ge1)+${number(p.vct)})*v(yr)+${number(p.kp / p.mu)}`);
  body.node('e', `${number(1 / p.kp)}*v(sp)*LL(v(y1))`);
  body.node('i0', `${number((1e3 * Math.PI) / p.kg1)}*pwr(v(e),${number(p.ex)})`);
  const [y3a, y3b] = [p.kp3 / p.mu3, p.kp3 / (p.mu3 * p.mu3Step)];
  body.node('y3', `${number(p.kp3)}*v(ge3)*v(yr)`);
  const rest = Math.log1p(Math.exp(y3a)) + p.weight3 * Math.log1p(Math.exp(y3b));
  body.node(
    'tr',
    `${number(p.pass)}*pow(${number(1 / rest)}*(LL(v(y3)+${number(y3a)})+${number(p.weight3)}*LL(v(y3)+${number(y3b)})),${number(p.m3)})`,
  );
  // Of a positive expression and a constant, never of a bare node: no pole on the solver's way.
  body.node('h', `1-${number(1 - p.pass)}/(${number(1 - p.pass)}+abs(v(tr)))`);
  const width = 1.5 * THERMAL_V;
  body.node('gu3', `(v(ge3)-${number(p.vc)})*${number(1 / width)}`);
  body.node('c3', `${number(p.kg3)}*pow(${number(width)}*LL(v(gu3)),1.5)`);
  body.node('ib', 'v(i0)/(1+abs(v(c3)))');
  body.node(
    'ax',
    `${number(2 / Math.PI)}*atan(pwr(v(pp)/(${number(p.kvb)}+${number(p.kn)}*v(e)),${number(p.m)}))`,
  );
  body.node('ip', `v(ib)*v(h)*v(ax)*(1+${number(p.lambda)}*v(pp))`);
  body.node('is0', `v(ib)*(1-v(h)+${number(p.kappa)}*v(h)*(1-v(ax)))`);
  body.node('ig3', 'v(ib)*v(c3)');
  const grid = gridElectronsSpice(body, 'v(ge1)', screen, p);
  wearSpice(
    body,
    { plate: 'ip', screen: 'is0', grid, signalGrid: 'ig3', plateVolts: 'v(pp)' },
    p.ns,
  );
  // Signal input and output capacitances are published to all other electrodes: half to cathode, half to screen.
  body.capacitor('g3p', 'g3', 'p', capacitances.gridPlate);
  body.capacitor('g3k', 'g3', 'k', capacitances.input / 2);
  body.capacitor('g3s', 'g3', 's', capacitances.input / 2);
  body.capacitor('g1k', 'g1', 'k', oscillatorInput_F / 2);
  body.capacitor('g1s', 'g1', 's', oscillatorInput_F / 2);
  body.capacitor('pk', 'p', 'k', capacitances.output / 2);
  body.capacitor('ps', 'p', 's', capacitances.output / 2);
  return body.finish(device, { ...p });
}
