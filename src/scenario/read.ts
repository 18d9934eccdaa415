/** A scenario file -> Scenario. Size, JSON, format and version come first; then everything else, all errors at once. */
import { checkProfile } from '../wear/check.ts';
import { Check } from './check.ts';
import { describeNode, parseJson, plainOf, quote } from './json.ts';
import type { JsonNode } from './json.ts';
import { didYouMean, orList } from './near.ts';
import { fittedShape, readFitted } from './fitted.ts';
import { checkInSetNames, inSetShape } from './in-set.ts';
import { checkLines, linesShape, withLineValues } from './lines.ts';
import { OWN_CIRCUIT, ownShapes, readOwn } from './own-circuit.ts';
import { profileShape } from './profile.ts';
import { FORMAT, MOST_SOCKETS, MOST_TUBES, VERSION } from './scenario.ts';
import type { Context, Scenario, Socket, StageSchema, TestedTube } from './scenario.ts';
import { join, later, object, oneOrMany } from './containers.ts';
import { identifier, text, word } from './shapes.ts';
import { holds, nodeAt } from './sense.ts';
import type { Shape } from './shapes.ts';
import { checkUnique, findType, readTube } from './tubes.ts';
import { readLimits, readValues } from './values.ts';

const items = (max: number, min: number): Shape<readonly JsonNode[]> => ({
  schema: { type: 'array', minItems: min, maxItems: max },
  read(node, place, check) {
    const expected = `a list [ … ] of ${min} to ${max}`;
    if (node.kind === 'list' && node.items.length >= min && node.items.length <= max)
      return node.items;
    const short = node.kind === 'list' && node.items.length < min;
    return check.wrong(short ? 'missing' : 'bad-value', node, place, 'not such a list', {
      found: describeNode(node),
      expected,
    });
  },
});

const required = {
  format: later,
  version: later,
  title: text({ max: 200, title: 'what this is about' }),
  sockets: items(MOST_SOCKETS, 1),
};
const optional = {
  description: text({ max: 10_000, manyLines: true }),
  bench: later,
  tubes: items(MOST_TUBES, 0),
  inSet: inSetShape,
  lines: linesShape,
};
/** The document's outermost keys; sockets and tubes are read in turn, when what they hang on is known. */
export const documentShape = object(required, optional);

export const socketShape = object(
  {
    id: identifier('name of this socket'),
    stage: later,
    tube: oneOrMany(text({ max: 60 }), { max: 50, title: 'type or types that the socket takes' }),
  },
  {
    title: text({ max: 200 }),
    values: later,
    limits: later,
    fitted: fittedShape,
    ...ownShapes,
  },
);

/**
 * @param content the whole file
 * @throws FileProblem (a Problem) with every error found: file, line, place, found, expected. Nothing else is thrown.
 */
export function readScenario(content: string, context: Context): Scenario {
  const root = parseJson(content, context.file);
  const check = new Check(content, context.file);
  checkFormat(root, check);
  check.throwIfFailed();

  // Where an outermost key is wrong, the others are still worth reading: all errors at once.
  const document = documentShape.readParts(root, '', check);
  const { title, description } = document;
  const socketNodes = document.sockets ?? [];
  const tubeNodes = document.tubes ?? [];
  const bench = readBench(document.bench, root, check, context);
  const sockets = socketNodes.map((node, index) =>
    readSocket(node, `sockets[${index}]`, check, context),
  );
  checkUnique(sockets, socketNodes, 'sockets', check);
  // Ids of sockets that could not be read are not known: then no tube's socket is called unknown.
  const allRead = document.sockets !== undefined && sockets.every((socket) => socket !== undefined);
  const socketIds = allRead ? sockets.map((socket) => whole(socket).id) : undefined;
  const tubes = tubeNodes.map((node, index) =>
    readTube(node, `tubes[${index}]`, check, context, { bench, sockets: socketIds }),
  );
  checkUnique(tubes, tubeNodes, 'tubes', check);
  const fitted = sockets.map((socket, index) =>
    fittedIn(
      socketNodes[index],
      socket,
      document.tubes === undefined ? [] : tubes,
      `sockets[${index}].fitted`,
      check,
      context,
    ),
  );
  const tubesRead = document.tubes === undefined || tubes.every((tube) => tube !== undefined);
  checkInSetNames(
    document.inSet,
    root.kind === 'object' ? root.members.find(({ key }) => key === 'inSet')?.value : undefined,
    { tubes: tubesRead ? tubes.map((tube) => whole(tube).id) : undefined, sockets: socketIds },
    check,
  );
  const lines = document.lines ?? [];
  const linesNode =
    (root.kind === 'object' && root.members.find(({ key }) => key === 'lines')?.value) || root;
  if (allRead) checkLines(lines, linesNode, sockets.map(whole), context.stages, check);
  check.throwIfFailed();

  return {
    format: FORMAT,
    version: VERSION,
    title: whole(title),
    ...(description === undefined ? {} : { description }),
    bench: whole(bench),
    sockets: withLineValues(
      sockets.map((socket, i) => ({
        ...whole(socket),
        ...(fitted[i] === undefined ? {} : { fitted: fitted[i] }),
      })),
      lines,
      linesNode,
      context.stages,
      check,
    ),
    tubes: tubes.map(whole),
    inSet: document.inSet ?? [],
    lines,
    warnings: check.warnings,
    original: plainOf(root),
  };
}

