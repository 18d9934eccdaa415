import { describe, expect, test } from 'vitest';
import { sortMessages } from '../../src/simulation/messages.ts';

/** Lines as ngspice 45.2 writes them, and what they must count as. */
const LINES: readonly [text: string, isError: boolean, means: string][] = [
  ['', true, 'nothing'],
  ['Note: No compatibility mode selected!', false, 'nothing'],
  ['No. of Data Rows : 3', false, 'nothing'],
  ['Using SPARSE 1.3 as Direct Linear Solver', false, 'nothing'],
  ['Note: Starting dynamic gmin stepping', true, 'note'],
  ['Note: Dynamic gmin stepping completed', true, 'note'],
  ['Warning: Dynamic gmin stepping failed', true, 'note'],
  ['Warning: True gmin stepping failed', true, 'note'],
  ['Note: Starting source stepping', true, 'note'],
  ['Warning: singular matrix:  check node 2', true, 'note'],
  ['Note: v1: has no value, DC 0 assumed', true, 'note'],
  ['Warning: Value of resistor r1 is too small, set to 1.000000e-12', true, 'warning'],
  ['Error: -1 out of range for sqrt', true, 'warning'],
  ['a line that nobody has seen before', true, 'warning'],
  ['Error: circuit not parsed.', true, 'parse'],
  ["Error: there aren't any circuits loaded.", true, 'parse'],
  ['Error on line 4 or its substitute:', true, 'parse'],
  ['could not find a valid modelname', true, 'parse'],
  ['device already exists, bail out', true, 'parse'],
  ['Error: unknown subckt: x1 1 0 nothere', true, 'parse'],
  ["warning, can't find model 'nothere' from line", true, 'parse'],
  ["Warning: 'r1 1 0' is not a valid resistor instance line, ignored!", true, 'parse'],
  ['Undefined parameter [nope]', true, 'parse'],
  ['Error: Could not find include file nofile', true, 'parse'],
  ["Error: no such function 'foo' at line 3", true, 'parse'],
  ['YYparse error, syntax error, in expression: parsing stopped at line 3', true, 'parse'],
  ['Warning: No job (tran, ac, op etc.) defined:', true, 'parse'],
  [
    'Fatal error: DC Transfer Function: Voltage source, current source, or resistor named "vnope" is not in the circuit',
    true,
    'parse',
  ],
  ['Error: no data saved for D.C. Operating point analysis; analysis not run', true, 'parse'],
  ['Error: Transient op failed, timestep too small', true, 'noConvergence'],
  ['Note: Transient op finished successfully', true, 'noConvergence'],
  ['Error: The operating point could not be simulated successfully.', true, 'noConvergence'],
  [
    'doAnalyses: TRAN:  Timestep too small; time = 0.0019, timestep = 1.25e-17: trouble with node "1"',
    true,
    'noConvergence',
  ],
  ['run simulation(s) aborted', true, 'incomplete'],
  ['run simulation not started', true, 'incomplete'],
  ["Error during 'write': no writable vector found.", true, 'incomplete'],
];

describe('what the lines of the engine mean', () => {
  test.each(LINES)('"%s" (error stream: %s) is %s', (text, isError, means) => {
    const { notes, warnings, fatal } = sortMessages([{ text, isError }]);
    const is =
      notes.length > 0 ? 'note' : warnings.length > 0 ? 'warning' : (fatal[0]?.why ?? 'nothing');
    expect(is).toBe(means);
  });

  test('repeated lines count once and keep their order', () => {
    const line = (text: string): { text: string; isError: boolean } => ({ text, isError: true });
    expect(sortMessages(['Warning: b', 'Warning: a', 'Warning:  b'].map(line)).warnings).toEqual([
      'Warning: b',
      'Warning: a',
    ]);
  });
});
