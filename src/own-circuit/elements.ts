import {
  MOST,
  TUBE_PINS,
  type Element,
  type OwnIssue,
  type Source,
  type TubeElement,
} from './definition.ts';
import { quoted, type Statement } from './lines.ts';
import { spiceNumber } from './number.ts';

/** A refusal of one statement: message, found, expected, hint. */
export class Refused extends Error {
  constructor(
    message: string,
    readonly found: string,
    readonly expected: string,
    readonly hint?: string,
    readonly code: OwnIssue['code'] = 'bad-value',
  ) {
    super(message);
  }
}

/** A name of a node or an element: it becomes a part of names in the netlist that is simulated. */
const NAME = /^[A-Za-z0-9_]{1,24}$/;
const ELEMENTS = 'R, C, L, K, V, I, E, G, F, H, D, or X with TUBE, one a line';

/** Parentheses and commas are white space to SPICE, and "=" stands without any. */
export function wordsOf(text: string): string[] {
  return text
    .replaceAll(/[(),]/g, ' ')
    .replaceAll(/\s*=\s*/g, '=')
    .split(/\s+/)
    .filter((word) => word !== '');
}

/** Reads one element. @throws Refused */
export function elementOf({ text, line }: Statement): Element {
  const words = wordsOf(text);
  const name = words[0] ?? text;
  if (!NAME.test(name)) throw new Refused('this is no name of an element', quoted(name), ELEMENTS);
  const base = { name, line };
  const letter = name.charAt(0).toUpperCase();
  switch (letter) {
    case 'R':
    case 'C':
    case 'L': {
      const [a, b, value] = exactly(words, 3, `${letter}name node node value`);
      const [low, high] = PART_RANGE[letter];
      return {
        ...base,
        kind: letter,
        nodes: [node(a), node(b)],
        value: number(value, low, high, PART_UNIT[letter]),
      };
    }
    case 'V':
    case 'I':
      return {
        ...base,
        kind: letter,
        ...sourceOf(words, letter === 'V' ? 1e5 : 10),
      };
    case 'E':
    case 'G': {
      if (words.some((word) => /^(poly|value|table|laplace|vol|cur|freq)\b/i.test(word)))
        throw new Refused(
          'only linear controlled sources are allowed',
          quoted(text),
          LINEAR[letter],
        );
      const [a, b, c, d, value] = exactly(words, 5, LINEAR[letter]);
      return {
        ...base,
        kind: letter,
        nodes: [node(a), node(b), node(c), node(d)],
        value: number(value, -1e6, 1e6),
      };
    }
    case 'F':
    case 'H': {
      if (words.some((word) => /^poly\b/i.test(word)))
        throw new Refused(
          'only linear controlled sources are allowed',
          quoted(text),
          LINEAR[letter],
        );
      const [a, b, control, value] = exactly(words, 4, LINEAR[letter]);
      return {
        ...base,
        kind: letter,
        nodes: [node(a), node(b)],
        control: control.toLowerCase(),
        value: number(value, -1e6, 1e6),
      };
    }
    case 'K': {
      const [a, b, value] = exactly(words, 3, 'Kname Lname Lname coupling');
      return {
        ...base,
        kind: 'K',
        nodes: [],
        coils: [a.toLowerCase(), b.toLowerCase()],
        value: number(value, -0.9999, 0.9999),
      };
    }
    case 'D': {
      const [a, k, model] = exactly(words, 3, 'Dname anode cathode model');
      return { ...base, kind: 'D', nodes: [node(a), node(k)], model: model.toLowerCase() };
    }
    case 'X':
      return { ...base, ...tubeOf(words, text) };
    case 'B':
      throw new Refused(
        'B sources are not allowed',
        quoted(text),
        'linear sources E, G, F, H',
        'A formula belongs into a measure.',
      );
    default:
      throw new Refused('elements of this kind are not allowed', quoted(name), ELEMENTS);
  }
}

const PART_RANGE = {
  R: [1e-3, 1e13],
  C: [1e-16, 10],
  L: [1e-12, 1e5],
} as const;
const PART_UNIT = { R: 'ohm', C: 'F', L: 'other' } as const;

const LINEAR = {
  E: 'Ename node node control+ control- gain',
  G: 'Gname node node control+ control- siemens',
  F: 'Fname node node Vname gain',
  H: 'Hname node node Vname ohms',
} as const;

function exactly<N extends 3 | 4 | 5>(words: readonly string[], count: N, expected: string) {
  if (words.length !== count + 1)
    throw new Refused(
      words.length <= count
        ? 'something is missing on this line'
        : 'there is too much on this line',
      quoted(words.join(' ')),
      expected,
    );
  return words.slice(1) as unknown as N extends 3
    ? [string, string, string]
    : N extends 4
      ? [string, string, string, string]
      : [string, string, string, string, string];
}

