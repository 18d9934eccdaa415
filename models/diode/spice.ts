import type { OptionalKnob, SpiceText, TubeModel } from '../../src/types.ts';
import { wearSpice } from '../cathode.ts';
import { THERMAL_V } from '../smooth.ts';
import { SpiceBody, number } from '../spice-text.ts';
import type { DiodeParameters } from './equation.ts';

/** `diodeCurrents` as a subcircuit: p k, then the knobs; gas and grid emission do nothing. */
export function diodeSpice(
  device: string,
  p: DiodeParameters,
  capacitances: TubeModel['capacitances'],
  zero?: ReadonlySet<OptionalKnob>,
): SpiceText {
  const width = 1.5 * THERMAL_V;
  const body = new SpiceBody(['plate', 'cathode'], zero);
  body.node('y', `(${body.over('plate')}+v(wc)+${number(p.vct)})*${number(1 / width)}`);
  body.node('ip', `${number(p.perveance)}*pow(${number(width)}*LL(v(y)),1.5)`);
  wearSpice(body, { plate: 'ip', screen: undefined, grid: undefined }, p.ns);
  body.capacitor('pk', 'p', 'k', capacitances.output);
  return body.finish(device, { ...p });
}
