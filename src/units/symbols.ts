/** What units are called, and which decimal prefixes are usual with each. The one table behind reading and printing. */
import type { Unit } from '../types.ts';

export interface UnitWords {
  /** As printed. */
  readonly symbol: string;
  /** Other spellings; compared without case unless `exactCase`. */
  readonly spellings: readonly string[];
  /** Set where case tells units apart: siemens and seconds. */
  readonly exactCase?: boolean;
  /** The kind of quantity, with its article: "a voltage". */
  readonly kind: string;
  readonly example: string;
  /** Prefixes read and printed, by symbol, falling. Empty: none. */
  readonly prefixes: readonly Prefix[];
}

export type Prefix = 'T' | 'G' | 'M' | 'k' | '' | 'm' | 'µ' | 'n' | 'p';

/** SI prefixes (BIPM, "The International System of Units", 9th ed., table 7), as powers of ten. */
export const PREFIX_POWER: Readonly<Record<Prefix, number>> = {
  T: 12,
  G: 9,
  M: 6,
  k: 3,
  '': 0,
  m: -3,
  µ: -6,
  n: -9,
  p: -12,
};

/** Ways to write a prefix. `m` and `M` are never taken for each other; the others have no double. */
export const PREFIX_SPELLINGS: Readonly<Record<Prefix, readonly string[]>> = {
  T: ['T', 'tera'],
  G: ['G', 'g', 'giga', 'gig'],
  M: ['M', 'mega', 'meg'],
  k: ['k', 'K', 'kilo'],
  '': [''],
  m: ['m', 'milli'],
  // Micro sign, Greek mu, and the letter that keyboards have.
  µ: ['\u00b5', '\u03bc', 'u', 'U', 'micro'],
  n: ['n', 'N', 'nano'],
  p: ['p', 'P', 'pico'],
};

export const UNITS: Readonly<Record<Unit, UnitWords>> = {
  V: unit('V', 'a voltage', '250 V', ['M', 'k', '', 'm', 'µ', 'n'], ['volt', 'volts']),
  A: unit(
    'A',
    'a current',
    '1.5 mA',
    ['k', '', 'm', 'µ', 'n', 'p'],
    ['amp', 'amps', 'ampere', 'amperes'],
  ),
  ohm: unit(
    'Ω',
    'a resistance',
    '470 kΩ',
    ['T', 'G', 'M', 'k', '', 'm'],
    ['\u2126', 'ohm', 'ohms', 'R'],
  ),
  S: {
    ...unit(
      'S',
      'a conductance',
      '1.6 mS',
      ['k', '', 'm', 'µ', 'n', 'p'],
      ['siemens', 'mho', 'mhos', '\u2127'],
    ),
    exactCase: true,
  },
  W: unit('W', 'a power', '4.5 W', ['M', 'k', '', 'm', 'µ', 'n'], ['watt', 'watts']),
  F: unit('F', 'a capacitance', '50 nF', ['', 'm', 'µ', 'n', 'p'], ['farad', 'farads']),
  H: unit('H', 'an inductance', '12 H', ['', 'm', 'µ', 'n'], ['henry', 'henries', 'henrys']),
  Hz: unit('Hz', 'a frequency', '455 kHz', ['G', 'M', 'k', '', 'm'], ['hertz']),
  s: {
    ...unit('s', 'a time', '30 s', ['', 'm', 'µ', 'n'], ['sec', 'second', 'seconds']),
    exactCase: true,
  },
  K: { ...unit('K', 'a temperature in kelvin', '1050 K', ['', 'm'], ['kelvin']), exactCase: true },
  '%': unit('%', 'a percentage', '10 %', [], ['percent']),
  dB: unit('dB', 'a ratio in decibel', '6 dB', [], ['decibel', 'decibels']),
  '×': unit('×', 'a factor', '3×', [], ['x', 'times']),
  '': unit('', 'a plain number', '3', [], []),
};

function unit(
  symbol: string,
  kind: string,
  example: string,
  prefixes: readonly Prefix[],
  spellings: readonly string[],
): UnitWords {
  return { symbol, kind, example, prefixes, spellings };
}

/** Raised digits, 0 to 9. */
export const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹';
