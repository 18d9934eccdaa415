/** What stands after a number: "Mohm", "k", "µF". Gives its power of ten for an expected unit, or why it has none. */
import type { Unit } from '../types.ts';
import { PREFIX_POWER, PREFIX_SPELLINGS, UNITS } from './symbols.ts';
import type { Prefix } from './symbols.ts';
import { capital } from './title.ts';

export type Suffix =
  | { readonly power: number }
  /** Readable, but it could mean two things or is hardly meant. */
  | { readonly doubt: string }
  | undefined;

/** Reads a suffix (spaces removed). Undefined: it is nothing that the unit knows. */
export function readSuffix(suffix: string, unit: Unit): Suffix {
  if (suffix === '' || isUnit(suffix, unit)) return { power: 0 };
  const trade = tradeSpelling(suffix, unit);
  if (trade !== undefined) return trade;
  for (const prefix of Object.keys(PREFIX_SPELLINGS) as Prefix[]) {
    if (prefix === '') continue;
    for (const spelling of PREFIX_SPELLINGS[prefix]) {
      const rest = afterPrefix(suffix, spelling);
      if (rest === undefined || !(rest === '' || isUnit(rest, unit))) continue;
      return doubtOf(prefix, spelling, rest, unit) ?? { power: PREFIX_POWER[prefix] };
    }
  }
  return undefined;
}

/** The unit that a suffix belongs to when it is not the expected one. */
export function otherUnit(suffix: string, expected: Unit): Unit | undefined {
  const others = (Object.keys(UNITS) as Unit[]).filter((unit) => unit !== expected && unit !== '');
  return others.find((unit) => {
    const rest = [
      suffix,
      ...Object.values(PREFIX_SPELLINGS).flatMap((spellings) =>
        spellings.map((spelling) => afterPrefix(suffix, spelling) ?? ''),
      ),
    ];
    return rest.some((text) => text !== '' && isUnit(text, unit));
  });
}

function isUnit(text: string, unit: Unit): boolean {
  const { symbol, spellings, exactCase } = UNITS[unit];
  if (symbol === '') return false;
  if (text === symbol || spellings.includes(text.toLowerCase())) return true;
  return exactCase !== true && [symbol, ...spellings].some((known) => same(known, text));
}

const same = (a: string, b: string): boolean => a.toLowerCase() === b.toLowerCase();

/** Prefix words are read in any case, letters only as written: "Meg" is mega, "M" is not "m". */
function afterPrefix(suffix: string, spelling: string): string | undefined {
  const head = suffix.slice(0, spelling.length);
  const fits = spelling.length > 1 ? same(head, spelling) : head === spelling;
  if (!fits) return undefined;
  const rest = suffix.slice(spelling.length);
  // "megohm", "kilohm": the trade drops a vowel.
  return spelling.length > 1 && same(rest, 'hm') ? `o${rest}` : rest;
}

/** Old words for frequencies and capacitors: "kc" and "Mc" are kilo- and megacycles a second, "mfd" and "mmfd" micro- and picofarad: common practice, no source. */
function tradeSpelling(suffix: string, unit: Unit): Suffix {
  const lower = suffix.toLowerCase();
  const cycles = unit === 'Hz' ? /^([km]?)c(?:ps|\/?s)?$/.exec(lower) : null;
  if (cycles !== null) return { power: { '': 0, k: 3, m: 6 }[cycles[1] as '' | 'k' | 'm'] };
  if (unit === 'F' && lower === 'mfd') return { power: -6 };
  if (unit === 'F' && (lower === 'mmfd' || lower === 'mmf' || lower === 'uuf' || lower === 'µµf'))
    return { power: -12 };
  if (unit === 'F' && (suffix === 'mf' || suffix === 'MF')) {
    return {
      doubt: `"${suffix}" on old parts is microfarad, in SI millifarad: write "µF" or "mF".`,
    };
  }
  if (unit === 's' && suffix === 'm')
    return { doubt: '"m" could be minutes or milliseconds: write seconds.' };
  return undefined;
}

function doubtOf(prefix: Prefix, spelling: string, rest: string, unit: Unit): Suffix {
  const { prefixes, symbol, kind } = UNITS[unit];
  if (unit === 'ohm' && spelling === 'm' && rest !== '\u03a9' && rest !== '\u2126') {
    return { doubt: '"m" is milli: milliohm, or did you mean "M" (megohm)? Write "mΩ" or "M".' };
  }
  if (prefixes.includes(prefix)) return undefined;
  if (prefixes.length === 0)
    return { doubt: `${capital(kind)} takes no prefix such as "${spelling}".` };
  const meant =
    prefix === 'M' && prefixes.includes('m') ? ` Did you mean "m${symbol}" (milli)?` : '';
  return { doubt: `"${spelling}${rest}" is not usual for ${kind}.${meant}` };
}
