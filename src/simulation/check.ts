import type { SimRequest, SimResult } from '../types.ts';
import { sortMessages, type Failure } from './messages.ts';
import type { RawPlot } from './raw.ts';
import type { EngineAnswer } from './spice.ts';

const PLOT_NAMES: Readonly<Record<SimRequest['analysis'], string>> = {
  op: 'operating point',
  dc: 'dc transfer characteristic',
  ac: 'ac analysis',
  tran: 'transient analysis',
};

/** How near to its end a sweep must come, relative. */
const END_TOLERANCE = 1e-6;
/** Which failure names the cause when the engine tells several. */
const PRECEDENCE: readonly Failure[] = ['parse', 'noConvergence', 'crash', 'incomplete'];

/** First line of a request's netlist. */
export const titleOf = (runId: string): string => `* stagefit ${runId}`;

/** The netlist with a serial number behind its title: no two runs of one process share a title. */
export function withSerial(request: SimRequest, serial: number): string {
  return request.netlist.replace(/^.*/, `${titleOf(request.runId)} ~${serial}`);
}

/** Why a request cannot be run at all, or undefined. */
export function faultOf(request: SimRequest): string | undefined {
  const first = /^.*/.exec(request.netlist)![0].trimEnd();
  if (first !== titleOf(request.runId))
    return `the netlist must begin with "${titleOf(request.runId)}", not "${first.slice(0, 80)}"`;
  if (/[\r\n]/.test(request.runId)) return 'a run id is one line';
  return undefined;
}

/**
 * Turns what the engine said and wrote into a result. The engine is distrusted: it is an answer only if it carries this
 * run's title and serial, is the analysis that was asked for, has every needed vector, every number finite, every
 * point, and reached the end of its sweep, and if the engine said nothing fatal.
 *
 * Vectors of an `ac` run are interleaved: real, imaginary, real, …
 */
export function checkAnswer(request: SimRequest, serial: number, answer: EngineAnswer): SimResult {
  const { notes, warnings, fatal } = sortMessages(answer.lines);
  const refuse = (why: Failure, text: string): SimResult => ({
    ok: false,
    runId: request.runId,
    why,
    text,
  });
  // the engine lower-cases the title
  const title = `${titleOf(request.runId)} ~${serial}`.toLowerCase().trim();
  const plot = answer.plots.find(
    (candidate) =>
      candidate.title.toLowerCase() === title &&
      candidate.plotName.toLowerCase() === PLOT_NAMES[request.analysis],
  );
  const worst = PRECEDENCE.find((why) => fatal.some((line) => line.why === why));
  if (worst !== undefined) {
    const found =
      worst === 'noConvergence' && plot !== undefined ? beginningOf(request, plot) : undefined;
    return {
      ...refuse(worst, fatal.map(({ text }) => text).join('; ')),
      ...(found === undefined ? {} : { found }),
    };
  }
  if (plot === undefined) {
    const came = answer.plots.map(({ title: other, plotName }) => `"${plotName}" of "${other}"`);
    return refuse(
      'incomplete',
      `no ${PLOT_NAMES[request.analysis]} of "${title}" came back, but ${came.join(', ') || 'nothing'}`,
    );
  }
  const doubt = doubtOf(request, plot);
  if (doubt !== undefined) return refuse('incomplete', doubt);
  return { ok: true, runId: request.runId, vectors: plot.vectors, notes, warnings };
}

/** A sweep writes a point only once its iteration has ended, and stops at the first that has no end. */
function beginningOf(
  request: SimRequest,
  plot: RawPlot,
): { points: number; vectors: RawPlot['vectors'] } | undefined {
  const { points, vectors } = plot;
  const isBeginning =
    request.analysis === 'dc' && request.end !== undefined && points > 0 && points < request.points;
  if (!isBeginning || valuesDoubt(request, plot) !== undefined) return undefined;
  const scale = vectors[plot.scale];
  const first = scale?.[0] ?? 0;
  const expected = first + ((request.end! - first) * (points - 1)) / (request.points - 1);
  return endOf(plot, expected) === undefined ? { points, vectors } : undefined;
}

function doubtOf(request: SimRequest, plot: RawPlot): string | undefined {
  const exact = request.analysis !== 'tran';
  if (plot.points === 0 || (exact ? plot.points !== request.points : plot.points < request.points))
    return `${plot.points} points instead of ${exact ? '' : 'at least '}${request.points}`;
  return (
    valuesDoubt(request, plot) ?? (request.end === undefined ? undefined : endOf(plot, request.end))
  );
}

function valuesDoubt(request: SimRequest, plot: RawPlot): string | undefined {
  const missing = request.need.filter((name) => plot.vectors[name] === undefined);
  if (missing.length > 0)
    return `no ${missing.join(', ')} in the answer, which has ${Object.keys(plot.vectors).join(', ')}`;
  if (plot.complex !== (request.analysis === 'ac')) return 'real and complex values are confused';
  for (const [name, values] of Object.entries(plot.vectors)) {
    const bad = values.findIndex((value) => !Number.isFinite(value));
    if (bad >= 0) return `${name} is ${values[bad]} at point ${bad} of ${plot.points}`;
  }
  return undefined;
}

function endOf(plot: RawPlot, end: number): string | undefined {
  const scale = plot.vectors[plot.scale];
  if (scale === undefined) return 'the answer has no sweep';
  const width = plot.complex ? 2 : 1;
  const first = scale[0]!;
  const last = scale[scale.length - width]!;
  const size = Math.max(Math.abs(first), Math.abs(end));
  if (Math.abs(last - end) <= END_TOLERANCE * size) return undefined;
  return `${plot.scale} ended at ${last}, not at ${end}`;
}
