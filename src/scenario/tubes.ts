/** One tested tube, from a scenario or from a CSV table: its type and section found, its readings checked. */
import { checkReadings } from '../wear/check.ts';
import type { InstrumentProfile } from '../wear/profile.ts';
import type { Check } from './check.ts';
import { describeNode, quote } from './json.ts';
import type { JsonNode } from './json.ts';
import { didYouMean, orList } from './near.ts';
import { zoneList, zoneNames } from './profile.ts';
import { readingsShape } from './readings.ts';
import type { Context, TestedTube, TubeType } from './scenario.ts';
import { join, list, object } from './containers.ts';
import { identifier, text } from './shapes.ts';
import { holds } from './sense.ts';
import { ourTerm } from './terms.ts';

export const tubeShape = object(
  {
    id: identifier('name of this tube, as on its box'),
    type: text({ max: 60, title: 'type designation' }),
    readings: readingsShape,
  },
  {
    title: text({ max: 200 }),
    section: {
      schema: {
        type: ['string', 'integer'],
        title: 'section of a tube with more than one, by name or number',
      },
      read: (node) => node,
    },
    sockets: list(identifier('id of a socket'), {
      max: 500,
      title: 'sockets it is meant for; all that fit where this is absent',
    }),
  },
);

/** What a tube's readings and sockets must agree with. Undefined: not known (a table on its own), not checked. */
export interface Surroundings {
  readonly bench: InstrumentProfile | undefined;
  readonly sockets: readonly string[] | undefined;
}

export function readTube(
  node: JsonNode,
  place: string,
  check: Check,
  context: Pick<Context, 'findTube' | 'nearTubes'>,
  { bench, sockets }: Surroundings,
): TestedTube | undefined {
  const {
    id,
    title,
    type: name,
    section: sectionNode,
    readings,
    sockets: wanted,
  } = tubeShape.readParts(node, place, check);
  const spot = (...keys: string[]): JsonNode =>
    keys.map((key) => memberOf(node, key)).find((found) => found !== undefined) ?? node;
  const type =
    name === undefined
      ? undefined
      : findType(name, spot('type'), join(place, 'type'), check, context);
  const section = type && findSection(type, sectionNode, node, join(place, 'section'), check);
  for (const [index, socket] of (wanted ?? []).entries()) {
    if (sockets === undefined || sockets.includes(socket)) continue;
    const hint = didYouMean(socket, sockets);
    check.wrong(
      'unknown-name',
      spot('sockets', 'positions'),
      `${place}.sockets[${index}]`,
      `there is no socket ${quote(socket)}`,
      {
        found: quote(socket),
        expected: orList(sockets.slice(0, 20).map(quote)),
        ...(hint === undefined ? {} : { hint }),
      },
    );
  }
  if (bench !== undefined && readings !== undefined) {
    const at = join(place, 'readings');
    checkScale(readings, bench, spot('readings'), at, check);
    const electrodes = type?.sections.find(({ id }) => id === section)?.electrodes;
    if (type !== undefined && electrodes !== undefined) {
      const facts = { device: type.id, electrodes };
      holds(spot('readings'), at, check, () => checkReadings(readings, bench, facts, at));
    }
  }
  if (id === undefined || type === undefined || section === undefined || readings === undefined)
    return undefined;
  return {
    id,
    ...(title === undefined ? {} : { title }),
    type: type.id,
    section,
    readings,
    ...(wanted === undefined ? {} : { sockets: wanted }),
  };
}

function memberOf(node: JsonNode, key: string): JsonNode | undefined {
  return node.kind === 'object'
    ? node.members.find((member) => member.key === key)?.value
    : undefined;
}

/** The type a designation names, or a problem with the nearest names. */
export function findType(
  written: string,
  at: JsonNode,
  place: string,
  check: Check,
  context: Pick<Context, 'findTube' | 'nearTubes'>,
): TubeType | undefined {
  const type = context.findTube(written);
  if (type !== undefined) return type;
  const near = context.nearTubes(written);
  return check.wrong('unknown-tube', at, place, `the type ${quote(written)} is not in the list`, {
    found: quote(written),
    expected: 'a type designation from the list of tubes',
    ...(near.length === 0 ? {} : { hint: `Did you mean ${orList(near.slice(0, 3))}?` }),
  });
}

