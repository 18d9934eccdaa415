import { assess, type AssessOptions } from '../assess.ts';
import { caseOf, pairsOf, stageOf, type FindDevice } from '../cases.ts';
import { findDevice } from '../../models/catalogue.ts';
import { Problem } from '../problem.ts';
import type { Scenario, Socket, TestedTube } from '../scenario/scenario.ts';
import { formatQuantity } from '../units/format.ts';
import { listed } from '../units/title.ts';
import { worstMargin } from '../verdict/margins.ts';
import type { Report, Simulator } from '../types.ts';
import { bestPlacing, type Fit } from './assignment.ts';
import { bestPairs, closestPairs, type PairFound } from './pairs.ts';

/** A box of tubes over the sockets of a set: every tube in every socket it fits, and the best placing of them all. */
export interface PlacingReport {
  readonly format: 'stagefit-placing';
  readonly version: 1;
  readonly engine: string;
  readonly seed: number;
  readonly draws: number;
  readonly sockets: readonly {
    readonly id: string;
    readonly title: string;
    readonly stageTitle: string;
    /** Types it takes, the first is what the set was built for. */
    readonly takes: readonly string[];
    /** Tubes that stand in it together. */
    readonly places: number;
  }[];
  readonly tubes: readonly {
    readonly id: string;
    readonly type: string;
    readonly section: string;
  }[];
  /** Each tube in each socket that its type fits; sockets for two tubes are in `pairs`. */
  readonly cells: readonly PlacingCell[];
  readonly placing: readonly Placed[];
  /** The least margin of the placing; null where nothing is placed. */
  readonly worst: number | null;
  readonly sentence: string;
  /** Tubes that stay in the box. */
  readonly spare: readonly string[];
  readonly pairs: readonly PairsOfSocket[];
  readonly order: readonly {
    readonly socket: string;
    readonly types: readonly string[];
    readonly sentence: string;
  }[];
  readonly notes: readonly string[];
}

export interface PlacingCell {
  readonly socket: string;
  readonly tube: string;
  readonly verdict: Report['verdict'];
  /** Least margin at the unsafe end of the intervals, and whose; null where nothing was judged. */
  readonly margin: number | null;
  readonly measure: string | null;
  readonly sentence: string;
}

export interface Placed {
  readonly socket: string;
  /** One tube, or the tubes of a pair in the order of the places; empty where the socket stays empty. */
  readonly tubes: readonly string[];
  readonly verdict: Report['verdict'] | null;
  readonly margin: number | null;
  readonly sentence: string;
}

export interface PairsOfSocket {
  readonly socket: string;
  /** The closest first; the first ones were put to the socket together. */
  readonly pairs: readonly PairFound[];
}

export interface PlaceOptions extends Omit<
  AssessOptions,
  'onCentral' | 'onIntervals' | 'changes' | 'transient' | 'onProgress' | 'otherSockets'
> {
  readonly find?: FindDevice;
  onProgress?(what: string, done: number, all: number): void;
}

const eachOnce = (types: readonly string[]): string => listed([...new Set(types)], 'and');

/**
 * Places the tubes of a scenario over its sockets. A tube goes only where it is usable, or where it is marginal and nothing
 * better is left; first as many sockets as can be get a usable tube, then the worst margin is made as large as it can be, then the sum.
 *
 * @throws Problem where no tube of the scenario fits any socket; `Stopped` when stopped
 */
