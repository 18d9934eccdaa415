import type { SimResult } from '../types.ts';
import type { Line } from './spice.ts';

export type Failure = Extract<SimResult, { ok: false }>['why'];

interface Rule {
  readonly pattern: RegExp;
  /** `chatter` is dropped; `fatal` means that no number of this run may be believed. */
  readonly means: 'chatter' | 'note' | 'warning' | 'fatal';
  readonly why?: Failure;
}

/**
 * What ngspice's lines mean, first match wins. A line of the error stream that no rule knows is a warning:
 * shown, never swallowed. Wording of ngspice 45, seen with the circuits of `tests/engine`.
 */
const RULES: readonly Rule[] = [
  { pattern: /^\s*$/, means: 'chatter' },

  // the netlist was not understood, in whole or in part
  {
    pattern: /circuit not parsed|no circuits? loaded|aren't any circuits loaded/i,
    means: 'fatal',
    why: 'parse',
  },
  { pattern: /^error on line|simulation interrupted due to error/i, means: 'fatal', why: 'parse' },
  {
    pattern: /unknown subckt|could not find a valid modelname|can't find model/i,
    means: 'fatal',
    why: 'parse',
  },
  {
    pattern: /not a valid .* instance line|device already exists|unimplemented/i,
    means: 'fatal',
    why: 'parse',
  },
  {
    pattern: /undefined parameter|cannot compute substitute|could not find include file/i,
    means: 'fatal',
    why: 'parse',
  },
  {
    pattern: /no such function|syntax error|^error.*(?:unknown parameter|unrecognized parameter)/i,
    means: 'fatal',
    why: 'parse',
  },
  {
    pattern: /no job .* defined|is not in the circuit|no such device|no data saved/i,
    means: 'fatal',
    why: 'parse',
  },
  { pattern: /\bignored!?\s*$|unknown (?:model|device) type/i, means: 'fatal', why: 'parse' },

  // the engine gave up
  {
    pattern: /operating point could not be simulated|transient op failed/i,
    means: 'fatal',
    why: 'noConvergence',
  },
  {
    pattern: /^doAnalyses:|timestep too small|iteration limit reached|no convergence/i,
    means: 'fatal',
    why: 'noConvergence',
  },
  { pattern: /dc solution failed|matrix is singular/i, means: 'fatal', why: 'noConvergence' },
  // the last rung of the ladder, 10 us of a transient, stands in for the operating point, and nothing looks whether it
  // had settled (ngspice's README.optran: stopping when stable "has not yet been implemented")
  { pattern: /transient op finished/i, means: 'fatal', why: 'noConvergence' },
  { pattern: /simulation\(s\) aborted|simulation not started/i, means: 'fatal', why: 'incomplete' },
  {
    pattern: /no writable vector|out of memory|^fatal|fatal error/i,
    means: 'fatal',
    why: 'incomplete',
  },

  // the ladder of helps on the way to an operating point: worth a remark once it led there
  { pattern: /gmin stepping|source stepping|transient op started/i, means: 'note' },
  { pattern: /singular matrix/i, means: 'note' },
  { pattern: /has no value, DC 0 assumed/i, means: 'note' },
  { pattern: /no compatibility mode|any of the following steps may fail/i, means: 'chatter' },
  { pattern: /^\s*warning|\bwarning\b|^error/i, means: 'warning' },
];

export interface Sorted {
  readonly notes: readonly string[];
  readonly warnings: readonly string[];
  /** In the order they came. */
  readonly fatal: readonly { readonly text: string; readonly why: Failure }[];
}

/** Sorts what the engine said; repeated lines count once. */
export function sortMessages(lines: readonly Line[]): Sorted {
  const notes = new Set<string>();
  const warnings = new Set<string>();
  const fatal = new Map<string, Failure>();
  for (const { text, isError } of lines) {
    const rule = RULES.find(({ pattern }) => pattern.test(text));
    const means = rule?.means ?? (isError ? 'warning' : 'chatter');
    const said = text.trim().replace(/\s+/g, ' ');
    if (means === 'fatal') fatal.set(said, rule?.why ?? 'incomplete');
    else if (means === 'warning') warnings.add(said);
    else if (means === 'note') notes.add(said);
  }
  return {
    notes: [...notes],
    warnings: [...warnings],
    fatal: [...fatal].map(([text, why]) => ({ text, why })),
  };
}
