/** The keys of a socket with an own circuit: its netlist, what is watched and measured, tolerances. */
import type { OwnDefinition, OwnIssue } from '../own-circuit/definition.ts';
import type { Unit } from '../types.ts';
import type { Check } from './check.ts';
import { join, list, object, record } from './containers.ts';
import type { JsonNode } from './json.ts';
import type { Context, StageSchema } from './scenario.ts';
import { quantity, text, type Shape, word } from './shapes.ts';

export const OWN_CIRCUIT = 'own-circuit';

const MOST_LINES = 1000;
const line = text({ max: 400 });
const lines = list(line, { max: MOST_LINES, min: 1, title: 'lines of the netlist' });
const whole = text({ max: 20_000, manyLines: true });

/** A list with an item a line, or a text of many lines. */
const circuitShape: Shape<readonly string[]> = {
  schema: { anyOf: [lines.schema, whole.schema], title: 'netlist in the open SPICE syntax' },
  read(node, place, check) {
    if (node.kind === 'list') return lines.read(node, place, check);
    return whole.read(node, place, check)?.split(/\r\n|\r|\n/);
  },
};

const UNITS = ['V', 'A', 'ohm', 'S', 'W', 'F', 'H', 'Hz', 's', 'K', '%', 'dB', '×', ''] as const;
const unit: Shape<Unit> = word(UNITS, 'unit of the formula’s number');

const measure = object(
  { formula: text({ max: 500, title: 'formula over v(node), i(element), sweeps and signals' }) },
  { unit, title: text({ max: 40 }) },
);

const measures = record(measure, { max: 100, title: 'measures by name' });
const tolerances = record(quantity('%', { low: 0, high: 50 }), {
  max: 200,
  title: 'tolerance by element, plus or minus percent',
});
const names = (title: string): Shape<readonly string[]> =>
  list(text({ max: 40 }), { max: 60, title });
const watch = names(
  'nodes whose voltages at rest are told; those of the tubes where this is absent',
);
const steady = names('supplies that do not move with the line voltage');

const unread = (shape: Shape<unknown>): Shape<JsonNode> => ({
  schema: shape.schema,
  read: (node) => node,
});

/** In `socketShape`; read in `readOwn`, when the stage is known to be an own circuit. */
export const ownShapes = {
  circuit: unread(circuitShape),
  watch: unread(watch),
  measures: unread(measures),
  tolerances: unread(tolerances),
  steady: unread(steady),
};

type OwnNodes = { readonly [K in keyof typeof ownShapes]?: JsonNode };

/** The definition of an own circuit and the stage that it makes, or undefined after problems were noted. */
export function readOwn(
  nodes: OwnNodes,
  socket: JsonNode,
  place: string,
  check: Check,
  ownStage: NonNullable<Context['ownStage']>,
): { readonly definition: OwnDefinition; readonly stage: StageSchema } | undefined {
  for (const key of ['circuit', 'measures'] as const)
    if (nodes[key] === undefined)
      check.wrong(
        'missing',
        socket,
        join(place, key),
        `an own circuit needs ${JSON.stringify(key)}`,
        {
          found: `no ${JSON.stringify(key)}`,
          expected: key === 'circuit' ? 'its netlist, a list of lines' : 'its measures by name',
        },
      );
  const read = <T>(key: keyof OwnNodes, shape: Shape<T>, otherwise: T): T | undefined => {
    const node = nodes[key];
    return node === undefined ? otherwise : shape.read(node, join(place, key), check);
  };
  const parts = {
    lines: read('circuit', circuitShape, []),
    watch: read('watch', watch, []),
    measures: read('measures', measures, {}),
    tolerances: read('tolerances', tolerances, {}),
    steady: read('steady', steady, []),
  };
  if (nodes.circuit === undefined || nodes.measures === undefined) return undefined;
  if (Object.values(parts).includes(undefined)) return undefined;
  const whole = parts as { [K in keyof typeof parts]: NonNullable<(typeof parts)[K]> };
  const definition: OwnDefinition = {
    ...whole,
    measures: Object.fromEntries(
      Object.entries(whole.measures).map(([id, one]) => [id, { ...one, unit: one.unit ?? '' }]),
    ),
  };
  const made = ownStage(definition);
  if ('stage' in made) return { definition, stage: made.stage };
  for (const issue of made.issues) tell(issue, nodes, socket, place, check);
  return undefined;
}

/** At the line of the file that the circuit's line stands on, where the circuit is a list. */
function tell(
  issue: OwnIssue,
  nodes: OwnNodes,
  socket: JsonNode,
  place: string,
  check: Check,
): void {
  const [key] = issue.place.split(/[.[]/) as [keyof OwnNodes];
  const node = nodes[key] ?? socket;
  const item =
    issue.line !== undefined && node.kind === 'list' ? node.items[issue.line - 1] : undefined;
  const { found, expected, hint } = issue;
  check.wrong(
    issue.code,
    item ?? inner(node, issue.place),
    `${join(place, key)}${issue.place.slice(key.length)}${issue.line === undefined ? '' : `, line ${issue.line} of the circuit`}`,
    issue.message,
    { found, expected, ...(hint === undefined ? {} : { hint }) },
  );
}

/** The node of `measures.gain.formula` below that of `measures`. */
function inner(node: JsonNode, path: string): JsonNode {
  return path
    .split('.')
    .slice(1)
    .reduce(
      (at, key) =>
        (at.kind === 'object'
          ? at.members.find((member) => member.key === key)?.value
          : undefined) ?? at,
      node,
    );
}
