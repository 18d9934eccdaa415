import type { Case } from '../assess.ts';
import type { Picture } from '../report/picture.ts';
import { fundamentalVolts } from '../stage/signals.ts';
import { numbersOf } from '../stage/values.ts';
import type { Circuit, Report, Simulator, StopSignal, Traces } from '../types.ts';
import { formatQuantity } from '../units/format.ts';
import { runPair } from './picture-runs.ts';

const PHASES = 24;
/** How far beyond the output that a new tube gives at 5 % distortion, so that clipping is seen. */
const BEYOND = 1.4;
const OUTPUT = 'o';

/** Transfer curve and output waveform at a drive that clips, new and worn: from phase samples, half a cycle mirrored. */
export async function signalPictures(
  given: Case,
  circuit: Circuit,
  report: Report,
  simulator: Simulator,
  signal: StopSignal,
): Promise<readonly Picture[]> {
  if (!circuit.watch.includes(OUTPUT)) return [];
  const newTube = (id: string): number | null =>
    report.measures.find((one) => one.id === id)?.newTube ?? null;
  const [gain, output] = [newTube('gain'), newTube('outputAt5PercentDistortion')];
  if (gain === null || gain <= 0) return [];
  const drive =
    (BEYOND * (output ?? 0.15 * Math.max(...Object.values(report.nodeVolts.newTube)))) / gain;
  const step = {
    id: 'wave',
    view: () => ({ as: 'phases' as const, count: PHASES }),
    settings: () => [{ drive }],
  };
  const found = await runPair(given, circuit, step, simulator, signal);
  if (found === undefined) return [];
  const samples = (traces: Traces): Float64Array => traces.volts(step.id, 0, OUTPUT);
  const [mine, theirs] = [samples(found.central.thisTube), samples(found.central.newTube)];
  const phase = (k: number): number => ((k + 0.5) * Math.PI) / PHASES;
  const transfer = (of: Float64Array): (readonly [number, number])[] =>
    [...of].map((v, k) => [drive * Math.cos(phase(k)), v] as const).reverse();
  const wave = (of: Float64Array): (readonly [number, number])[] => {
    const half = [...of].map((v, k) => [(180 * phase(k)) / Math.PI, v] as const);
    return [...half, ...[...half].reverse().map(([x, v]) => [360 - x, v] as const)];
  };
  const range = (of: Float64Array): string =>
    `${formatQuantity(Math.min(...of), 'V')} to ${formatQuantity(Math.max(...of), 'V')}`;
  const said = `This tube: ${range(mine)}; a new one: ${range(theirs)}.`;
  const at = `${formatQuantity(drive, 'V', { digits: 2 })} peak at the source`;
  const all = [...mine, ...theirs];
  const pad = 0.08 * (Math.max(...all) - Math.min(...all));
  const y = {
    title: 'output, V',
    scale: 'linear' as const,
    low: Math.min(...all) - pad,
    high: Math.max(...all) + pad,
  };
  const lines = (
    of: (samples: Float64Array) => (readonly [number, number])[],
  ): Picture['lines'] => [
    { title: 'new tube', role: 'new', points: of(theirs), label: 'new' },
    { title: 'this tube', role: 'this', points: of(mine), label: 'this' },
  ];
  return [
    {
      id: 'transfer',
      caption: `Transfer curve with ${at}: where it bends, it distorts.`,
      alt: `Output against input over half a cycle. ${said}`,
      x: { title: 'source, V', scale: 'linear', low: -drive, high: drive },
      y,
      lines: lines(transfer),
      marks: [],
    },
    {
      id: 'waveform',
      caption: `One cycle at the output with ${at}: flat tops are clipping.`,
      alt: `Output over one cycle. ${said}`,
      x: { title: 'phase, degrees', scale: 'linear', low: 0, high: 360 },
      y,
      lines: lines(wave),
      marks: [],
    },
  ];
}

const AGC_POINTS = 13;
const SMALL_V = 0.005;

/** Gain against AGC voltage, new and worn: what control is left. */
export async function agcPicture(
  given: Case,
  circuit: Circuit,
  simulator: Simulator,
  signal: StopSignal,
): Promise<Picture | undefined> {
  const { values } = given.socket;
  if (!('agcVoltages' in values) || circuit.knobs['agcVoltage'] === undefined) return undefined;
  const listed = numbersOf(values, 'agcVoltages');
  const lowest = Math.min(-1, ...listed) * 1.2;
  const volts = Array.from({ length: AGC_POINTS }, (_, i) => lowest * (1 - i / (AGC_POINTS - 1)));
  const step = {
    id: 'agc',
    view: () => ({ as: 'phases' as const, count: 2 }),
    settings: () => volts.map((agcVoltage) => ({ drive: SMALL_V, knobs: { agcVoltage } })),
  };
  const found = await runPair(given, circuit, step, simulator, signal);
  if (found === undefined) return undefined;
  const gains = (traces: Traces): (readonly [number, number])[] =>
    volts.map((v, i) => [v, fundamentalVolts(traces, step.id, i, 'p') / SMALL_V] as const);
  const [mine, theirs] = [gains(found.central.thisTube), gains(found.central.newTube)];
  const ends = (of: readonly (readonly [number, number])[]): string =>
    `${formatQuantity(of.at(-1)![1], '×')} at 0 V to ${formatQuantity(of[0]![1], '×', { digits: 2 })} at ${formatQuantity(lowest, 'V', { digits: 2 })}`;
  return {
    id: 'agc-gain',
    caption: 'Gain against the AGC voltage: how far the set can turn this tube down.',
    alt: `Gain against AGC voltage. This tube from ${ends(mine)}; a new one from ${ends(theirs)}.`,
    x: { title: 'AGC voltage, V', scale: 'linear', low: lowest, high: 0 },
    y: { title: 'gain, ×', scale: 'log' },
    lines: [
      { title: 'new tube', role: 'new', points: theirs, label: 'new' },
      { title: 'this tube', role: 'this', points: mine, label: 'this' },
    ],
    marks: [],
    ...(listed[1] === undefined ? {} : { at: { x: listed[1], label: 'medium signal' } }),
  };
}
