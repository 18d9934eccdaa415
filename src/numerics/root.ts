/** Where a function of one variable passes through zero, inside a bracket. */

export type RootResult =
  | {
      readonly status: 'found';
      readonly x: number;
      /** The function's value there. */
      readonly residual: number;
      readonly evaluations: number;
    }
  /** Both ends have the same sign: there may be no root. */
  | { readonly status: 'noBracket'; readonly atLow: number; readonly atHigh: number }
  /** The sign changes at x, but by a jump or a pole. */
  | { readonly status: 'jump'; readonly x: number; readonly evaluations: number }
  /** The function gave no finite number at x. */
  | { readonly status: 'notFinite'; readonly x: number };

/**
 * Finds x in low … high with f(x) = 0 where f changes sign. `tolerance` is the half-width of x that is good enough; default
 * 1e-12 of the bracket. Never worse than bisection by more than one step.
 * Source: I. Oliveira, R. Takahashi, "An enhancement of the bisection method average performance preserving minmax
 * optimality", ACM Trans. Math. Softw. 47 (2020), the ITP method with κ₁ = 0.2/(b − a), κ₂ = 2, n₀ = 1.
 * @throws RangeError unless low < high, both finite.
 */
export function findRoot(
  f: (x: number) => number,
  low: number,
  high: number,
  tolerance = 1e-12 * (high - low),
): RootResult {
  if (!(Number.isFinite(low) && Number.isFinite(high) && low < high)) {
    throw new RangeError(`Bracket ${low} … ${high}: low < high expected, both finite.`);
  }
  const atLow = f(low);
  if (!Number.isFinite(atLow)) return { status: 'notFinite', x: low };
  if (atLow === 0) return { status: 'found', x: low, residual: 0, evaluations: 1 };
  const atHigh = f(high);
  if (!Number.isFinite(atHigh)) return { status: 'notFinite', x: high };
  if (atHigh === 0) return { status: 'found', x: high, residual: 0, evaluations: 2 };
  if (atLow > 0 === atHigh > 0) return { status: 'noBracket', atLow, atHigh };

  // Below the spacing of floating-point numbers there is nothing to halve.
  const least = Math.max(
    tolerance,
    2 * Number.EPSILON * Math.max(Math.abs(low), Math.abs(high)),
    1e-300,
  );
  const most = Math.max(0, Math.ceil(Math.log2((high - low) / (2 * least)))) + 1;
  let [a, b, fa, fb] = [low, high, atLow, atHigh];
  let evaluations = 2;
  for (let step = 0; b - a > 2 * least && step <= most; step++) {
    const x = itpPoint(a, b, fa, fb, least * 2 ** (most - step), 0.2 / (high - low));
    const fx = f(x);
    evaluations++;
    if (!Number.isFinite(fx)) return { status: 'notFinite', x };
    if (fx === 0) return { status: 'found', x, residual: 0, evaluations };
    if (fx > 0 === fa > 0) [a, fa] = [x, fx];
    else [b, fb] = [x, fx];
  }
  const [x, residual] = Math.abs(fa) < Math.abs(fb) ? [a, fa] : [b, fb];
  const small = 0.5 * Math.min(Math.abs(atLow), Math.abs(atHigh));
  const jump =
    Math.abs(residual) >= small &&
    Math.abs(residual) > 1e-9 * Math.max(Math.abs(atLow), Math.abs(atHigh));
  return jump ? { status: 'jump', x, evaluations } : { status: 'found', x, residual, evaluations };
}

/** Interpolate, truncate toward the middle, project into the reach that keeps bisection's guarantee. */
function itpPoint(
  a: number,
  b: number,
  fa: number,
  fb: number,
  radius: number,
  k1: number,
): number {
  const middle = (a + b) / 2;
  const falsePosition = (fb * a - fa * b) / (fb - fa);
  const sigma = Math.sign(middle - falsePosition);
  const delta = k1 * (b - a) ** 2;
  const truncated =
    delta <= Math.abs(middle - falsePosition) ? falsePosition + sigma * delta : middle;
  const reach = Math.max(0, radius - (b - a) / 2);
  const x = Math.abs(truncated - middle) <= reach ? truncated : middle - sigma * reach;
  return x > a && x < b ? x : middle;
}
