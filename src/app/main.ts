import { printByDay, restoreTheme } from './theme.ts';
import './app.ts';

restoreTheme();
printByDay();

// the page works without it; only offline needs it
if (import.meta.env.PROD && 'serviceWorker' in navigator)
  addEventListener(
    'load',
    () => void navigator.serviceWorker.register('./sw.js').catch(() => undefined),
  );
