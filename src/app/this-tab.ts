const TAB = 'stagefit-set';

/** Each tab keeps its own set over a reload; storage for it may be blocked. */
export function rememberedSet(): string | undefined {
  try {
    return sessionStorage.getItem(TAB) ?? undefined;
  } catch {
    return undefined;
  }
}

export function rememberSet(id: string): void {
  try {
    sessionStorage.setItem(TAB, id);
  } catch {
    // only the reload of this tab is less exact without it
  }
}
