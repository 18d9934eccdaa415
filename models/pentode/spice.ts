import type { OptionalKnob, SpiceText, TubeModel } from '../../src/types.ts';
import { wearSpice } from '../cathode.ts';
import { gridElectronsSpice } from '../grid.ts';
import { SpiceBody, number } from '../spice-text.ts';
import { RATIO_FLOOR_V, type PentodeParameters } from './equation.ts';
import { controlSections } from './sections.ts';

/** `pentodeCurrents` as a subcircuit: p s g k, then the knobs. */
export function pentodeSpice(
  device: string,
  p: PentodeParameters,
  capacitances: TubeModel['capacitances'],
  zero?: ReadonlySet<OptionalKnob>,
): SpiceText {
  const body = new SpiceBody(['plate', 'screen', 'grid', 'cathode'], zero);
  const [plate, screen] = [`PP(${body.over('plate')})`, `PP(${body.over('screen')})`];
  body.node('sp', screen);
  body.node('ge1', `${body.over('grid')}+v(wc)`);
  // Koren's form divides by the screen voltage itself. Written as a node of its own, no node that starts at 0 V divides.
  body.node('yr', p.kvs === 0 ? `1/${screen}` : `1/sqrt(${number(p.kvs)}+v(sp)*v(sp))`);
  body.node('y', `(v(ge1)+${number(p.vct)})*v(yr)`);
  const sections = controlSections(p);
  sections.forEach(({ mu, kp }, j) => {
    body.node(`y${j}`, `${number(kp)}*v(y)+${number(kp / mu)}`);
    body.node(`e${j}`, `${number(1 / kp)}*v(sp)*LL(v(y${j}))`);
  });
  const sum = (term: (name: string) => string) =>
    sections.map(({ weight }, j) => `${number(weight)}*${term(`v(e${j})`)}`).join('+');
  body.node('i0', `${number(2e3 / p.kg1)}*(${sum((e) => `pwr(${e},${number(p.ex)})`)})`);
  body.node(
    'es',
    sum((e) => e),
  );
  body.node(
    'ax',
    `atan(pwr(${plate}/(${number(p.kvb)}+${number(p.ks)}*v(sp)+${number(p.kn)}*v(es)),${number(p.m)}))`,
  );
  const above = `(0.5+0.5*${plate}/(${RATIO_FLOOR_V}+${screen}))`;
  // A node of its own: inside the product the engine did not find the start of a leaky tube.
  if (p.rise !== 0) body.node('up', `pow(${above},${number(p.rise)})`);
  body.node('ip', `v(i0)*v(ax)${p.rise === 0 ? '' : '*v(up)'}`);
  if (p.division !== 0) body.node('sh', `pow(${above},${number(-p.division)})`);
  const share = number(p.kg1 / (2 * p.kg2)) + (p.division === 0 ? '' : '*v(sh)');
  // The difference first: what is left of it far above the knee is small.
  body.node('is0', `v(i0)*(${share}+${number(p.kappa)}*(${Math.PI / 2}-v(ax)))`);
  const grid = gridElectronsSpice(body, 'v(ge1)', plate, p);
  wearSpice(body, { plate: 'ip', screen: 'is0', grid, plateVolts: plate }, p.ns);
  // The published input and output capacitances are to cathode and screen (and g3) together: half to each.
  body.capacitor('gk', 'g', 'k', capacitances.input / 2);
  body.capacitor('gs', 'g', 's', capacitances.input / 2);
  body.capacitor('gp', 'g', 'p', capacitances.gridPlate);
  body.capacitor('pk', 'p', 'k', capacitances.output / 2);
  body.capacitor('ps', 'p', 's', capacitances.output / 2);
  return body.finish(device, { ...p });
}
