import { nextAboveE12, nextAboveE24, nextBelowE12, nextBelowE24 } from '../units/e-series.ts';
import type { ChangeableValue, Circuit, Stage, StageValues, Unit } from '../types.ts';

/** One value of a socket changed one way: what is tried, the nearest to the present value first. */
export interface Candidate {
  readonly key: string;
  readonly title: string;
  readonly unit: Unit;
  readonly present: number;
  readonly tries: readonly number[];
}

/** Two decades of E12, a factor 3 of E24, 40 % of a bias. */
const STEPS: Readonly<Record<ChangeableValue['steps'], number>> = { E12: 24, E24: 12, volts: 8 };
const NEXT = {
  E12: { up: nextAboveE12, down: nextBelowE12 },
  E24: { up: nextAboveE24, down: nextBelowE24 },
} as const;
/** Step of an adjustable bias, of its present value. */
const BIAS_STEP = 0.05;

/** What a person could change in this socket: parts that the circuit has, within the range that the stage takes. */
export function candidatesOf(stage: Stage, values: StageValues, circuit: Circuit): Candidate[] {
  const first = stage.gridCircuit[0];
  const changeable: readonly ChangeableValue[] =
    stage.changeable ??
    (first === undefined ? [] : [{ key: first, steps: 'E12', way: 'down' as const }]);
  const edited = new Set(circuit.parts.flatMap((part) => ('edits' in part ? [part.edits] : [])));
  return changeable.flatMap(({ key, steps, way }): Candidate[] => {
    const present = values[key]?.value;
    const spec = stage.values[key];
    if (typeof present !== 'number' || present === 0 || spec === undefined || !edited.has(key))
      return [];
    return (way === undefined ? (['down', 'up'] as const) : [way]).flatMap((one): Candidate[] => {
      const tries = ladder(present, steps, one).filter(
        (value) => value >= spec.low && value <= spec.high && value !== 0,
      );
      return tries.length === 0
        ? []
        : [{ key, title: spec.title, unit: spec.unit, present, tries }];
    });
  });
}

/** `up`: further from 0. */
function ladder(present: number, steps: ChangeableValue['steps'], way: 'up' | 'down'): number[] {
  const tries: number[] = [];
  for (let i = 1; i <= STEPS[steps]; i++)
    if (steps === 'volts') {
      const volts = present * (1 + (way === 'up' ? BIAS_STEP : -BIAS_STEP) * i);
      tries.push(Number(volts.toPrecision(3)));
    } else tries.push(NEXT[steps][way](tries.at(-1) ?? present));
  return tries;
}

/** How far a value lies from the present one, as a ratio's logarithm. */
export const distanceOf = ({ present }: Candidate, value: number): number =>
  Math.abs(Math.log(value / present));
