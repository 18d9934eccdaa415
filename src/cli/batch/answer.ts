import { assess, DEFAULT_DRAWS, type AssessOptions, type Case } from '../../assess.ts';
import { caseOf, pairsOf, readerContext, type FindDevice } from '../../cases.ts';
import { Problem } from '../../problem.ts';
import { Check, FileProblem } from '../../scenario/check.ts';
import { describeNode, parseJson, type JsonMember, type JsonNode } from '../../scenario/json.ts';
import type { Scenario, TestedTube } from '../../scenario/scenario.ts';
import { readTube } from '../../scenario/tubes.ts';
import type { Judged, Report, Simulator } from '../../types.ts';
import type { InputLine } from './stream.ts';

/**
 * One line of readings -> one line of verdicts. Pure apart from the simulator, and without any memory: what a line is
 * answered depends on the scenario, the options and the line alone.
 */

export interface BatchOptions {
  readonly draws?: number;
  readonly seed?: number;
  /** Only this socket. */
  readonly socket?: string;
}

/** How a line went, for the exit code: the worst of its verdicts, or that it could not be read. */
export type Outcome = 'usable' | 'notUsable' | 'failed' | 'broken';

export interface Answered {
  readonly json: string;
  readonly outcome: Outcome;
}

const PLACE = 'standard input';

/** Never rejects: whatever is wrong with a line is its answer. */
export async function answerLine(
  line: InputLine,
  scenario: Scenario,
  find: FindDevice,
  simulator: Simulator,
  options: BatchOptions,
): Promise<Answered> {
  try {
    if ('tooLong' in line)
      throw new Problem('too-large', 'the line is too long', {
        found: `${line.tooLong} characters`,
        expected: 'the readings of one tube',
      });
    const { tube, socket, warnings } = readLine(line.text, scenario, find);
    const inScenario: Scenario = {
      ...scenario,
      tubes: [...scenario.tubes.filter(({ id }) => id !== tube.id), tube],
    };
    const named = options.socket ?? socket;
    const pairs = pairsOf(
      inScenario,
      { tube: tube.id, ...(named === undefined ? {} : { socket: named }) },
      find,
    );
    if (pairs.length === 0)
      throw new Problem('does-not-fit', 'this tube goes into no socket of the scenario', {
        found: `${tube.id}, ${tube.type}`,
        expected: 'a type that a socket takes, or "socket" on the line',
      });
    const settings: AssessOptions = {
      changes: false,
      explain: false,
      circuitFault: true,
      ...(options.draws === undefined ? {} : { draws: options.draws }),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    };
    const reports: Report[] = [];
    for (const pair of pairs)
      reports.push(
        await verdictOf(caseOf(inScenario, tube, pair.socket, find), simulator, settings),
      );
    return {
      json: JSON.stringify({
        tube: tube.id,
        type: tube.type,
        section: tube.section,
        assessments: reports.map(assessment),
        ...(warnings.length === 0 ? {} : { warnings }),
      }),
      outcome: worst(reports),
    };
  } catch (error) {
    return { json: JSON.stringify({ error: told(error) }), outcome: 'broken' };
  }
}

/** Draws that settle the clear cases. */
const FEW_DRAWS = 16;

/** Most tubes lie far from every limit: few draws tell, and only the others are given all of them. */
async function verdictOf(
  given: Case,
  simulator: Simulator,
  settings: AssessOptions,
): Promise<Report> {
  if ((settings.draws ?? DEFAULT_DRAWS) > FEW_DRAWS) {
    const few = await assess(given, simulator, {
      ...settings,
      draws: FEW_DRAWS,
      moreSeeds: false,
    });
    if (isSettled(few)) return few;
  }
  return assess(given, simulator, settings);
}

/**
 * Whether more draws would change no word of it: every limit lies outside the interval by more than the interval's width
 * (ends from 16 draws wobble by less than half of it), or a measure is that far beyond its limit, which outranks the others.
 */
