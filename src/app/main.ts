import { printByDay, restoreTheme } from './theme.ts';
import './app.ts';

restoreTheme();
printByDay();

/** What is stored for later must not compete with what the page loads now; this script itself may come after the load. */
async function storeForOffline(): Promise<void> {
  if (document.readyState !== 'complete')
    await new Promise((resolve) => addEventListener('load', resolve, { once: true }));
  // the page works without it; only offline needs it
  await navigator.serviceWorker.register('./sw.js').catch(() => undefined);
}

if (import.meta.env.PROD && 'serviceWorker' in navigator) void storeForOffline();
