/** AGC and bias lines that sockets share: `lines`, checked against the sockets and their stages. */
import type { Check } from './check.ts';
import { join, list, object } from './containers.ts';
import type { JsonNode } from './json.ts';
import { didYouMean, orList } from './near.ts';
import { quote } from './json.ts';
import type { Line, Socket, SocketValue, StageSchema } from './scenario.ts';
import { identifier, word } from './shapes.ts';

const MOST_LINES = 20;
const MOST_ON_LINE = 12;

const lineShape = object(
  {
    id: identifier('name of the line'),
    sockets: list(identifier('id of a socket'), {
      min: 2,
      max: MOST_ON_LINE,
      title: 'sockets on the line; of an AGC line in the order in which the signal passes them',
    }),
  },
  { carries: word(['AGC', 'bias'], 'what the grids get by the line; AGC where it is not said') },
);

export const linesShape = list(lineShape, {
  max: MOST_LINES,
  title: 'AGC and bias lines that sockets have in common',
});

/** What a stage says of the line that its grids hang on. */
const kindOf = (
  { carries }: Line,
  stage: StageSchema | undefined,
): { readonly values: readonly string[] } | undefined =>
  carries === 'bias' ? stage?.biasLine : stage?.agcLine;

const find = (stages: readonly StageSchema[], { stage }: Socket): StageSchema | undefined =>
  stages.find(({ id }) => id === stage);

/**
 * Notes what is wrong: a name twice, an unknown socket, one whose stage has no such line or whose bias is its own, one that is
 * on two lines; a bias line that is no supply, or one that nothing moves.
 */
export function checkLines(
  lines: readonly Line[],
  node: JsonNode,
  sockets: readonly Socket[],
  stages: readonly StageSchema[],
  check: Check,
): void {
  const ids = new Set<string>();
  const taken = new Map<string, string>();
  lines.forEach((line, i) => {
    const place = `lines[${i}]`;
    const here = node.kind === 'list' ? (node.items[i] ?? node) : node;
    if (ids.has(line.id))
      check.wrong('contradiction', here, join(place, 'id'), 'two lines of one name', {
        found: quote(line.id),
        expected: 'a name of its own for each line',
      });
    ids.add(line.id);
    line.sockets.forEach((id, k) => {
      const where = `${place}.sockets[${k}]`;
      const socket = sockets.find((one) => one.id === id);
      if (socket === undefined) {
        const hint = didYouMean(
          id,
          sockets.map((one) => one.id),
        );
        check.wrong('unknown-name', here, where, `there is no socket ${quote(id)}`, {
          found: quote(id),
          expected: orList(sockets.slice(0, 20).map((one) => quote(one.id))),
          ...(hint === undefined ? {} : { hint }),
        });
        return;
      }
      checkOnLine(line, socket, here, where, stages, check);
      const earlier = taken.get(id);
      if (earlier !== undefined)
        check.wrong('contradiction', here, where, 'one grid hangs on one line', {
          found: `${quote(id)} is on line ${quote(earlier)} already`,
          expected: 'each socket once',
        });
      taken.set(id, line.id);
    });
    if (line.carries === 'bias') checkSupply(line, here, place, sockets, stages, check);
  });
}

function checkOnLine(
  line: Line,
  socket: Socket,
  here: JsonNode,
  where: string,
  stages: readonly StageSchema[],
  check: Check,
): void {
  const what = line.carries === 'bias' ? 'bias' : 'AGC';
  const stage = find(stages, socket);
  if (kindOf(line, stage) === undefined)
    check.wrong('does-not-fit', here, where, `this socket has no ${what} line`, {
      found: `${quote(socket.id)}, stage ${socket.stage}`,
      expected: `a socket with one of the stages ${orList(stages.filter((one) => kindOf(line, one) !== undefined).map((one) => one.id))}`,
    });
  if (line.carries !== 'bias' || stage?.biasLine === undefined) return;
  const { needs, excludes } = stage.biasLine;
  const given = (key: string): boolean =>
    socket.values[key]?.given === true && socket.values[key].value !== null;
  const ownBias = needs.some(given) ? undefined : excludes.ownBias.find(given);
  if (ownBias !== undefined)
    check.wrong('does-not-fit', here, where, 'this socket has a bias of its own', {
      found: `${quote(socket.id)} with its ${ownBias}, and without ${orList(needs)}`,
      expected: `a socket with fixed bias: take its ${ownBias} out`,
    });
  const eachTube = excludes.eachTube.find(given);
  if (eachTube !== undefined)
    check.wrong('does-not-fit', here, where, 'this socket has a bias adjuster for each tube', {
      found: `${quote(socket.id)} with its ${eachTube}`,
      expected: `a socket whose tubes have one bias: without ${eachTube}`,
    });
}

/** A line without a supply, or with one that is not said to give way, has nothing in common. */
function checkSupply(
  line: Line,
  here: JsonNode,
  place: string,
  sockets: readonly Socket[],
  stages: readonly StageSchema[],
  check: Check,
): void {
  const on = sockets.filter(({ id }) => line.sockets.includes(id));
  const needs = new Set(on.flatMap((socket) => find(stages, socket)?.biasLine?.needs ?? []));
  for (const key of needs)
    if (!on.some(({ values }) => values[key]?.given === true && values[key].value !== null))
      check.wrong('missing', here, place, `none of its sockets says the ${key} of this bias line`, {
        found: on.map(({ id }) => quote(id)).join(', '),
        expected: `"${key}" in the values of one of them: it holds for the others`,
      });
}

/**
 * The sockets with the values of their lines: what one socket of a line gives holds for those that do not give it. Where two
 * give different values a warning says that each is judged with its own.
 */
export function withLineValues(
  sockets: readonly Socket[],
  lines: readonly Line[],
  node: JsonNode,
  stages: readonly StageSchema[],
  check: Check,
): readonly Socket[] {
  const filled = new Map<string, Socket>();
  lines.forEach((line, i) => {
    const on = line.sockets.map((id) => sockets.find((one) => one.id === id)!);
    const keysOf = (socket: Socket): readonly string[] =>
      kindOf(line, find(stages, socket))?.values ?? [];
    for (const key of new Set(on.flatMap(keysOf))) {
      const given = on.filter(({ values }) => values[key]?.given === true);
      const first = given[0];
      if (first === undefined) continue;
      const unlike = given.find((one) => !same(one.values[key]!, first.values[key]!));
      if (unlike !== undefined)
        check.warn(
          node,
          `lines[${i}]`,
          `The sockets ${quote(first.id)} and ${quote(unlike.id)} on line ${quote(line.id)} give different ${key}: each is judged with its own.`,
        );
      for (const socket of on) {
        if (!keysOf(socket).includes(key) || socket.values[key]!.given) continue;
        const before = filled.get(socket.id) ?? socket;
        filled.set(socket.id, {
          ...before,
          values: { ...before.values, [key]: { ...first.values[key]!, given: false } },
        });
      }
    }
  });
  return sockets.map((socket) => filled.get(socket.id) ?? socket);
}

const same = (a: SocketValue, b: SocketValue): boolean =>
  JSON.stringify([a.value, a.tolerance_percent]) === JSON.stringify([b.value, b.tolerance_percent]);
