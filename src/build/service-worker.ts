import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Plugin } from 'vite';

/**
 * Emits `sw.js`: every built and public file is stored on the first visit, so that the page works with the network off.
 * The hash of all of them names the store; a new build replaces the old one as a whole.
 */
export function serviceWorker(): Plugin {
  let publicDir = '';
  return {
    name: 'service-worker',
    apply: 'build',
    enforce: 'post',
    configResolved(config) {
      publicDir = config.publicDir;
    },
    generateBundle: {
      order: 'post',
      handler(_options, bundle) {
        const built = Object.keys(bundle)
          .filter((file) => !file.endsWith('.map') && file !== 'index.html')
          .sort();
        const published = readdirSync(publicDir).sort();
        const hash = createHash('sha256');
        for (const file of Object.keys(bundle).sort()) {
          const one = bundle[file]!;
          hash.update(file).update(one.type === 'chunk' ? one.code : one.source);
        }
        for (const file of published) hash.update(readFileSync(join(publicDir, file)));
        const store = `stagefit-${hash.digest('hex').slice(0, 12)}`;
        this.emitFile({
          type: 'asset',
          fileName: 'sw.js',
          source: workerText(store, ['./', ...built, ...published]),
        });
      },
    },
  };
}

function workerText(store: string, files: readonly string[]): string {
  return `const STORE = ${JSON.stringify(store)};
const FILES = ${JSON.stringify(files)};
self.addEventListener('install', (event) => event.waitUntil(
  caches.open(STORE)
    .then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: 'no-cache' }))))
    .then(() => self.skipWaiting())));
self.addEventListener('activate', (event) => event.waitUntil(
  caches.keys()
    .then((names) => Promise.all(names.filter((name) => name.startsWith('stagefit-') && name !== STORE).map((name) => caches.delete(name))))
    .then(() => self.clients.claim())));
self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== location.origin) return;
  event.respondWith(caches.open(STORE).then(async (cache) =>
    (event.request.mode === 'navigate' && await cache.match('./')) ||
    await cache.match(event.request, { ignoreSearch: true, ignoreVary: true }) ||
    fetch(event.request)));
});
`;
}