/** By id, by number from 1, or by family ("pentode") where only one section has it. Absent: the first, where all are alike. */
export function findSection(
  { id, sections }: TubeType,
  written: JsonNode | undefined,
  tube: JsonNode,
  place: string,
  check: Check,
): string | undefined {
  const expected = orList(sections.map((section) => quote(section.id)));
  if (written === undefined || written.kind === 'null') {
    const [first] = sections;
    if (first !== undefined && sections.every(({ family }) => family === first.family))
      return first.id;
    return check.wrong(
      'missing',
      tube,
      place,
      `${id} has different sections; which one was read?`,
      {
        found: 'no section',
        expected,
      },
    );
  }
  const name =
    written.kind === 'number' || written.kind === 'text' ? String(written.value).trim() : '';
  const byId = sections.find((section) => section.id.toLowerCase() === name.toLowerCase());
  const byFamily = sections.filter(({ family }) => family === ourTerm(name));
  const byNumber = /^[1-9]$/.test(name) ? sections[Number(name) - 1] : undefined;
  const found = byId ?? (byFamily.length === 1 ? byFamily[0] : undefined) ?? byNumber;
  if (found !== undefined) return found.id;
  return check.wrong('unknown-name', written, place, `${id} has no such section`, {
    found: describeNode(written),
    expected,
  });
}

/** Divisions and zones mean something on their own scale only. */
function checkScale(
  { emission = [] }: TestedTube['readings'],
  { emission: { scale, knownTubes } }: InstrumentProfile,
  at: JsonNode,
  place: string,
  check: Check,
): void {
  const zones = zoneNames({ scale, accuracy_percent: 0 });
  for (const { divisions, zone } of emission) {
    if (divisions !== undefined && scale.kind !== 'divisions') {
      check.wrong(
        'contradiction',
        at,
        join(place, 'emission'),
        'divisions without a scale in divisions',
        {
          found: `${divisions} divisions, on a bench instrument that reads in ${scale.kind}`,
          expected: 'bench.emission.scale with "kind": "divisions"',
        },
      );
    }
    const meant =
      scale.kind !== 'divisions' ||
      scale.newTube !== undefined ||
      scale.rejectMark !== undefined ||
      (knownTubes ?? []).length > 0;
    if (divisions !== undefined && !meant) {
      check.wrong(
        'missing',
        at,
        join(place, 'emission'),
        'the bench instrument does not say what a division means',
        {
          found: `${divisions} divisions`,
          expected: 'newTube or rejectMark in bench.emission.scale, or bench.emission.knownTubes',
          hint: 'Read a known good tube of this type once and enter it.',
        },
      );
    }
    if (divisions !== undefined && scale.kind === 'divisions' && divisions > scale.fullScale) {
      check.wrong('bad-value', at, join(place, 'emission'), 'beyond the end of the scale', {
        found: `${divisions} divisions`,
        expected: `0 to ${scale.fullScale}, bench.emission.scale.fullScale`,
      });
    }
    if (zone !== undefined && !zones.includes(zone)) {
      check.wrong(
        'unknown-name',
        at,
        join(place, 'emission'),
        `the bench instrument has no zone ${quote(zone)}`,
        {
          found: quote(zone),
          expected:
            zones.length === 0 ? 'bench.emission.scale with "kind": "zones"' : zoneList(zones),
        },
      );
    }
  }
}

/** Notes every id that stands a second time. */
export function checkUnique(
  items: readonly ({ readonly id: string } | undefined)[],
  nodes: readonly JsonNode[],
  place: string,
  check: Check,
): void {
  const seen = new Map<string, number>();
  for (const [index, item] of items.entries()) {
    if (item === undefined) continue;
    const earlier = seen.get(item.id);
    const node = nodes[index];
    if (earlier !== undefined && node !== undefined) {
      check.wrong(
        'contradiction',
        memberOf(node, 'id') ?? node,
        `${place}[${index}].id`,
        `the id ${quote(item.id)} is used twice`,
        {
          found: `${place}[${earlier}] has it too`,
          expected: 'each id once',
        },
      );
    } else seen.set(item.id, index);
  }
}
