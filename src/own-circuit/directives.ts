import { MOST, type DiodeModel, type Sweep, type Transient } from './definition.ts';
import { number, Refused, wordsOf } from './elements.ts';
import { quoted, type Statement } from './lines.ts';

/** What a line that begins with a dot may say. */
export type Directive =
  | { readonly kind: 'model'; readonly model: DiodeModel }
  | { readonly kind: 'sweep'; readonly sweep: Sweep }
  | { readonly kind: 'transient'; readonly transient: Transient }
  | { readonly kind: 'nothing' };

const ALLOWED = '.dc, .tran, .model (a diode), .op, .end';

/** Parameters of a diode and their ranges: enough for a semiconductor or a contact rectifier, nothing that stalls the engine. */
const DIODE: Readonly<Record<string, readonly [number, number]>> = {
  is: [1e-18, 1e-2],
  n: [0.5, 50],
  rs: [0, 1e6],
  cjo: [0, 1e-6],
  vj: [0.1, 2],
  m: [0.1, 0.9],
  tt: [0, 1e-3],
  bv: [1, 1e5],
  ibv: [1e-12, 1e-1],
};

/** Reads a line that begins with a dot. @throws Refused for every one that is not on the list */
export function directiveOf({ text, line }: Statement): Directive {
  const words = wordsOf(text);
  switch (words[0]!.toLowerCase()) {
    case '.op':
    case '.end':
      if (words.length > 1)
        throw new Refused('there is too much on this line', quoted(text), words[0]!);
      return { kind: 'nothing' };
    case '.model':
      return { kind: 'model', model: modelOf(words, text, line) };
    case '.dc':
      return { kind: 'sweep', sweep: sweepOf(words, text, line) };
    case '.tran':
      return { kind: 'transient', transient: transientOf(words, text, line) };
    case '.ac':
      throw new Refused(
        'there is no line for this',
        quoted(text),
        ALLOWED,
        'The frequency stands in the measure: gain(v(out), 1000), phase(v(out), 1000).',
      );
    case '.include':
    case '.inc':
    case '.lib':
    case '.control':
    case '.endc':
    case '.exec':
    case '.csparam':
      throw new Refused(
        'a circuit reaches no file and runs no command',
        quoted(text),
        ALLOWED,
        'Put the element itself into the circuit.',
      );
    default:
      throw new Refused('this line is not allowed', quoted(text), ALLOWED);
  }
}

function modelOf(words: readonly string[], text: string, line: number): DiodeModel {
  const expected = `.model NAME D(${Object.keys(DIODE).slice(0, 3).join('=… ').toUpperCase()}=…)`;
  const [, name, kind, ...parameters] = words;
  if (name === undefined || kind?.toLowerCase() !== 'd' || !/^[A-Za-z]\w{0,23}$/.test(name))
    throw new Refused('only models of diodes are allowed', quoted(text), expected);
  const found: Record<string, number> = {};
  for (const parameter of parameters) {
    const [key = '', value, ...more] = parameter.toLowerCase().split('=');
    const range = Object.hasOwn(DIODE, key) ? DIODE[key] : undefined;
    if (range === undefined || value === undefined || more.length > 0)
      throw new Refused(
        'no such parameter',
        quoted(parameter),
        Object.keys(DIODE).join(', ').toUpperCase(),
      );
    if (Object.hasOwn(found, key))
      throw new Refused('the same thing is given twice', quoted(parameter), 'each parameter once');
    found[key] = number(value, range[0], range[1]);
  }
  return { name, line, parameters: found };
}

function sweepOf(words: readonly string[], text: string, line: number): Sweep {
  const expected = '.dc SOURCE start stop step';
  if (words.length !== 5)
    throw new Refused(
      words.length > 5 ? 'one source is swept, not two' : 'something is missing on this line',
      quoted(text),
      expected,
    );
  const [start, stop, step] = words.slice(2).map((word) => number(word, -1e5, 1e5)) as [
    number,
    number,
    number,
  ];
  const points = Math.floor((stop - start) / step + 1e-6) + 1;
  if (!(step !== 0 && points >= 2))
    throw new Refused(
      'the sweep goes nowhere',
      quoted(text),
      'a step that leads from start to stop',
    );
  if (points > MOST.sweepPoints)
    throw new Refused('the sweep has too many points', `${points}`, `at most ${MOST.sweepPoints}`);
  return { line, source: words[1]!.toLowerCase(), start, step, points };
}

function transientOf(words: readonly string[], text: string, line: number): Transient {
  const expected = '.tran step stop';
  if (words.length !== 3)
    throw new Refused(
      words.length > 3 ? 'there is too much on this line' : 'something is missing on this line',
      quoted(text),
      expected,
    );
  const [step_s, stop_s] = words.slice(1).map((word) => number(word, 1e-12, 1e3)) as [
    number,
    number,
  ];
  const points = stop_s / step_s;
  if (!(points >= 20 && points <= MOST.transientPoints))
    throw new Refused(
      'the transient has too few or too many steps',
      `${Math.round(points)} steps`,
      `20 to ${MOST.transientPoints}`,
    );
  return { line, step_s, stop_s };
}