/** What was not read has noted a problem, and that has been thrown by now. */
function whole<T>(value: T | undefined): T {
  if (value === undefined)
    throw new Error('a part of the scenario was not read and nothing was said about it');
  return value;
}

function checkFormat(root: JsonNode, check: Check): void {
  const expected = `an object with "format": "${FORMAT}" and "version": ${VERSION}`;
  if (root.kind !== 'object') {
    check.wrong('wrong-format', root, '', 'not a scenario', {
      found: describeNode(root),
      expected,
    });
    return;
  }
  const member = (key: string): JsonNode | undefined =>
    root.members.find((entry) => entry.key === key)?.value;
  const format = member('format');
  if (format?.kind !== 'text' || format.value !== FORMAT) {
    check.wrong('wrong-format', format ?? root, 'format', 'not a scenario', {
      found: format === undefined ? 'no "format"' : describeNode(format),
      expected: `"${FORMAT}"`,
    });
    return;
  }
  const version = member('version');
  if (version?.kind === 'number' && version.value === VERSION) return;
  const number =
    version?.kind === 'number' && Number.isInteger(version.value) ? version.value : undefined;
  const newer = number !== undefined && number > VERSION;
  check.wrong(
    'wrong-version',
    version ?? root,
    'version',
    number === undefined
      ? 'the version is missing or no whole number'
      : `this is version ${number}, this program reads ${VERSION}`,
    {
      found: version === undefined ? 'no "version"' : describeNode(version),
      expected: String(VERSION),
      ...(newer ? { hint: 'The file was made by a newer program: update this one.' } : {}),
    },
  );
}

function readBench(
  node: JsonNode | undefined,
  root: JsonNode,
  check: Check,
  context: Context,
): Scenario['bench'] | undefined {
  const { bench } = context;
  if (node !== undefined) {
    const read = profileShape.read(node, 'bench', check);
    if (read === undefined || !holds(node, 'bench', check, () => checkProfile(read)))
      return undefined;
    warnOfStrangers(read, node, check, context);
    return read;
  }
  if (bench !== undefined) {
    check.warn(
      root,
      'bench',
      `No bench instrument in the file: ${quote(bench.name)} is taken. Readings mean little without the instrument they were read on.`,
    );
    return bench;
  }
  return check.wrong('missing', root, 'bench', '"bench" is missing', {
    found: 'no bench instrument',
    expected: 'the profile of the instrument that the readings were taken on',
  });
}

