export interface KeyActions {
  /** Whether keys without Ctrl do anything now. */
  single(): boolean;
  place(n: 1 | 2 | 3): void;
  stamp(): void;
  search(): void;
  step(by: 1 | -1): void;
  undo(): void;
  redo(): void;
  help(): void;
}

/** Keys of the whole page. Single keys work outside text fields only. Gives a function that ends it. */
export function listenToKeys(actions: KeyActions): () => void {
  const onKey = (event: KeyboardEvent): void => {
    const key = event.key.toLowerCase();
    const inField = isField(event.composedPath()[0]);
    if ((event.ctrlKey || event.metaKey) && !event.altKey && (key === 'z' || key === 'y')) {
      // a field that is being typed in has its own undo
      if (inField && isDirty(event.composedPath()[0])) return;
      event.preventDefault();
      if (key === 'y' || event.shiftKey) actions.redo();
      else actions.undo();
      return;
    }
    // a field that had something to restore has taken the key for itself
    if (event.key === 'Escape' && inField && !event.defaultPrevented) {
      leave(event.composedPath()[0]);
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey || inField || !actions.single()) return;
    const does: Readonly<Record<string, () => void>> = {
      '1': () => actions.place(1),
      '2': () => actions.place(2),
      '3': () => actions.place(3),
      m: () => actions.stamp(),
      '/': () => actions.search(),
      '[': () => actions.step(-1),
      ']': () => actions.step(1),
      '?': () => actions.help(),
    };
    const act = does[key];
    if (act === undefined) return;
    event.preventDefault();
    act();
  };
  document.addEventListener('keydown', onKey);
  return () => document.removeEventListener('keydown', onKey);
}

const isField = (target: EventTarget | undefined): boolean =>
  target instanceof HTMLTextAreaElement ||
  target instanceof HTMLSelectElement ||
  (target instanceof HTMLInputElement && target.type !== 'checkbox');

/** Fields carry what is in force as their default value. */
const isDirty = (target: EventTarget | undefined): boolean =>
  (target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement) &&
  target.value !== target.defaultValue;

const leave = (target: EventTarget | undefined): void => {
  if (target instanceof HTMLElement) target.blur();
};
