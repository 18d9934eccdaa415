import { windingSections } from '../circuit/transformers.ts';
import type {
  Circuit,
  Node,
  Part,
  PartValue,
  Stage,
  StageValues,
  SupplyPart,
  TubeModel,
  TubePart,
  TwoPin,
  Uncertain,
} from '../types.ts';
import { RESISTANCE, SHORT_BESIDE } from './bias-line.ts';
import { leakPart } from './faults.ts';
import { exactKnob, LINE } from './values.ts';

/**
 * Sockets that share a bias supply. What reverse grid current flows through the supply's own resistance moves every grid on it,
 * and each of these tubes may answer with more. So the others stand in the circuit as what they are at rest, and the engine
 * settles all of them together.
 */

const NO_SHORT_ohm = 1e13;

/** Another socket on the line, and where its first tube stands among those of the whole circuit. */
export interface Beside {
  readonly stage: Pick<Stage, 'biasLine' | 'circuit'>;
  readonly values: StageValues;
  readonly models: readonly TubeModel[];
  readonly firstTube: number;
}

/** A circuit with what hangs on its bias line in other sockets; as it is where nothing moves its bias supply. */
export function withBeside(
  circuit: Circuit,
  { biasLine }: Pick<Stage, 'biasLine'>,
  values: StageValues,
  others: readonly Beside[],
): Circuit {
  const node = biasLine?.node(values);
  if (biasLine === undefined || node === undefined) return circuit;
  // the supply is this socket's: where another states it otherwise each is judged with its own
  const supply = Object.fromEntries(biasLine.values.map((key) => [key, values[key]!]));
  const found = others.map((other, i) =>
    atRestOn(node, { ...other, values: { ...other.values, ...supply } }, `_N${i + 1}`),
  );
  return {
    ...circuit,
    parts: [...circuit.parts, ...found.flatMap(({ parts }) => parts)],
    knobs: Object.assign(
      { [SHORT_BESIDE]: exactKnob(NO_SHORT_ohm, RESISTANCE) },
      circuit.knobs,
      ...found.map(({ knobs }) => knobs),
    ) as Circuit['knobs'],
  };
}

/** Another socket's circuit for direct current, its grid resistors on this line. Names of its own end in `suffix`. */
function atRestOn(
  node: Node,
  { stage, values, models, firstTube }: Beside,
  suffix: string,
): Pick<Circuit, 'parts' | 'knobs'> {
  const circuit = stage.circuit(values, models);
  const own = stage.biasLine?.node(values);
  const ofLine: readonly string[] = stage.biasLine?.values ?? [];
  const rename = (name: Node): Node => (name === '0' ? '0' : name === own ? node : name + suffix);
  const knobs: Record<string, Uncertain> = {};
  const value = (of: PartValue): PartValue => {
    if (typeof of === 'number') return of;
    const knob = circuit.knobs[of.knob]!;
    // its parts are what they are marked; its supplies move with the line
    if (knob.unknown !== LINE) return knob.nominal;
    const name = of.knob + suffix;
    knobs[name] = knob;
    return { knob: name };
  };
  const parts = withoutDeadEnds(
    circuit.parts
      .filter((part) => !('edits' in part && ofLine.includes(part.edits ?? '')))
      .flatMap((part) => forDirectCurrent(part, values, circuit)),
    own,
  ).flatMap((part): Part[] => {
    const at = { id: part.id + suffix, drawn: false, elsewhere: true } as const;
    if (part.kind === 'tube')
      return [
        {
          ...part,
          ...at,
          tube: firstTube + part.tube,
          nodes: Object.fromEntries(
            Object.entries(part.nodes).map(([electrode, name]) => [electrode, rename(name)]),
          ),
        },
      ];
    const nodes = part.nodes.map(rename) as [Node, '0'];
    // it edits nothing: a value of that name is this socket's
    const { edits: _, ...bare } = part;
    const found: Part = { ...bare, ...at, nodes, value: value(part.value) };
    return own !== undefined && part.nodes.includes(own)
      ? [found, { ...found, id: `${found.id}s`, value: { knob: SHORT_BESIDE } }]
      : [found];
  });
  return { parts, knobs };
}

type DirectPart = TubePart | SupplyPart | TwoPin;

/** What is left of a part for direct current. */
function forDirectCurrent(part: Part, values: StageValues, circuit: Circuit): DirectPart[] {
  const ohms = (value: PartValue): number =>
    typeof value === 'number' ? value : circuit.knobs[value.knob]!.nominal;
  const winding = (id: string, nodes: readonly [Node, Node], value: number): TwoPin => ({
    kind: 'resistor',
    id,
    nodes,
    value,
    at: part.at,
  });
  switch (part.kind) {
    case 'resistor':
    case 'supply':
      return [part];
    case 'tube': {
      const { plate, grid } = part.nodes;
      const leaks =
        plate === undefined || grid === undefined
          ? []
          : leakPart(values, 'socketLeakage', [plate, grid]);
      return [part, ...leaks.map((leak) => ({ ...leak, id: `${leak.id}${part.id}` }))];
    }
    case 'outputTransformer':
      return [winding(part.id, [part.nodes[0], part.nodes[2]], ohms(part.resistance))];
    case 'pushPullTransformer':
      return windingSections(part).map(({ name, from, to, ofHalf }) =>
        winding(name, [from, to], (ohms(part.resistance) * ofHalf) / 2),
      );
    case 'capacitor':
    case 'signal':
    case 'feedback':
    case 'block':
      return [];
    case 'inductor':
    case 'tank':
    case 'oscillatorTank':
      throw new Error(`${part.kind} ${part.id} has no form on a bias line`);
  }
}

/** Without resistors that lead nowhere: a source's, behind a coupling capacitor. */
function withoutDeadEnds(parts: readonly DirectPart[], line: Node | undefined): DirectPart[] {
  const ends = new Map<Node, number>();
  for (const part of parts)
    for (const node of Object.values(part.nodes)) ends.set(node, (ends.get(node) ?? 0) + 1);
  const left = parts.filter(
    (part) =>
      part.kind !== 'resistor' ||
      part.nodes.every((node) => node === '0' || node === line || ends.get(node)! > 1),
  );
  return left.length === parts.length ? left : withoutDeadEnds(left, line);
}
