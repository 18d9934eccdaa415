/** Day or night: the system's, until the user says otherwise. Charts redraw on `theme-change`. */
const KEY = 'stagefit-theme';

export function isDark(): boolean {
  const { theme } = document.documentElement.dataset;
  return theme === undefined
    ? matchMedia('(prefers-color-scheme: dark)').matches
    : theme === 'dark';
}

export function setTheme(dark: boolean): void {
  document.documentElement.dataset['theme'] = dark ? 'dark' : 'light';
  try {
    localStorage.setItem(KEY, dark ? 'dark' : 'light');
  } catch {
    // the choice then lasts until the page is left
  }
  document.dispatchEvent(new Event('theme-change'));
}

export function restoreTheme(): void {
  try {
    const kept = localStorage.getItem(KEY);
    if (kept === 'dark' || kept === 'light') document.documentElement.dataset['theme'] = kept;
  } catch {
    // storage is blocked: the system's theme
  }
}

/** Paper is white: what draws in the colours of the screen (the charts) draws in those of the day while printing. */
export function printByDay(): void {
  const { dataset } = document.documentElement;
  const show = (theme: string | undefined): void => {
    if (theme === undefined) delete dataset['theme'];
    else dataset['theme'] = theme;
    document.dispatchEvent(new Event('theme-change'));
  };
  addEventListener('beforeprint', () => {
    const before = dataset['theme'];
    show('light');
    addEventListener('afterprint', () => show(before), { once: true });
  });
}