export function node(word: string): string {
  if (!NAME.test(word))
    throw new Refused(
      'this is no name of a node',
      quoted(word),
      'up to 24 letters, digits and "_"; 0 is chassis',
    );
  const name = word.toLowerCase();
  return name === 'gnd' ? '0' : name;
}

export function number(
  word: string,
  low: number,
  high: number,
  unit: 'ohm' | 'F' | 'other' = 'other',
): number {
  const read = spiceNumber(word, unit);
  if (!('value' in read))
    throw new Refused('this is no number', quoted(word), read.expected, read.hint);
  if (!(read.value >= low && read.value <= high))
    throw new Refused('the value is out of range', quoted(word), `${low} to ${high}`);
  return read.value;
}

/** `[DC] value`, `AC amplitude [phase]`, `SIN(offset amplitude frequency)`, in any order, each once. */
function sourceOf(
  words: readonly string[],
  most: number,
): Source & { readonly nodes: readonly [string, string] } {
  const expected =
    'name node node [DC] value [AC amplitude [phase]] [SIN(offset amplitude frequency)]';
  if (words.length < 4)
    throw new Refused('something is missing on this line', quoted(words.join(' ')), expected);
  const nodes = [node(words[1]!), node(words[2]!)] as const;
  const found: { dc?: number; ac?: [number, number]; sine?: [number, number, number] } = {};
  let at = 3;
  const take = (low: number, high: number): number => {
    const word = words[at];
    if (word === undefined)
      throw new Refused('something is missing on this line', quoted(words.join(' ')), expected);
    at += 1;
    return number(word, low, high);
  };
  const once = (key: 'dc' | 'ac' | 'sine'): void => {
    if (found[key] !== undefined)
      throw new Refused('the same thing is given twice', quoted(words.join(' ')), expected);
  };
  while (at < words.length) {
    const word = words[at]!.toLowerCase();
    if (word === 'ac') {
      at += 1;
      once('ac');
      const amplitude = at < words.length && isNumber(words[at]!) ? take(0, 1e3) : 1;
      const phase = at < words.length && isNumber(words[at]!) ? take(-360, 360) : 0;
      found.ac = [amplitude, phase];
    } else if (word === 'sin') {
      at += 1;
      once('sine');
      found.sine = [take(-most, most), take(0, most), take(1e-3, 1e9)];
    } else if (word === 'dc' || isNumber(word)) {
      if (word === 'dc') at += 1;
      once('dc');
      found.dc = take(-most, most);
    } else throw new Refused('this is not understood', quoted(words[at]!), expected);
  }
  return {
    nodes,
    dc: found.dc ?? found.sine?.[0] ?? 0,
    ...(found.ac === undefined ? {} : { ac: found.ac }),
    ...(found.sine === undefined ? {} : { sine: found.sine }),
  };
}

const isNumber = (word: string): boolean => /^[+-]?\.?\d/.test(word);

const TUBE_LINE =
  'Xname plate grid cathode TUBE (triode), Xname plate screen grid cathode TUBE (pentode), with place=2 for the second tube, heater=node where it is not at chassis';

function tubeOf(
  words: readonly string[],
  text: string,
): Pick<TubeElement, 'kind' | 'nodes' | 'electrodes' | 'place'> {
  const options = words.filter((word) => word.includes('='));
  const plain = words.filter((word) => !word.includes('=')).slice(1);
  const model = /^tube([1-9]\d?)?$/i.exec(plain.at(-1) ?? '');
  if (model === null) throw new Refused('the only subcircuit is TUBE', quoted(text), TUBE_LINE);
  const pins = plain.slice(0, -1);
  const electrodes = TUBE_PINS[pins.length];
  if (electrodes === undefined)
    throw new Refused('no tube has so many electrodes', `${pins.length} nodes`, TUBE_LINE);
  let place = model[1] === undefined ? 1 : Number(model[1]);
  let heater = '0';
  for (const option of options) {
    const [key, value] = option.split('=') as [string, string];
    if (key.toLowerCase() === 'heater') heater = node(value);
    else if (key.toLowerCase() === 'place' && /^[1-9]\d?$/.test(value)) {
      if (model[1] !== undefined && Number(value) !== place)
        throw new Refused('two different places', quoted(text), TUBE_LINE);
      place = Number(value);
    } else throw new Refused('this is not understood', quoted(option), TUBE_LINE);
  }
  if (place > MOST.tubes)
    throw new Refused('there are not so many places', String(place), `1 to ${MOST.tubes}`);
  return { kind: 'X', nodes: [...pins.map(node), heater], electrodes, place };
}
