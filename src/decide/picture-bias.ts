import type { Case } from '../assess.ts';
import { gridCircuitOf } from '../central.ts';
import { quantile } from '../numerics/quantiles.ts';
import type { Picture } from '../report/picture.ts';
import { meanVolts } from '../stage/signals.ts';
import { numberOf, numbersOf } from '../stage/values.ts';
import type { Circuit, Report, Simulator, StopSignal, Traces, TubePart } from '../types.ts';
import { formatQuantity } from '../units/format.ts';
import { runPair, type PairTraces } from './picture-runs.ts';

const POINTS = 13;
const BAND_DRAWS = 24;
const LOW_ohm = 1e4;
const HIGH_ohm = 2e7;

/**
 * How far the grid moves from where a new tube puts it, against the resistance of the grid circuit; this socket's value is
 * marked. The first value of the stage's grid circuit is varied, the others stay.
 */
export async function biasPicture(
  given: Case,
  circuit: Circuit,
  report: Report,
  simulator: Simulator,
  signal: StopSignal,
): Promise<Picture | undefined> {
  const { stage, values } = given.socket;
  const [key] = stage.gridCircuit;
  const tube = circuit.parts.find((one): one is TubePart => one.kind === 'tube' && one.tube === 0);
  const node = tube?.nodes.grid ?? tube?.nodes.signalGrid;
  if (key === undefined || node === undefined || node === '0' || circuit.knobs[key] === undefined)
    return undefined;
  const here = numberOf(values, key);
  const rest = gridCircuitOf(given.socket) - here;
  const [low, high] = [Math.max(LOW_ohm, here / 30), Math.min(HIGH_ohm, here * 6)];
  const resistances = Array.from(
    { length: POINTS },
    (_, i) => low * (high / low) ** (i / (POINTS - 1)),
  );
  const [agc] = 'agcVoltages' in values ? [numbersOf(values, 'agcVoltages')] : [undefined];
  const held = agc === undefined ? {} : { agcVoltage: agc[Math.min(1, agc.length - 1)]! };
  const step = {
    id: 'bias',
    view: () => ({ as: 'quiescent' as const }),
    settings: () =>
      [...resistances, here].map((ohms) => ({ drive: 0, knobs: { ...held, [key]: ohms } })),
  };
  const found = await runPair(given, circuit, step, simulator, signal, BAND_DRAWS, report.seed);
  if (found === undefined) return undefined;
  // a grid that is returned to a point which moves with the tubes is seen from there; a bias supply that gives way is a part of the shift
  const supply = circuit.parts.flatMap((one) =>
    one.kind === 'resistor' && stage.biasLine?.values.includes(one.edits ?? '') === true
      ? [one.nodes[0]]
      : [],
  );
  const back = circuit.parts
    .flatMap((one) => (one.kind === 'resistor' && one.nodes[0] === node ? [one.nodes[1]] : []))
    .find((other) => other !== '0' && !supply.includes(other) && circuit.watch.includes(other));
  const standsAt = (traces: Traces, i: number): number =>
    meanVolts(traces, step.id, i, node) -
    (back === undefined ? 0 : meanVolts(traces, step.id, i, back));
  const shift = (pair: PairTraces, i: number): number =>
    Math.abs(standsAt(pair.thisTube, i) - standsAt(pair.newTube, i));
  const limit = report.measures.find(({ id }) => id === 'biasShift')?.limit ?? null;
  const at = shift(found.central, POINTS);
  const points = resistances.map((ohms, i) => [ohms + rest, shift(found.central, i)] as const);
  const bounds = limit === null ? at : Math.max(at, limit.bound);
  const band = resistances.map((_, i) => {
    const all = found.draws.map((pair) => shift(pair, i));
    return all.length === 0
      ? ([points[i]![1], points[i]![1]] as const)
      : ([quantile(all, 0.05), quantile(all, 0.95)] as const);
  });
  return {
    id: 'bias-shift',
    caption: 'Bias shift against the resistance of the grid circuit, with the 90 % band.',
    alt: `Grid bias shift against grid-circuit resistance, logarithmic. This socket: ${formatQuantity(here + rest, 'ohm')}, shift ${formatQuantity(at, 'V')}${limit === null ? '' : `; the limit is ${formatQuantity(limit.bound, 'V')}`}.`,
    x: { title: 'grid circuit, Ω', scale: 'log', low: low + rest, high: high + rest },
    y: { title: 'grid bias shift, V', scale: 'linear', low: 0, high: 2.5 * bounds },
    lines: [{ title: 'this tube', role: 'this', points, band }],
    marks: [
      {
        title: 'this socket',
        role: 'this',
        x: here + rest,
        y: at,
        label: `${formatQuantity(here + rest, 'ohm', { digits: 2 })}: ${formatQuantity(at, 'V', { digits: 2 })}`,
      },
    ],
    ...(limit === null
      ? {}
      : {
          limit: {
            y: limit.bound,
            label: `limit ${formatQuantity(limit.bound, 'V', { digits: 2 })}`,
            refused: 'above' as const,
          },
        }),
  };
}
