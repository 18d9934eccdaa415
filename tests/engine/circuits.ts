import type { SimRequest, SimResult } from '../../src/types.ts';

/** Small circuits with a known answer or a known fault. Shared by the live tests and by the recordings. */

type Why = Extract<SimResult, { ok: false }>['why'];

function circuit(
  runId: string,
  lines: string,
  expected: Omit<SimRequest, 'runId' | 'netlist'>,
): SimRequest {
  return { runId, netlist: `* stagefit ${runId}\n${lines}\n.end\n`, ...expected };
}

const op = (runId: string, lines: string, need: readonly string[] = ['v(1)']): SimRequest =>
  circuit(runId, `${lines}\n.op`, { analysis: 'op', need, points: 1 });

/** 5 V over two equal resistors: 2.5 V. */
export const DIVIDER = op('Divider.1', 'V1 1 0 5\nR1 1 2 1k\nR2 2 0 1k\n.save v(1) v(2)', [
  'v(1)',
  'v(2)',
]);

/** Three rows of a knob: 1, 3, 5 V. */
export const TABLE = circuit(
  'table',
  'Vrow row 0 0\nBx x 0 V=pwl(v(row),0,1,1,3,2,5)\nR1 x 0 1k\n.save v(x)\n.dc Vrow 0 2 1',
  { analysis: 'dc', need: ['v(x)'], points: 3, end: 2 },
);

/** A step of 1 V into 1 kΩ and 1 µF: 1 − exp(−t / 1 ms), from the initial condition 0 V. */
export const CHARGING = circuit(
  'charging',
  'V1 1 0 1\nR1 1 2 1k\nC1 2 0 1u ic=0\n.save v(2)\n.options reltol=1e-6\n.tran 10u 3m 0 10u uic',
  { analysis: 'tran', need: ['v(2)'], points: 300, end: 3e-3 },
);

/** The same low pass: −3 dB and −45° at 1 / (2π · 1 ms). */
export const LOW_PASS = circuit(
  'lowpass',
  'V1 1 0 dc 0 ac 1\nR1 1 2 1k\nC1 2 0 1u\n.save v(2)\n.ac lin 1 159.15494309189535 159.15494309189535',
  { analysis: 'ac', need: ['v(2)'], points: 1, end: 159.15494309189535 },
);

/** Ten million cycles: hours. */
export const ENDLESS = circuit(
  'endless',
  'V1 1 0 sin(0 1 1meg)\nR1 1 2 1k\nC1 2 0 1n\n.save v(2)\n.tran 1n 10 0 1n',
  { analysis: 'tran', need: ['v(2)'], points: 1e10, end: 10 },
);

/**
 * v² + 1 − 2·s amperes into next to no conductance: two solutions for s > 0.5, none below. A sweep or a transient of s
 * that starts above has an answer until it passes the fold.
 */
const FOLD = 'B1 1 0 I=v(1)*v(1)+1-2*v(s)\nR2 1 0 1e9';

export interface Bad {
  readonly what: string;
  readonly request: SimRequest;
  readonly why: Why;
  /** Part of the text that tells the user what happened. */
  readonly says: RegExp;
}

