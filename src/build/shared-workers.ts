import { dirname, resolve } from 'node:path';
import type { Plugin } from 'vite';

/** `new Worker(new URL('./x.ts', import.meta.url)`, as Vite's own bundler of workers looks for it. */
const WORKER = /new Worker\(\s*new URL\('(\.[^']+\.ts)', import\.meta\.url\)/g;

/** The workers, and what document and worker fetch once they have started them. */
const AWAITED = ['orker.ts', '/app/main.ts', '/flow/runs.ts'];

/**
 * Builds workers as entries beside the page, so that both load the same chunks: the stages, the tubes and the scenario
 * reader would else be there twice.
 */
export function sharedWorkers(): Plugin {
  return {
    name: 'shared-workers',
    apply: 'build',
    enforce: 'pre',
    transform: {
      filter: { id: /\.ts$/, code: /new Worker\(/ },
      handler(code, id) {
        const text = code.replaceAll(WORKER, (_found, file: string) => {
          const entry = this.emitFile({
            type: 'chunk',
            id: resolve(dirname(id), file),
            name: file.replaceAll(/^.*\/|\.ts$/g, ''),
          });
          return `new Worker(import.meta.ROLLUP_FILE_URL_${entry}`;
        });
        return text === code ? null : { code: text, map: null };
      },
    },
    // the first answer waits for these: they are fetched beside the document's own script, not after it
    transformIndexHtml: {
      order: 'post',
      handler(_html, { bundle = {} }) {
        const files = Object.values(bundle);
        const awaited = files.filter(
          (file) =>
            file.type === 'chunk' &&
            AWAITED.some((end) => file.facadeModuleId?.endsWith(end) === true),
        );
        return awaited.map(({ fileName }) => ({
          tag: 'link',
          attrs: { rel: 'modulepreload', href: `./${fileName}` },
          injectTo: 'head' as const,
        }));
      },
    },
  };
}
