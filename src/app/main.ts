import type { AnswerState } from '../../components/answer-place/answer-place.ts';
import './app.ts';
import { printByDay, restoreTheme } from './theme.ts';

restoreTheme();
printByDay();

/** Where no answer comes, what is stored for later waits no longer. */
const LONGEST_ms = 10_000;

/** What is stored for later must not compete with what the page loads and answers now. */
async function storeForOffline(): Promise<void> {
  await Promise.race([
    firstAnswer(),
    new Promise((resolve) => {
      setTimeout(resolve, LONGEST_ms);
    }),
  ]);
  // the page works without it; only offline needs it
  await navigator.serviceWorker.register('./sw.js').catch(() => undefined);
}

async function firstAnswer(): Promise<void> {
  await customElements.whenDefined('stagefit-app');
  const { bench } = document.querySelector('stagefit-app')!;
  const stands = ({ kind }: AnswerState): boolean => kind !== 'computing';
  if (stands(bench.state.run)) return;
  await new Promise<void>((resolve) => {
    const stop = bench.subscribe(() => {
      if (!stands(bench.state.run)) return;
      stop();
      resolve();
    });
  });
}

if (import.meta.env.PROD && 'serviceWorker' in navigator) void storeForOffline();
