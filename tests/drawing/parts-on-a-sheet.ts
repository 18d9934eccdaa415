import type { DrawnCircuit } from '../../src/drawing/drawing.ts';
import type { Part } from '../../src/types.ts';

/** Small invented circuits for tests of single rules. */

type At = readonly [number, number];

export const resistor = (
  id: string,
  nodes: readonly [string, string],
  at: At,
  more: Partial<Part> = {},
): Part => ({ kind: 'resistor', id, nodes, value: 1000, at, ...more }) as Part;

export const rail = (id: string, node: string): Part => ({
  kind: 'supply',
  id,
  nodes: [node, '0'],
  value: 250,
  at: [0, 0],
});

export const sheet = (parts: readonly Part[], spine?: DrawnCircuit['spine']): DrawnCircuit => ({
  title: 'invented',
  parts,
  ...(spine === undefined ? {} : { spine }),
});
