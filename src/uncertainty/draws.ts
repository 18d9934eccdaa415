import { latinHypercube } from '../numerics/latin-hypercube.ts';
import type { Circuit, Draw, Wear } from '../types.ts';

/** Names of every unknown that moves the tube or the circuit, once each, in a fixed order. */
export function unknownsOf(circuit: Circuit, wears: readonly Wear[]): string[] {
  const names = new Set<string>();
  for (const wear of wears) for (const unknown of wear.unknowns) names.add(unknown.name);
  for (const knob of Object.values(circuit.knobs)) names.add(knob.unknown);
  return [...names].sort();
}

/** Stratified draws of all unknowns: the same names, count and seed give the same draws. */
export function drawsOf(names: readonly string[], count: number, seed: number): readonly Draw[] {
  return latinHypercube(names, count, seed);
}

/** Values of the part knobs under a draw. */
export function knobsUnder(circuit: Circuit, draw: Draw): Record<string, number> {
  return Object.fromEntries(
    Object.entries(circuit.knobs).map(([name, knob]) => [
      name,
      knob.toValue(draw[knob.unknown] ?? 0),
    ]),
  );
}
