/** Which tubes stand in the places of a socket: `fitted`, checked against the tubes of the scenario. */
import type { Check } from './check.ts';
import { join, list, object } from './containers.ts';
import { describeNode, quote } from './json.ts';
import type { JsonNode } from './json.ts';
import { didYouMean, orList } from './near.ts';
import type { Context, FittedTube, Socket, TestedTube } from './scenario.ts';
import { identifier, type Shape } from './shapes.ts';
import { findSection } from './tubes.ts';

const MOST_PLACES = 8;

/** As it is written: the section is found when the tube's type is known. */
interface Written {
  readonly tube: string;
  readonly section?: JsonNode;
}

const name = identifier('id of a tube');
const withSection: Shape<Written> = object(
  { tube: name },
  {
    section: {
      schema: { type: ['string', 'integer'], title: 'section of a tube with more than one' },
      read: (node: JsonNode) => node,
    },
  },
);

const place: Shape<Written> = {
  schema: { anyOf: [name.schema, withSection.schema] },
  read(node, where, check) {
    if (node.kind !== 'text') return withSection.read(node, where, check);
    const tube = name.read(node, where, check);
    return tube === undefined ? undefined : { tube };
  },
};

/** In the order of the places; read in `readFitted`, when the tubes are known. */
export const fittedShape: Shape<JsonNode> = {
  schema: list(place, { max: MOST_PLACES, min: 1, title: 'tubes in its places, in order' }).schema,
  read: (node) => node,
};

const places = list(place, { max: MOST_PLACES, min: 1 });

/**
 * The tubes of a socket's places, or undefined after a problem was noted: an unknown tube, more tubes than places, the same
 * section twice.
 */
export function readFitted(
  node: JsonNode,
  socket: Pick<Socket, 'id'> & { readonly tubes: number },
  tubes: readonly TestedTube[],
  where: string,
  check: Check,
  context: Pick<Context, 'findTube'>,
): readonly FittedTube[] | undefined {
  const written = places.read(node, where, check);
  if (written === undefined) return undefined;
  if (written.length > socket.tubes) {
    return check.wrong('contradiction', node, where, 'more tubes than places', {
      found: `${written.length} tubes`,
      expected: socket.tubes === 1 ? 'one tube' : `at most ${socket.tubes} tubes`,
    });
  }
  const nodes = node.kind === 'list' ? node.items : [];
  const read = written.map((one, i) =>
    readPlace(one, nodes[i] ?? node, tubes, `${where}[${i}]`, check, context),
  );
  if (!read.every((one) => one !== undefined)) return undefined;
  const seen = new Map<string, number>();
  for (const [i, { tube, section }] of read.entries()) {
    const key = JSON.stringify([tube, section]);
    const earlier = seen.get(key);
    if (earlier !== undefined) {
      return check.wrong(
        'contradiction',
        nodes[i] ?? node,
        `${where}[${i}]`,
        'the same section twice',
        { found: `${where}[${earlier}] has it too`, expected: 'each section of a tube once' },
      );
    }
    seen.set(key, i);
  }
  return read;
}

function readPlace(
  { tube: id, section }: Written,
  node: JsonNode,
  tubes: readonly TestedTube[],
  where: string,
  check: Check,
  context: Pick<Context, 'findTube'>,
): FittedTube | undefined {
  const tube = tubes.find((one) => one.id === id);
  if (tube === undefined) {
    const ids = tubes.map((one) => one.id);
    const hint = didYouMean(id, ids);
    return check.wrong('unknown-name', node, where, `there is no tube ${quote(id)}`, {
      found: describeNode(node),
      expected: ids.length === 0 ? 'the id of a tube' : orList(ids.slice(0, 20).map(quote)),
      ...(hint === undefined ? {} : { hint }),
    });
  }
  if (section === undefined) return { tube: id, section: tube.section };
  const type = context.findTube(tube.type);
  if (type === undefined) throw new Error(`type ${tube.type} passed the reader and is not known`);
  const found = findSection(type, section, node, join(where, 'section'), check);
  return found === undefined ? undefined : { tube: id, section: found };
}
