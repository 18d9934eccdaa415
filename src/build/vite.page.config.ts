import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { contentPolicy, HEADERS } from './content-policy.ts';
import { precompressed } from './precompressed.ts';
import { serviceWorker } from './service-worker.ts';
import { slimDevices } from './slim-devices.ts';
import { sharedWorkers } from './shared-workers.ts';

const at = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

/** The page: `npm run build:page` writes dist/page, `npm start` builds and serves it on this machine only. */
export default defineConfig({
  root: at('../app'),
  base: './',
  cacheDir: at('../../node_modules/.vite-page'),
  build: {
    outDir: '../../dist/page',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    sourcemap: false,
    // its helper asks for a document, which a worker that fetches a part of itself does not have
    modulePreload: false,
  },
  worker: { format: 'es' },
  server: { host: '127.0.0.1' },
  preview: { host: '127.0.0.1', port: 4180, headers: HEADERS },
  plugins: [
    slimDevices(),
    sharedWorkers(),
    contentPolicy(),
    serviceWorker(),
    precompressed(at('../../node_modules/.cache/stagefit-br'), HEADERS),
  ],
});
