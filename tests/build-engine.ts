import { execFileSync } from 'node:child_process';
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';

const root = fileURLToPath(new URL('..', import.meta.url));
const worker = join(root, 'dist/cli/worker-node.js');

/** Before the tests: takes the engine out of its package and builds its worker, where either is missing or old. */
export default async function buildEngine(): Promise<void> {
  execFileSync(process.execPath, [join(root, 'src/build/extract-engine.mjs')]);
  const sources = readdirSync(join(root, 'src/simulation'), { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.(ts|mjs|wasm|md)$/.test(name))
    .map((name) => statSync(join(root, 'src/simulation', name)).mtimeMs);
  if (builtAt() > Math.max(...sources)) return;
  await build({
    configFile: join(root, 'src/build/vite.cli.config.ts'),
    mode: 'worker',
    logLevel: 'warn',
  });
}

function builtAt(): number {
  try {
    return statSync(worker).mtimeMs;
  } catch {
    return 0;
  }
}