export async function placing(
  scenario: Scenario,
  simulator: Simulator,
  options: PlaceOptions = {},
): Promise<PlacingReport> {
  const { find = findDevice } = options;
  // what is fitted today does not count: any tube may go anywhere
  const sockets = scenario.sockets.map(({ fitted: _fitted, ...socket }): Socket => socket);
  const box: Scenario = { ...scenario, sockets };
  const pairs = pairsOf(box, {}, find);
  if (pairs.length === 0)
    throw new Problem('does-not-fit', 'no tube of this scenario goes into one of its sockets', {
      found: `tubes ${eachOnce(scenario.tubes.map(({ type }) => type))}, sockets for ${eachOnce(sockets.flatMap(({ tube }) => tube))}`,
      expected: 'a tube of a type that a socket takes, or a "sockets" list on the tube',
      hint: 'The types of a socket are its "tube" in the file, and on the page a field under its values.',
    });
  const inPairs = sockets.filter((socket) => takesSeveral(socket, find));
  const single = sockets.filter((socket) => !inPairs.includes(socket));
  const judge = async (tube: TestedTube, socket: Socket, draws?: number): Promise<Report> =>
    assess(caseOf(box, tube, socket, find), simulator, {
      ...options,
      onProgress: () => undefined,
      changes: false,
      ...(draws === undefined ? {} : { draws }),
    });

  const singles = pairs.filter(({ socket }) => single.includes(socket));
  const all = singles.length + inPairs.length;
  let done = 0;
  const reports = new Map<string, Report>();
  const cells: PlacingCell[] = [];
  for (const { tube, socket } of singles) {
    const found = await judged(() => judge(tube, socket));
    if (!(found instanceof Problem)) reports.set(key(tube.id, socket.id), found);
    cells.push(cellOf(tube, socket, found));
    options.onProgress?.(`${tube.id} in ${socket.id}`, ++done, all);
  }
  const pairsFound: PairsOfSocket[] = [];
  for (const socket of inPairs) {
    const tubes = pairs.filter((pair) => pair.socket === socket).map(({ tube }) => tube);
    pairsFound.push({
      socket: socket.id,
      pairs: await closestPairs(tubes, socket, judge, inPairs.length),
    });
    options.onProgress?.(`pairs for ${socket.id}`, ++done, all);
  }
  const chosen = bestPairs(pairsFound.map(({ pairs: found }) => found));
  const used = new Set(chosen.flatMap((pair) => pair?.tubes ?? []));
  const placedPairs = inPairs.map((socket, k): Placed => {
    const best = chosen[k];
    return best === undefined
      ? empty(socket, 'no pair of the box is usable there')
      : {
          socket: socket.id,
          tubes: best.tubes,
          verdict: best.verdict,
          margin: best.margin,
          sentence: `${socket.id}: ${best.sentence}`,
        };
  });

  const tubes = scenario.tubes.filter(({ id }) => !used.has(id));
  const fits = tubes.map((tube) =>
    single.map((socket) => fitOf(cells.find((cell) => isOf(cell, tube, socket)))),
  );
  const columns = bestPlacing(fits, single.length);
  const placed = single.map((socket, k): Placed => {
    const tube = columns[k] === undefined ? undefined : tubes[columns[k]];
    const cell = tube === undefined ? undefined : cells.find((one) => isOf(one, tube, socket));
    if (tube === undefined || cell === undefined)
      return empty(socket, whyEmpty(socket, cells, columns, tubes));
    used.add(tube.id);
    return {
      socket: socket.id,
      tubes: [tube.id],
      verdict: cell.verdict,
      margin: cell.margin,
      sentence: `${socket.id}: ${tube.id}. ${cell.sentence}`,
    };
  });
  const everywhere = sockets.map(
    (socket) => [...placed, ...placedPairs].find((one) => one.socket === socket.id) as Placed,
  );
  const margins = everywhere.flatMap(({ margin }) => (margin === null ? [] : [margin]));
  const worst = margins.length === 0 ? null : Math.min(...margins);
  const any = [...reports.values()][0];
  return {
    format: 'stagefit-placing',
    version: 1,
    engine: simulator.engine,
    seed: any?.seed ?? options.seed ?? 1,
    draws: any?.draws ?? options.draws ?? 0,
    sockets: sockets.map((socket) => {
      const stage = stageOf(socket);
      return {
        id: socket.id,
        title: socket.title ?? stage.title,
        stageTitle: stage.title,
        takes: socket.tube,
        places: inPairs.includes(socket) ? stage.tubes : 1,
      };
    }),
    tubes: scenario.tubes.map(({ id, type, section }) => ({ id, type, section })),
    cells,
    placing: everywhere,
    worst,
    sentence: summary(everywhere, worst, inPairs.length > 0),
    spare: scenario.tubes.map(({ id }) => id).filter((id) => !used.has(id)),
    pairs: pairsFound,
    order: everywhere
      .filter(({ verdict }) => verdict !== 'usable')
      .map(({ socket, verdict }) =>
        orderFor(sockets.find(({ id }) => id === socket) as Socket, verdict, inPairs, find),
      ),
    notes:
      inPairs.length > 0
        ? ['Sockets for two tubes take their pair before single tubes are placed.']
        : [],
  };
}

const key = (tube: string, socket: string): string => `${tube}\n${socket}`;
const isOf = (cell: PlacingCell, tube: TestedTube, socket: Socket): boolean =>
  cell.tube === tube.id && cell.socket === socket.id;

/** A tube that must not be put to a socket is a cell of its own; anything else that is wrong is the caller's. */
async function judged(run: () => Promise<Report>): Promise<Report | Problem> {
  try {
    return await run();
  } catch (error) {
    if (
      error instanceof Problem &&
      (error.code === 'contradiction' || error.code === 'does-not-fit')
    )
      return error;
    throw error;
  }
}

