import { copyFileSync, existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vite';

const at = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const outDir = at('../../dist/cli');

const engineFiles: Plugin = {
  name: 'engine-files',
  closeBundle() {
    copyFileSync(at('../simulation/generated/ngspice.wasm'), `${outDir}/ngspice.wasm`);
    copyFileSync(at('../simulation/NOTICES.md'), `${outDir}/NOTICES.md`);
  },
};

/**
 * The command line and its worker, in dist/cli. `--mode worker` builds the worker alone, beside what is there:
 * all that a test of the engine needs.
 */
export default defineConfig(({ mode }) => {
  const workerOnly = mode === 'worker' || !existsSync(at('../cli/stagefit.ts'));
  return {
    root: at('../..'),
    publicDir: false,
    build: {
      ssr: true,
      target: 'node20',
      outDir,
      emptyOutDir: false,
      minify: false,
      rolldownOptions: {
        input: {
          'worker-node': at('../simulation/node/worker.ts'),
          ...(workerOnly
            ? {}
            : {
                stagefit: at('../cli/stagefit.ts'),
                'batch-worker': at('../cli/batch/worker.ts'),
              }),
        },
        output: { entryFileNames: '[name].js', chunkFileNames: '[name].js' },
      },
    },
    plugins: [engineFiles],
  };
});
