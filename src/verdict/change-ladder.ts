import { nextAboveE12, nextAboveE24, nextBelowE12, nextBelowE24 } from '../units/e-series.ts';
import { plainTitle } from '../units/title.ts';
import type {
  ChangeableValue,
  ChosenValue,
  Circuit,
  Stage,
  StageValues,
  Unit,
  ValueSpec,
} from '../types.ts';

/** One value of a socket changed one way: what is tried, the nearest to the present value first. */
export interface Candidate {
  readonly key: string;
  readonly title: string;
  readonly unit: Unit;
  readonly present: number | string;
  /** The word for a value of 0, where it has one: "none". */
  readonly zero?: string;
  readonly tries: readonly (number | string)[];
  /** Set on what is tried for some measures only. */
  readonly chosen?: ChosenValue;
}

/** Two decades of E12, a factor 3 of E24, 40 % of a bias. */
const STEPS: Readonly<Record<ChangeableValue['steps'], number>> = { E12: 24, E24: 12, volts: 8 };
const NEXT = {
  E12: { up: nextAboveE12, down: nextBelowE12 },
  E24: { up: nextAboveE24, down: nextBelowE24 },
} as const;
/** Step of an adjustable bias, of its present value. */
const BIAS_STEP = 0.05;

/**
 * What a person could change in this socket for the sake of measures that fail: parts that the circuit has, within the range
 * that the stage takes, and what the stage says itself.
 */
export function candidatesOf(
  stage: Stage,
  values: StageValues,
  circuit: Circuit,
  failing: readonly string[],
): Candidate[] {
  const first = stage.gridCircuit[0];
  const changeable =
    stage.changeable ??
    (first === undefined ? [] : [{ key: first, steps: 'E12' as const, way: 'down' as const }]);
  const edited = new Set(circuit.parts.flatMap((part) => ('edits' in part ? [part.edits] : [])));
  return changeable.flatMap((one): Candidate[] => {
    const { key } = one;
    const present = values[key]?.value;
    const spec = stage.values[key];
    if (spec === undefined) return [];
    if ('cures' in one)
      return one.cures.some((measure) => failing.includes(measure))
        ? chosenOf(one, spec, values, circuit)
        : [];
    if (typeof present !== 'number' || present === 0 || !edited.has(key)) return [];
    const { steps, way } = one;
    return (way === undefined ? (['down', 'up'] as const) : [way]).flatMap((one): Candidate[] => {
      const tries = ladder(present, steps, one).filter(
        (value) => value >= spec.low && value <= spec.high && value !== 0,
      );
      return tries.length === 0 ? [] : [{ key, ...wordsOf(spec), unit: spec.unit, present, tries }];
    });
  });
}

function chosenOf(
  chosen: ChosenValue,
  spec: ValueSpec,
  values: StageValues,
  circuit: Circuit,
): Candidate[] {
  const present = values[chosen.key]?.value;
  if (typeof present !== 'number' && typeof present !== 'string') return [];
  const tries = chosen
    .tries(values, circuit)
    .filter((value) =>
      typeof value === 'string'
        ? spec.choices?.includes(value)
        : value >= spec.low && value <= spec.high,
    );
  return tries.length === 0
    ? []
    : [{ key: chosen.key, ...wordsOf(spec), unit: spec.unit, present, tries, chosen }];
}

/** "cathode bypass (0: none)" within a sentence. */
function wordsOf({ title }: ValueSpec): Pick<Candidate, 'title' | 'zero'> {
  const zero = /\b0: ([^)]+)\)$/.exec(title)?.[1];
  return { title: plainTitle(title), ...(zero === undefined ? {} : { zero }) };
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

/** How far a value lies from the present one, as a ratio's logarithm; a part that is added counts as much as doubling a value. */
export const distanceOf = ({ present, chosen }: Candidate, value: number | string): number =>
  chosen !== undefined
    ? chosen.parts * Math.LN2
    : Math.abs(Math.log(Number(value) / Number(present)));