export const BAD: readonly Bad[] = [
  {
    what: 'an undefined parameter',
    request: op('undefined', 'V1 1 0 5\nR1 1 0 {nowhere}'),
    why: 'parse',
    says: /undefined parameter \[nowhere\]/i,
  },
  {
    what: 'a missing include',
    request: op('include', '.include nowhere.lib\nV1 1 0 5\nR1 1 0 1k'),
    why: 'parse',
    says: /include file nowhere\.lib/i,
  },
  {
    what: 'a line that is no part',
    request: op('parse', 'V1 1 0 5\nR1 1 0 1k\nqq 1'),
    why: 'parse',
    says: /circuit not parsed/i,
  },
  {
    what: 'a resistor without a value, which the engine leaves out',
    request: op('leftOut', 'V1 1 0 5\nR1 1 0'),
    why: 'parse',
    says: /not a valid resistor instance line, ignored/i,
  },
  {
    what: 'an unknown subcircuit',
    request: op('subcircuit', 'V1 1 0 5\nX1 1 0 nowhere'),
    why: 'parse',
    says: /unknown subckt/i,
  },
  {
    what: 'an unknown function',
    request: op('function', 'V1 1 0 5\nB1 2 0 V=nowhere(v(1))\nR1 2 0 1k'),
    why: 'parse',
    says: /no such function 'nowhere'/i,
  },
  {
    what: 'no analysis',
    request: circuit('noAnalysis', 'V1 1 0 5\nR1 1 0 1k', {
      analysis: 'op',
      need: ['v(1)'],
      points: 1,
    }),
    why: 'parse',
    says: /no job/i,
  },
  {
    what: 'another analysis than was asked for',
    request: circuit('other', 'V1 1 0 5\nR1 1 0 1k\n.tran 1u 10u', {
      analysis: 'op',
      need: ['v(1)'],
      points: 1,
    }),
    why: 'incomplete',
    says: /no operating point/i,
  },
  {
    what: 'a vector that is not there',
    request: op('noVector', 'V1 1 0 5\nR1 1 0 1k\n.save v(1) v(9)', ['v(1)', 'v(9)']),
    why: 'incomplete',
    says: /no v\(9\) in the answer/i,
  },
  {
    what: 'two voltage sources in parallel',
    request: op('parallel', 'V1 1 0 5\nV2 1 0 6\nR1 1 0 1k'),
    why: 'noConvergence',
    says: /operating point could not be simulated/i,
  },
  {
    what: 'a part without a path to chassis',
    request: op('floating', 'V1 1 0 5\nR1 1 0 1k\nI1 2 3 1m\nR2 2 3 1k', ['v(1)', 'v(2)']),
    why: 'noConvergence',
    says: /iteration limit reached/i,
  },
  {
    what: 'a circuit without a solution',
    request: op('unsolvable', 'B1 1 0 I=v(1)*v(1)+1\nR2 1 0 1e9'),
    why: 'noConvergence',
    says: /too many iterations without convergence/i,
  },
  {
    what: 'a sweep that dies half-way',
    request: circuit('halfSweep', `Vs s 0 0\n${FOLD}\n.dc Vs 5 0 -0.5`, {
      analysis: 'dc',
      need: ['v(1)'],
      points: 11,
      end: 0,
    }),
    why: 'noConvergence',
    says: /doAnalyses: *too many iterations/i,
  },
  {
    what: 'a transient that dies half-way',
    request: circuit('halfTransient', `Vs s 0 pwl(0 5 1m 5 2m 0)\n${FOLD}\n.tran 10u 3m`, {
      analysis: 'tran',
      need: ['v(1)'],
      points: 100,
      end: 3e-3,
    }),
    why: 'noConvergence',
    says: /doAnalyses: TRAN: *Timestep too small; time = 0\.0019/i,
  },
  {
    what: 'a transient that ends too early',
    request: circuit('early', 'V1 1 0 sin(0 1 1k)\nR1 1 0 1k\n.tran 10u 2m', {
      analysis: 'tran',
      need: ['v(1)'],
      points: 100,
      end: 3e-3,
    }),
    why: 'incomplete',
    says: /time ended at 0\.002/i,
  },
  {
    what: 'a sweep with too few points',
    request: { ...TABLE, runId: 'few', netlist: TABLE.netlist.replace('table', 'few'), points: 4 },
    why: 'incomplete',
    says: /3 points instead of 4/i,
  },
  {
    what: 'a result that is not finite',
    request: op('infinite', 'V1 1 0 5\nR1 1 0 1k\nV2 2 0 1e308\nE1 3 0 2 0 100\nR2 3 0 1'),
    why: 'incomplete',
    says: /is -?Infinity at point 0/i,
  },
  {
    what: 'an engine that is told to leave',
    request: op('leaves', 'V1 1 0 5\nR1 1 0 1k\n.control\nquit\n.endc'),
    why: 'crash',
    says: /exit code 0/i,
  },
];