function cellOf(tube: TestedTube, socket: Socket, found: Report | Problem): PlacingCell {
  const base = { socket: socket.id, tube: tube.id };
  if (found instanceof Problem)
    return {
      ...base,
      verdict: 'unsuitable',
      margin: null,
      measure: null,
      sentence: `Not put there: ${found.message}${found.fields.found === undefined ? '' : ` (${found.fields.found})`}.`,
    };
  const worst = worstMargin(found);
  return {
    ...base,
    verdict: found.verdict,
    margin: worst?.margin ?? null,
    measure: worst?.measure.id ?? null,
    sentence: found.decidedBy.sentence,
  };
}

function fitOf(cell: PlacingCell | undefined): Fit | undefined {
  return cell === undefined || (cell.verdict !== 'usable' && cell.verdict !== 'marginal')
    ? undefined
    : { sure: cell.verdict === 'usable', margin: cell.margin ?? 0 };
}

/** More tubes than one stand in it, and not as the sections of one bottle. */
function takesSeveral(socket: Socket, find: FindDevice): boolean {
  const { tubes } = stageOf(socket);
  const device = find(socket.tube[0] ?? '')?.device;
  const sections = device?.units.reduce((sum, { sections: of }) => sum + of.length, 0) ?? 1;
  return tubes > 1 && sections < tubes;
}

const empty = (socket: Socket, why: string): Placed => ({
  socket: socket.id,
  tubes: [],
  verdict: null,
  margin: null,
  sentence: `${socket.id} stays empty: ${why}.`,
});

function whyEmpty(
  socket: Socket,
  cells: readonly PlacingCell[],
  columns: readonly (number | undefined)[],
  tubes: readonly TestedTube[],
): string {
  const here = cells.filter((cell) => cell.socket === socket.id);
  if (here.length === 0) return 'no tube of the box is of a type it takes';
  const good = here.filter(({ verdict }) => verdict === 'usable' || verdict === 'marginal');
  const placedTubes = new Set(
    columns.flatMap((row) => (row === undefined ? [] : [tubes[row]?.id])),
  );
  if (good.some(({ tube }) => placedTubes.has(tube)))
    return 'what would do there does more in another socket';
  const names = (status: PlacingCell['verdict']): string[] =>
    here.filter(({ verdict }) => verdict === status).map(({ tube }) => tube);
  const are = (tubes: readonly string[], what: string): string[] =>
    tubes.length === 0
      ? []
      : [`${listed(tubes, 'and')} ${tubes.length === 1 ? 'is' : 'are'} ${what}`];
  const open = here.find(({ verdict }) => verdict === 'undetermined');
  const why = open === undefined ? '' : ` (${open.tube}: ${open.sentence.replace(/\.$/, '')})`;
  const told = [
    ...are(names('undetermined'), `undetermined${why}`),
    ...are(names('failed'), 'not computed'),
  ];
  return told.length > 0 ? told.join('; ') : 'no tube of the box is usable there';
}

function summary(placed: readonly Placed[], worst: number | null, pairs: boolean): string {
  const usable = placed.filter(({ verdict }) => verdict === 'usable').length;
  const marginal = placed.filter(({ verdict }) => verdict === 'marginal').length;
  const counted =
    placed.length === 1
      ? `The socket gets ${usable === 1 ? 'a usable tube' : marginal === 1 ? 'a marginal tube, to be tried' : 'no usable tube'}.`
      : `${usable} of ${placed.length} sockets get a usable tube${marginal === 0 ? '' : `, ${marginal} a marginal one, to be tried`}.`;
  return [
    counted,
    ...(worst === null
      ? []
      : [
          `The worst margin is ${formatQuantity(100 * worst, '%', { digits: 2 })}; no other placing${pairs ? ' with these pairs' : ''} has a better one.`,
        ]),
  ].join(' ');
}

function orderFor(
  socket: Socket,
  verdict: Report['verdict'] | null,
  inPairs: readonly Socket[],
  find: FindDevice,
): PlacingReport['order'][number] {
  const types = [
    ...new Set(
      socket.tube.flatMap((type) => {
        const device = find(type)?.device;
        return device === undefined ? [type] : [type, device.id, ...device.designations];
      }),
    ),
  ];
  const [first, ...others] = types;
  const what = inPairs.includes(socket) ? `a pair of ${first ?? ''}` : `a ${first ?? ''}`;
  return {
    socket: socket.id,
    types,
    sentence: `For ${socket.id}${verdict === 'marginal' ? ', whose tube is only marginal,' : ''} order ${what}${others.length === 0 ? '' : ` (also ${others.join(', ')})`}; the acceptance card of ${socket.id} tells what it must read.`,
  };
}
