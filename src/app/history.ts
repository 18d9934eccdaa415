/** Undo and redo as two lists; what is now is kept by the owner. Values are immutable, so an entry costs little. */
export interface History<T> {
  readonly past: readonly T[];
  readonly future: readonly T[];
}

export const noHistory = { past: [], future: [] } as const;

const MOST = 200;

/** After a change: `before` can be come back to, what had been undone cannot. */
export const changed = <T>({ past }: History<T>, before: T): History<T> => ({
  past: [...past, before].slice(-MOST),
  future: [],
});

export function undone<T>(
  { past, future }: History<T>,
  now: T,
): { readonly history: History<T>; readonly value: T } | undefined {
  const value = past.at(-1);
  return value === undefined
    ? undefined
    : { history: { past: past.slice(0, -1), future: [now, ...future] }, value };
}

export function redone<T>(
  { past, future }: History<T>,
  now: T,
): { readonly history: History<T>; readonly value: T } | undefined {
  const [value, ...rest] = future;
  return value === undefined
    ? undefined
    : { history: { past: [...past, now], future: rest }, value };
}