/** A type that the profile names and nobody knows would be left out unsaid. */
function warnOfStrangers(
  { emission: { testCurrents_A, knownTubes } }: Scenario['bench'],
  node: JsonNode,
  check: Check,
  context: Context,
): void {
  const named = [
    ...Object.keys(testCurrents_A ?? {}).map((name) => ['testCurrents_A', name] as const),
    ...(knownTubes ?? []).map(({ type }) => ['knownTubes', type] as const),
  ];
  for (const [key, name] of named) {
    if (context.findTube(name) !== undefined) continue;
    const place = `bench.emission.${key}`;
    const near = context.nearTubes(name);
    check.warn(
      nodeAt(node, `emission.${key}`),
      place,
      `The type ${quote(name)} is not in the list: ${key === 'knownTubes' ? 'it counts as one of another type' : 'its test current is not used'}.${near.length === 0 ? '' : ` Did you mean ${orList(near.slice(0, 3))}?`}`,
    );
  }
}

function readSocket(
  node: JsonNode,
  place: string,
  check: Check,
  context: Context,
): Socket | undefined {
  const {
    id,
    title,
    stage: stageNode,
    tube,
    values,
    limits,
    ...own
  } = socketShape.readParts(node, place, check);
  const named = stageNode && readStage(stageNode, join(place, 'stage'), check, context.stages);
  const types = tube?.map((name) =>
    findType(name, tubeNode(node), join(place, 'tube'), check, context),
  );
  if (named === undefined) return undefined;
  const { ownStage } = context;
  const isOwn = named.id === OWN_CIRCUIT && ownStage !== undefined;
  const made = isOwn ? readOwn(own, node, place, check, ownStage) : undefined;
  if (isOwn && made === undefined) return undefined;
  if (!isOwn) warnOfOwnKeys(own, place, named, check);
  const stage = made?.stage ?? named;
  const read = {
    stage: stage.id,
    values: readValues(values, stage, join(place, 'values'), check),
    limits: readLimits(limits, stage, join(place, 'limits'), check),
  };
  if (id === undefined || types === undefined || !types.every((type) => type !== undefined))
    return undefined;
  return {
    id,
    ...(title === undefined ? {} : { title }),
    ...read,
    tube: types.map((type) => type.id),
    ...(made === undefined ? {} : { own: made.definition }),
  };
}

function warnOfOwnKeys(
  own: Readonly<Partial<Record<keyof typeof ownShapes, JsonNode>>>,
  place: string,
  stage: StageSchema,
  check: Check,
): void {
  for (const [key, value] of Object.entries(own))
    if (Object.hasOwn(ownShapes, key))
      check.warn(
        value,
        join(place, key),
        `The key ${quote(key)} belongs to own circuits and not to ${stage.id}: kept in the file, not used.`,
      );
}

/** Tubes of a socket's places. Where a tube could not be read its id is not known: then none is called unknown. */
function fittedIn(
  node: JsonNode | undefined,
  socket: Socket | undefined,
  tubes: readonly (TestedTube | undefined)[],
  place: string,
  check: Check,
  context: Context,
): Socket['fitted'] {
  const found =
    node?.kind === 'object' ? node.members.find(({ key }) => key === 'fitted') : undefined;
  const made = socket?.own === undefined ? undefined : context.ownStage?.(socket.own);
  const stage =
    made !== undefined && 'stage' in made
      ? made.stage
      : context.stages.find(({ id }) => id === socket?.stage);
  if (found === undefined || stage === undefined) return undefined;
  if (!tubes.every((tube) => tube !== undefined)) return undefined;
  return readFitted(found.value, stage, tubes, place, check, context);
}

function tubeNode(socket: JsonNode): JsonNode {
  const members = socket.kind === 'object' ? socket.members : [];
  return members.find(({ key }) => key === 'tube' || key === 'valve')?.value ?? socket;
}

function readStage(
  node: JsonNode,
  place: string,
  check: Check,
  stages: readonly StageSchema[],
): StageSchema | undefined {
  const ids = stages.map(({ id }) => id);
  if (node.kind === 'text') {
    const id = word(ids).read(node, place, new Check('', ''));
    if (id !== undefined) return stages.find((stage) => stage.id === id);
  }
  const hint = node.kind === 'text' ? didYouMean(node.value, ids) : undefined;
  return check.wrong('unknown-stage', node, place, `there is no stage ${describeNode(node)}`, {
    found: describeNode(node),
    expected: orList(ids),
    ...(hint === undefined ? {} : { hint }),
  });
}
