import type { Leak, LineCurve, LineNeighbour, PinVolts, Traces } from '../types.ts';
import { lineTube, ontoLine_A, settledLine, type Line, type LineTube } from './agc-line.ts';

interface Neighbours {
  readonly ahead: readonly LineTube[];
  readonly behind: readonly LineTube[];
}

/** A line curve from its points. */
export function curveThrough(
  points: readonly Readonly<Record<keyof LineCurve, number>>[],
): LineCurve {
  const along = (key: keyof LineCurve): number[] => points.map((point) => point[key]);
  return {
    line_V: along('line_V'),
    reverse_A: along('reverse_A'),
    electrons_A: along('electrons_A'),
    gain: along('gain'),
    load: along('load'),
  };
}

/** Current into a grid's circuit by ohmic paths, A. */
export const ohmic_A = (
  leaks: readonly Leak[],
  grid: 'grid' | 'signalGrid',
  pins: PinVolts,
): number =>
  leaks.reduce((sum, { between: [a, b], siemens }) => {
    const other = a === grid ? b : a;
    return sum + siemens * ((pins[other] ?? 0) - (pins[grid] ?? 0));
  }, 0);

const known = new WeakMap<Traces, Neighbours>();

/** The other tubes on a stated line, in this subject's draw; worked out once. */
export function neighboursOf(t: Traces): Neighbours {
  const found = known.get(t) ?? neighboursIn(t);
  known.set(t, found);
  return found;
}

function neighboursIn(t: Traces): Neighbours {
  const tubes = (all: readonly LineNeighbour[] = []): LineTube[] =>
    all.map((one) =>
      lineTube(one.curve(t.states[one.tube]!, t.leaks[one.tube]!, t.newTube === undefined)),
    );
  return { ahead: tubes(t.line?.ahead), behind: tubes(t.line?.behind) };
}

/** Source voltage that puts the line of this tube alone where it stands. */
export const sourceFor = (line: Line, own: LineTube, line_V: number): number =>
  line_V + line.resistance_ohm * (line_V / line.leakage_ohm - ontoLine_A(own, line_V));

/**
 * The source voltage at which this tube's line stands where a held AGC voltage puts it with the stated tubes on the line;
 * the AGC voltage itself where the line has no place.
 */
export function sourceWithNeighbours(
  t: Traces,
  line: Omit<Line, 'tubes' | 'clamp_V'>,
  own: LineTube,
  agc_V: number,
): number {
  const { ahead, behind } = neighboursOf(t);
  const stated: Line = { ...line, clamp_V: null, tubes: [...ahead, own, ...behind] };
  const line_V = settledLine(stated, () => agc_V);
  return line_V === undefined ? agc_V : sourceFor(stated, own, line_V);
}
