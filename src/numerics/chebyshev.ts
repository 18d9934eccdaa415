/** A smooth function of two variables from its values at a few well-chosen points. */

/**
 * The `count` Chebyshev points of an interval, rising: where a polynomial through the values stays close to a smooth function everywhere.
 * Source: L. Trefethen, "Approximation Theory and Approximation Practice", ch. 2 (points of the first kind).
 * @throws RangeError without a point.
 */
export function chebyshevPoints(low: number, high: number, count: number): number[] {
  if (!(Number.isInteger(count) && count > 0))
    throw new RangeError(`${count} points: at least one expected.`);
  return Array.from({ length: count }, (_, k) => {
    const t = -Math.cos((Math.PI * (k + 0.5)) / count);
    return (low + high) / 2 + ((high - low) / 2) * t;
  });
}

export interface Surface {
  at(x: number, y: number): number;
  /**
   * How far it may be off between the points: the sum of the last two coefficients' sizes in each direction, which for a smooth
   * function bounds what was cut off within a small factor.
   */
  readonly doubt: number;
}

/**
 * The polynomial of two variables through values at Chebyshev points.
 *
 * @param values `values[i][k]` at the i-th point of x and the k-th of y
 * @param x ends of the interval of x; `y` of y
 * @throws RangeError unless every row has as many values, all finite.
 */
export function chebyshevSurface(
  values: readonly (readonly number[])[],
  x: readonly [number, number],
  y: readonly [number, number],
): Surface {
  const [rows, columns] = [values.length, values[0]?.length ?? 0];
  if (columns === 0 || values.some((row) => row.length !== columns || !row.every(Number.isFinite)))
    throw new RangeError('Rows of as many finite values each expected.');
  const alongY = values.map((row) => coefficients(row));
  const c = Array.from({ length: columns }, (_, k) =>
    coefficients(alongY.map((row) => row[k] as number)),
  );
  // c[k][i]: of T_i(x) T_k(y)
  let doubt = 0;
  for (let k = 0; k < columns; k++)
    for (let i = 0; i < rows; i++)
      if (k >= columns - 2 || i >= rows - 2) doubt += Math.abs(c[k]?.[i] as number);
  const unit = (place: number, [low, high]: readonly [number, number]): number =>
    (2 * place - low - high) / (high - low);
  return {
    at(px, py) {
      const [u, v] = [unit(px, x), unit(py, y)];
      return clenshaw(
        c.map((of) => clenshaw(of, u)),
        v,
      );
    },
    doubt,
  };
}

/** Coefficients of the Chebyshev polynomials through values at rising points. */
function coefficients(values: readonly number[]): number[] {
  const n = values.length;
  return values.map((_, order) => {
    let sum = 0;
    for (let k = 0; k < n; k++)
      sum += (values[n - 1 - k] as number) * Math.cos((Math.PI * order * (k + 0.5)) / n);
    return ((order === 0 ? 1 : 2) * sum) / n;
  });
}

/** Source: C. Clenshaw, Math. Tables Aids Comput. 9 (1955) 118. */
function clenshaw(c: readonly number[], t: number): number {
  let [b1, b2] = [0, 0];
  for (let k = c.length - 1; k > 0; k--) [b1, b2] = [(c[k] as number) + 2 * t * b1 - b2, b1];
  return (c[0] as number) + t * b1 - b2;
}
