/**
 * A small seeded generator: the same seed gives the same numbers on every machine.
 * Source: D. Blackman, S. Vigna, "Scrambled linear pseudorandom number generators", ACM Trans. Math. Softw. 47 (2021),
 * xoshiro128** 1.1; seeded through SplitMix32 (the finaliser of MurmurHash3) as its authors advise.
 */
export interface Random {
  /** Uniform in [0, 1), 32 bits. */
  next(): number;
  /** Uniform integer in 0 … count − 1. */
  below(count: number): number;
}

/** A generator for a seed; texts and numbers are told apart (`"1"` and `1` differ). */
export function seededRandom(seed: string | number): Random {
  let spread = hashText(typeof seed === 'number' ? `#${String(seed)}` : seed);
  const splitMix = (): number => {
    spread = (spread + 0x9e3779b9) | 0;
    let mixed = spread ^ (spread >>> 16);
    mixed = Math.imul(mixed, 0x85ebca6b);
    mixed ^= mixed >>> 13;
    mixed = Math.imul(mixed, 0xc2b2ae35);
    return (mixed ^ (mixed >>> 16)) >>> 0;
  };
  const next32 = xoshiro128ss([splitMix(), splitMix(), splitMix(), splitMix()]);
  const next = (): number => next32() / 2 ** 32;
  return { next, below: (count) => Math.floor(next() * count) };
}

/** The bare generator of 32-bit integers from a state of four; exported for the check against its published output. */
export function xoshiro128ss(state: readonly [number, number, number, number]): () => number {
  let [a, b, c, d] = state;
  return () => {
    const result = Math.imul(rotateLeft(Math.imul(b, 5), 7), 9) >>> 0;
    const shifted = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= shifted;
    d = rotateLeft(d, 11);
    return result;
  };
}

function rotateLeft(word: number, bits: number): number {
  return (word << bits) | (word >>> (32 - bits));
}

/** FNV-1a over UTF-16 units. */
function hashText(text: string): number {
  let hash = 0x811c9dc5;
  for (let index = 0; index < text.length; index++) {
    hash = Math.imul(hash ^ text.charCodeAt(index), 0x01000193);
  }
  return hash | 0;
}
