/**
 * For `hasChanged`: whether a property says something else. The page derives what it shows from its whole state, so that
 * equal values come as new objects; what shows them then stays as it is. For plain data only.
 */
export const differs = (value: unknown, before: unknown): boolean =>
  value !== before && JSON.stringify(value) !== JSON.stringify(before);
