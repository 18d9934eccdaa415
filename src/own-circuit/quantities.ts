import type { Quantity } from './answers.ts';
import type { OwnCircuit } from './definition.ts';
import { Refused } from './elements.ts';
import { quoted } from './lines.ts';

/** A node of the circuit by its name. @throws Refused */
export function nodeOf(name: string, { elements }: OwnCircuit): Quantity {
  const nodes = new Set(elements.flatMap((element) => element.nodes));
  const wanted = name.toLowerCase() === 'gnd' ? '0' : name.toLowerCase();
  if (!nodes.has(wanted) && wanted !== '0')
    throw new Refused(
      'the circuit has no such node',
      quoted(name),
      [...nodes].slice(0, 20).join(', '),
      undefined,
      'unknown-name',
    );
  return { of: 'node', node: wanted };
}

/** The current into an element, or into an electrode of a tube: "X1.plate". @throws Refused */
export function currentOf(name: string, { elements }: OwnCircuit): Quantity {
  const [element, electrode, ...more] = name.toLowerCase().split('.');
  const found = elements.find((one) => one.name.toLowerCase() === element && one.kind !== 'K');
  if (found === undefined || more.length > 0)
    throw new Refused(
      'the circuit has no such element',
      quoted(name),
      elements
        .map((one) => one.name)
        .slice(0, 20)
        .join(', '),
      undefined,
      'unknown-name',
    );
  if (found.kind !== 'X') {
    if (electrode !== undefined)
      throw new Refused('only tubes have electrodes', quoted(name), `i(${found.name})`);
    return { of: 'current', element: element! };
  }
  const own = found.electrodes.find((one) => one.toLowerCase() === electrode);
  if (own === undefined)
    throw new Refused(
      'which electrode of the tube?',
      quoted(name),
      found.electrodes.map((one) => `i(${found.name}.${one})`).join(', '),
    );
  return { of: 'current', element: element!, electrode: own };
}
