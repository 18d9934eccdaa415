import type { Complex } from './answers.ts';
import { NoNumber } from './functions.ts';

export const real = (re: number): Complex => ({ re, im: 0 });

/** Arithmetic of formulas, by mathjs's names of the operators. */
export const OPERATORS: Readonly<Record<string, (a: Complex, b: Complex) => Complex>> = {
  add: (a, b) => ({ re: a.re + b.re, im: a.im + b.im }),
  subtract: (a, b) => ({ re: a.re - b.re, im: a.im - b.im }),
  multiply: (a, b) => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re }),
  divide(a, b) {
    if (b.im === 0 && a.im === 0) return real(a.re / b.re);
    const size = b.re * b.re + b.im * b.im;
    return {
      re: (a.re * b.re + a.im * b.im) / size,
      im: (a.im * b.re - a.re * b.im) / size,
    };
  },
  pow(a, b) {
    if (a.im !== 0 || b.im !== 0) throw new NoNumber('a power of a signal with a phase');
    return real(a.re ** b.re);
  },
};
