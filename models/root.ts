/**
 * The root of a rising function between two arguments, by bisection with secant steps (the Illinois rule). Ends at the
 * rounding of the argument. Returns the nearer end where there is no change of sign.
 */
export function rootOfRising(f: (x: number) => number, low: number, high: number): number {
  let a = low;
  let b = high;
  let fa = f(a);
  let fb = f(b);
  if (fa >= 0) return a;
  if (fb <= 0) return b;
  let side = 0;
  for (let i = 0; i < 200; i += 1) {
    // Every fourth step halves, so that a flat tail cannot hold the secant back.
    const secant = (a * fb - b * fa) / (fb - fa);
    const x = i % 4 === 3 || !(secant > a && secant < b) ? (a + b) / 2 : secant;
    const fx = f(x);
    if (fx === 0 || b - a <= 4e-16 * (Math.abs(a) + Math.abs(b)) || x === a || x === b) return x;
    if (fx < 0) {
      a = x;
      fa = fx;
      if (side === -1) fb /= 2;
      side = -1;
    } else {
      b = x;
      fb = fx;
      if (side === 1) fa /= 2;
      side = 1;
    }
    if (Math.abs(fx) <= 1e-15) return x;
  }
  return (a + b) / 2;
}
