/**
 * Other words of the trade for the words this program uses: British and older American terms, electrode
 * symbols. Understood without a warning in keys, in choices and in search. Sources: the terms are common practice on
 * both sides of the Atlantic; electrode symbols (a, k, g1, g2, g3, f) as in European data books.
 */
export interface Term {
  /** The word this program uses. */
  readonly ours: string;
  /** Words that mean the same, lower case. */
  readonly others: readonly string[];
}

export const TERMS: readonly Term[] = [
  { ours: 'plate', others: ['anode'] },
  { ours: 'tube', others: ['valve'] },
  { ours: 'tubes', others: ['valves'] },
  { ours: 'section', others: ['system', 'half'] },
  { ours: 'socket', others: ['valveholder', 'valve holder', 'tube holder', 'position'] },
  { ours: 'sockets', others: ['valveholders', 'valve holders', 'positions'] },
  { ours: 'screen', others: ['g2', 'screen grid', 'grid 2', 'second grid'] },
  { ours: 'grid', others: ['g1', 'control grid', 'grid 1', 'first grid'] },
  { ours: 'suppressor', others: ['g3', 'suppressor grid', 'grid 3'] },
  { ours: 'cathode', others: ['kathode'] },
  { ours: 'heater', others: ['filament'] },
  { ours: 'agc', others: ['avc', 'automatic volume control', 'automatic gain control'] },
  { ours: 'supply', others: ['ht', 'b+', 'high tension', 'b supply', 'hv', 'b plus'] },
  { ours: 'transconductance', others: ['mutual conductance', 'gm', 'slope'] },
  { ours: 'gain', others: ['amplification', 'stage gain'] },
  { ours: 'chassis', others: ['earth', 'ground', 'common'] },
  { ours: 'capacitor', others: ['condenser'] },
  { ours: 'audio', others: ['af', 'lf', 'low frequency'] },
  { ours: 'if', others: ['intermediate frequency'] },
  {
    ours: 'frequency-converter',
    others: ['frequency changer', 'mixer', 'first detector', 'converter'],
  },
  {
    ours: 'grid-leak-detector',
    others: ['leaky grid detector', 'grid detector', 'cumulative grid detector'],
  },
  { ours: 'rectifier', others: ['mains rectifier', 'power rectifier'] },
  { ours: 'output', others: ['power stage', 'final stage', 'loudspeaker stage'] },
  { ours: 'line', others: ['mains'] },
  { ours: 'pentagrid', others: ['heptode'] },
  { ours: 'emission', others: ['cathode emission'] },
  { ours: 'leakage', others: ['insulation', 'grid leakage'] },
];

/** Electrode names as written in readings: short symbols only have this meaning there. */
const ELECTRODE_SYMBOLS: Readonly<Record<string, string>> = {
  a: 'plate',
  p: 'plate',
  k: 'cathode',
  g: 'grid',
  h: 'heater',
  f: 'heater',
  s: 'screen',
};

const BY_WORD = new Map(
  TERMS.flatMap(({ ours, others }) => others.map((other) => [other, ours] as const)),
);

/** The word this program uses for a written word or phrase; the written one (lower case, single spaces) where it has no other. */
export function ourTerm(written: string): string {
  const plain = written.trim().toLowerCase().replaceAll(/\s+/g, ' ');
  return BY_WORD.get(plain) ?? plain;
}

/** The electrode that a word or symbol means: "anode", "g2", "k". Not checked against a list of electrodes. */
export function ourElectrode(written: string): string {
  const term = ourTerm(written.replaceAll(/[-_]/g, ' '));
  return ELECTRODE_SYMBOLS[term] ?? term;
}

/**
 * A key in this program's words: `anodeLoad` becomes `plateLoad`, `avcLineResistance` becomes `agcLineResistance`,
 * `ht` becomes `supply`. Phrases of up to three words are tried, longest first. Undefined where nothing changes.
 */
export function ourKey(key: string): string | undefined {
  if (key.length > 60) return undefined;
  const words = key
    .replaceAll(/([a-z0-9])([A-Z])/g, '$1 $2')
    .replaceAll(/([A-Z])([A-Z][a-z])/g, '$1 $2')
    .replaceAll(/[_-]/g, ' ')
    .toLowerCase()
    .split(' ')
    .filter((word) => word !== '');
  const ours: string[] = [];
  for (let at = 0; at < words.length;) {
    let length = Math.min(3, words.length - at);
    while (length > 1 && !BY_WORD.has(words.slice(at, at + length).join(' '))) length -= 1;
    ours.push(...ourTerm(words.slice(at, at + length).join(' ')).split(' '));
    at += length;
  }
  const rewritten = ours
    .map((word, index) => (index === 0 ? word : `${word.charAt(0).toUpperCase()}${word.slice(1)}`))
    .join('');
  return rewritten === key ? undefined : rewritten;
}

/** Other words for one of ours, for search and for the schema. */
export function otherTerms(ours: string): readonly string[] {
  return TERMS.find((term) => term.ours === ours)?.others ?? [];
}

/** The text and everything it says in our words: what a search should look through. */
export function searchWords(text: string): readonly string[] {
  const plain = text.trim().toLowerCase().replaceAll(/\s+/g, ' ');
  const words = new Set([plain, ourTerm(plain), ...plain.split(' ').map(ourTerm)]);
  for (const [other, ours] of BY_WORD) {
    if (other.includes(' ') && ` ${plain} `.includes(` ${other} `)) words.add(ours);
  }
  words.delete('');
  return [...words];
}
