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
