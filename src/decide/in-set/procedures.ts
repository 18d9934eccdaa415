import type { Stage, TubeCondition } from '../../types.ts';
import type { Procedure } from './diagnose.ts';
import type { SetState } from './explanations.ts';
import { OPEN_ohm, type MeterPoint, type SetCircuit } from './set-circuit.ts';

/** What a person can do in the set to tell explanations apart; common practice, no source. */

const STRAP_ohm = 10e3;
/** What is left of a leak's conductance when the tube is cold: it is hot that they leak (common practice, no source). */
const COLD_LEAK = 0.5;
const LIFTED_ohm = 1e9;
/** Supplies that are off; not quite 0, which is no operating point to start from. */
const OFF = 1e-3;

/** Nothing is done: the set at rest. */
export const AS_IT_STANDS = 'as-it-stands';

export function proceduresFor(set: SetCircuit, stage: Stage, goodTube: TubeCondition): Procedure[] {
  const at = (...titles: string[]): MeterPoint[] =>
    set.points.filter(({ electrode }) => electrode !== undefined && titles.includes(electrode));
  const grids = at('grid', 'signalGrid');
  const withKnob =
    (knob: string, ohms: number) =>
    (state: SetState): SetState => ({
      ...state,
      knobs: { ...state.knobs, [knob]: ohms },
    });
  const dead = (state: SetState, leaks: TubeCondition['leaks']): SetState => ({
    ...state,
    condition: { ...state.condition, area: 1e-6, gasRatio: 0, gridEmission_A: 0, leaks },
  });
  const pulled = (state: SetState): SetState => dead(state, []);
  const lead = set.leaks.find((place) => place.lead !== undefined)?.lead;
  const [gridKey] = stage.gridCircuit;
  const couplingKnob = Object.keys(set.circuit.knobs).find((name) =>
    /^couplingLeakage$/.test(name),
  );
  const electrodes = set.points.filter(({ electrode }) => electrode !== undefined);
  return [
    { id: AS_IT_STANDS, title: '', points: set.points, trouble: 0, apply: (state) => state },
    {
      id: 'pulled',
      title: 'with the tube pulled (only where heaters are in parallel)',
      points: electrodes.filter(({ tube }) => tube === 0),
      trouble: 0.3,
      apply: pulled,
    },
    ...(lead === undefined
      ? []
      : [
          {
            id: 'grid-lead-off',
            title:
              'with the tube pulled and the winding’s lead taken off the grid pin of the socket',
            points: grids.filter(({ tube }) => tube === 0),
            trouble: 0.6,
            apply: (state: SetState) => withKnob(lead, OPEN_ohm)(pulled(state)),
          },
        ]),
    ...(gridKey !== undefined && set.circuit.knobs[gridKey] !== undefined
      ? [
          {
            id: 'strapped',
            title: `with ${STRAP_ohm / 1e3} kΩ strapped across the grid resistance`,
            points: at('cathode', 'plate', 'screen'),
            trouble: 0.5,
            apply: withKnob(gridKey, STRAP_ohm),
          },
        ]
      : []),
    ...(couplingKnob === undefined
      ? []
      : [
          {
            id: 'lifted',
            title: 'with the coupling capacitor lifted',
            points: grids,
            trouble: 1,
            apply: withKnob(couplingKnob, OPEN_ohm),
          },
        ]),
    ...(set.circuit.knobs['cathodeResistor'] === undefined
      ? []
      : [
          {
            id: 'cathode-lifted',
            title: 'with the cathode resistor lifted, so that no plate current flows',
            points: grids,
            trouble: 1,
            apply: withKnob('cathodeResistor', LIFTED_ohm),
          },
        ]),
    {
      id: 'unpowered',
      title: 'with plate and screen supplies off and the heater on',
      points: grids,
      trouble: 0.5,
      apply: (state) => ({ ...state, supply: OFF }),
    },
    {
      id: 'cold',
      title: 'with the heater disconnected and cold',
      points: grids,
      trouble: 0.6,
      apply: (state) =>
        dead(
          state,
          state.condition.leaks.map((leak) => ({ ...leak, siemens: leak.siemens * COLD_LEAK })),
        ),
    },
    {
      id: 'swapped',
      title: 'with a tube known to be good in its place',
      points: electrodes,
      trouble: 0.3,
      apply: (state) => ({ ...state, condition: goodTube }),
    },
  ];
}
