/** Coordinates in which a fit works: a parameter's value, or its logarithm, between its bounds. */
export interface Axis {
  readonly name: string;
  readonly column: number;
  readonly low: number;
  readonly high: number;
  readonly log: boolean;
}

export function toAxis(axis: Axis, value: number): number {
  return axis.log ? Math.log(value) : value;
}

export function toValue(axis: Axis, coordinate: number): number {
  return axis.log ? Math.exp(coordinate) : coordinate;
}

/** The size against which a change counts: the coordinate, but not less than 1e-5 of its range. */
export function sizeOf(axis: Axis, coordinate: number): number {
  return axis.log ? 1 : Math.max(Math.abs(coordinate), 1e-5 * (axis.high - axis.low));
}

export function isAtBound(axis: Axis, coordinate: number): boolean {
  const near = 1e-9 * (axis.high - axis.low);
  return coordinate - axis.low <= near || axis.high - coordinate <= near;
}

export function clamp(coordinate: number, axis: Axis): number {
  return Math.min(axis.high, Math.max(axis.low, coordinate));
}

/** How far one step may go: to the bounds, but on a log axis no more than a decade, where a tangent means little. */
export function reachOf(axis: Axis, coordinate: number): Axis {
  if (!axis.log) return axis;
  return {
    ...axis,
    low: Math.max(axis.low, coordinate - Math.LN10),
    high: Math.min(axis.high, coordinate + Math.LN10),
  };
}
