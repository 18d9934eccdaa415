/** AGC lines that sockets share: `lines`, checked against the sockets and their stages. */
import type { Check } from './check.ts';
import { join, list, object } from './containers.ts';
import type { JsonNode } from './json.ts';
import { didYouMean, orList } from './near.ts';
import { quote } from './json.ts';
import type { Line, Socket, SocketValue, StageSchema } from './scenario.ts';
import { identifier } from './shapes.ts';

const MOST_LINES = 20;
const MOST_ON_LINE = 12;

const lineShape = object(
  {
    id: identifier('name of the line'),
    sockets: list(identifier('id of a socket'), {
      min: 2,
      max: MOST_ON_LINE,
      title: 'sockets on the line, in the order in which the signal passes them',
    }),
  },
  {},
);

export const linesShape = list(lineShape, {
  max: MOST_LINES,
  title: 'AGC lines that sockets have in common',
});

/** Notes what is wrong: a name twice, an unknown socket, one whose stage has no AGC line, one that is on two lines. */
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
      const stage = stages.find((one) => one.id === socket.stage);
      if (stage?.agcLine === undefined)
        check.wrong('does-not-fit', here, where, 'this socket has no AGC line', {
          found: `${quote(id)}, stage ${socket.stage}`,
          expected: `a socket with one of the stages ${orList(stages.filter(({ agcLine }) => agcLine !== undefined).map((one) => one.id))}`,
        });
      const earlier = taken.get(id);
      if (earlier !== undefined)
        check.wrong('contradiction', here, where, 'one grid hangs on one line', {
          found: `${quote(id)} is on line ${quote(earlier)} already`,
          expected: 'each socket once',
        });
      taken.set(id, line.id);
    });
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
      stages.find(({ id }) => id === socket.stage)?.agcLine?.values ?? [];
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
