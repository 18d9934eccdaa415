import { MOST, type Element, type OwnCircuit, type OwnIssue } from './definition.ts';
import { quoted } from './lines.ts';

/** Chassis is there, every node has a way for direct current to chassis, and no voltage source is short-circuited by another. */
export function checkConnections({ elements }: OwnCircuit, note: (issue: OwnIssue) => void): void {
  const touching = new Map<string, Element[]>();
  for (const element of elements)
    for (const node of element.nodes) touching.set(node, [...(touching.get(node) ?? []), element]);
  const told = { place: 'circuit' } as const;
  if (
    !elements.some((element) => element.kind !== 'X' && element.nodes.includes('0')) &&
    !tubeAtChassis(elements)
  ) {
    note({
      ...told,
      code: 'missing',
      message: 'nothing is connected to chassis',
      found: `the nodes ${[...touching.keys()]
        .filter((node) => node !== '0')
        .slice(0, 8)
        .join(', ')}`,
      expected: 'a node 0, from which the voltages are measured',
    });
    return;
  }
  if (touching.size > MOST.nodes)
    note({
      ...told,
      code: 'too-large',
      message: 'the circuit has too many nodes',
      found: `${touching.size}`,
      expected: `at most ${MOST.nodes}`,
    });
  const conducting = new Groups();
  for (const element of elements)
    for (const [a, b] of conductingPairs(element)) conducting.join(a, b);
  for (const [node, at] of touching) {
    if (node === '0') continue;
    const names = [...new Set(at.map(({ name }) => name))].join(', ');
    const floats = !conducting.same(node, '0');
    if (!floats && at.length > 1) continue;
    note({
      ...told,
      code: 'bad-value',
      line: at[0]!.line,
      message: floats
        ? `the node ${quoted(node)} floats`
        : `the node ${quoted(node)} leads nowhere`,
      found: floats
        ? `only ${names} there: no way for direct current to chassis`
        : `only ${names} there`,
      expected: floats
        ? 'a resistor, coil or source from it, such as a grid resistor'
        : 'at least two elements at every node',
      ...(at.length === 1 ? { hint: 'Is its name mistyped, here or elsewhere?' } : {}),
    });
  }
  const fixed = new Groups();
  for (const element of elements) {
    for (const [a, b] of fixedPairs(element)) {
      if (fixed.same(a, b))
        note({
          ...told,
          code: 'contradiction',
          line: element.line,
          message: 'sources or coils in a loop without resistance',
          found: `${element.name} from ${a} to ${b}`,
          expected: 'a resistance in the loop: the winding has some',
        });
      fixed.join(a, b);
    }
  }
}

/** A heater stands at chassis unless it is said to be elsewhere; that is no connection of the circuit. */
function tubeAtChassis(elements: readonly Element[]): boolean {
  return elements.some(
    (element) => element.kind === 'X' && element.nodes.slice(0, -1).includes('0'),
  );
}

/** Pairs of nodes between which direct current can flow. A grid lets none through; current sources and capacitors neither. */
function conductingPairs(element: Element): (readonly [string, string])[] {
  switch (element.kind) {
    case 'R':
    case 'L':
    case 'V':
    case 'D':
    case 'H':
      return [element.nodes];
    case 'E':
      return [[element.nodes[0], element.nodes[1]]];
    case 'X': {
      const cathode = element.nodes[element.electrodes.length - 1]!;
      return element.electrodes.flatMap((electrode, i) =>
        electrode === 'plate' || electrode === 'screen'
          ? [[element.nodes[i]!, cathode] as const]
          : [],
      );
    }
    default:
      return [];
  }
}

function fixedPairs(element: Element): (readonly [string, string])[] {
  switch (element.kind) {
    case 'V':
    case 'L':
    case 'H':
      return [element.nodes];
    case 'E':
      return [[element.nodes[0], element.nodes[1]]];
    default:
      return [];
  }
}

/** Nodes joined into groups. */
class Groups {
  private readonly parent = new Map<string, string>();

  private root(node: string): string {
    let at = node;
    for (
      let next = this.parent.get(at);
      next !== undefined && next !== at;
      next = this.parent.get(at)
    )
      at = next;
    return at;
  }

  join(a: string, b: string): void {
    this.parent.set(this.root(a), this.root(b));
  }

  same(a: string, b: string): boolean {
    return this.root(a) === this.root(b);
  }
}