function isSettled({ verdict, measures, circuitFault }: Report): boolean {
  // what this tube would do in the sound circuit may still lie near a limit
  if (circuitFault !== null) return false;
  const judged = measures.filter(({ status }) => status !== 'unjudged');
  return (
    verdict === 'failed' ||
    judged.some((measure) => measure.status === 'unsuitable' && isClear(measure)) ||
    judged.every((measure) => measure.status === 'undetermined' || isClear(measure))
  );
}

function isClear({ limit, low, high }: Judged): boolean {
  if (limit === null || low === null || high === null) return false;
  const [inside, beyond] =
    limit.sense === 'atLeast'
      ? [low - limit.bound, limit.bound - high]
      : [limit.bound - high, low - limit.bound];
  return Math.max(inside, beyond) > high - low;
}

function readLine(
  text: string,
  scenario: Scenario,
  find: FindDevice,
): { tube: TestedTube; socket: string | undefined; warnings: readonly string[] } {
  const root = parseJson(text, PLACE);
  if (root.kind !== 'object')
    throw new Problem('wrong-format', 'the line is no tube', {
      found: describeNode(root),
      expected: 'an object with "tube", "type" and "readings"',
    });
  const check = new Check(text, PLACE);
  const named = root.members.find(({ key }) => key === 'socket');
  const node: JsonNode = {
    ...root,
    members: root.members
      .filter((member) => member !== named)
      .map((member): JsonMember => (member.key === 'tube' ? { ...member, key: 'id' } : member)),
  };
  const tube = readTube(node, '', check, readerContext(PLACE, find), {
    bench: scenario.bench,
    sockets: scenario.sockets.map(({ id }) => id),
  });
  if (named !== undefined && named.value.kind !== 'text')
    check.wrong('bad-value', named.value, 'socket', 'a value of the wrong kind', {
      found: describeNode(named.value),
      expected: 'the id of a socket',
    });
  check.throwIfFailed();
  if (tube === undefined) throw new Error('a line was not read and nothing was said about it');
  return {
    tube,
    socket: named?.value.kind === 'text' ? named.value.value : undefined,
    warnings: check.warnings.map((warning) => warning.text),
  };
}

/** Figures as a report tells them: four digits. */
const short = (value: number | null): number | null =>
  value === null ? null : Number(value.toPrecision(4));

function assessment(report: Report): object {
  return {
    socket: report.socket.id,
    verdict: report.verdict,
    decidedBy: report.decidedBy,
    ...(report.circuitFault === null ? {} : { circuitFault: report.circuitFault }),
    measures: report.measures.map((measure) => ({
      id: measure.id,
      value: short(measure.value),
      low: short(measure.low),
      high: short(measure.high),
      newTube: short(measure.newTube),
      unit: measure.unit,
      ...(measure.limit === null ? {} : { limit: short(measure.limit.bound) }),
      margin: short(measure.margin),
      status: measure.status,
    })),
    draws: report.draws,
  };
}

function worst(reports: readonly Report[]): Outcome {
  if (reports.some(({ verdict }) => verdict === 'failed')) return 'failed';
  return reports.every(({ verdict }) => verdict === 'usable') ? 'usable' : 'notUsable';
}

/** What was wrong with a line. No line number: where a file was split, it would tell of the part. */
function told(error: unknown): object {
  if (!(error instanceof Problem))
    return {
      code: 'internal',
      message: error instanceof Error ? error.message : String(error),
    };
  const all = error instanceof FileProblem ? error.problems : [error];
  const [first, ...others] = all.map(({ code, message, fields }) => ({
    code,
    message,
    ...(fields.place === undefined ? {} : { place: fields.place }),
    ...(fields.found === undefined ? {} : { found: fields.found }),
    ...(fields.expected === undefined ? {} : { expected: fields.expected }),
    ...(fields.hint === undefined || all.length > 1 ? {} : { hint: fields.hint }),
  }));
  return { ...first, ...(others.length === 0 ? {} : { others }) };
}
