import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { brotliCompressSync, gzipSync } from 'node:zlib';

/** What the built page weighs: what the first verdict waits for, what comes later, the engine. */
const ASSETS = 'dist/page/assets';

export function pageSize(): string[] {
  if (!existsSync(ASSETS)) return ['page: not built (npm run build:page)'];
  const names = readdirSync(ASSETS);
  const scripts = names.filter((name) => name.endsWith('.js'));
  const text = new Map(scripts.map((name) => [name, readFileSync(`${ASSETS}/${name}`, 'utf8')]));
  const gzip_kB = (name: string): number => gzipSync(text.get(name)!, { level: 9 }).length / 1e3;
  // the page's own script and its workers stand in the document; what they import, they wait for
  const first = new Set(named(readFileSync('dist/page/index.html', 'utf8'), scripts));
  for (const name of first)
    for (const imported of named(staticImports(text.get(name)!), scripts)) first.add(imported);
  const later = scripts.filter((name) => !first.has(name));
  const sum = (all: readonly string[]): string =>
    `${all.reduce((kB, name) => kB + gzip_kB(name), 0).toFixed(0)} kB`;
  const each = (all: readonly string[]): string =>
    all
      .map((name) => ({ name, kB: gzip_kB(name) }))
      .sort((a, b) => b.kB - a.kB)
      .map(({ name, kB }) => `${name.replace(/-[\w-]{8}\.js$/, '')} ${kB.toFixed(1)}`)
      .join(', ');
  // the thread of the engine: ngspice's own loader, which belongs to the wasm
  const engine = [...first].filter((name) => name.startsWith('worker-'));
  const own = [...first].filter((name) => !engine.includes(name));
  const wasm_MB = names
    .filter((name) => name.endsWith('.wasm'))
    .reduce(
      (MB, name) => MB + brotliCompressSync(readFileSync(`${ASSETS}/${name}`)).length / 1e6,
      0,
    );
  return [
    `page, scripts to the first verdict, gzip: ${sum(own)} (${each(own)}), and with the engine's loader ${sum([...first])}`,
    `page, scripts that come later, gzip: ${sum(later)} (${each(later)})`,
    `page, engine: wasm ${wasm_MB.toFixed(2)} MB brotli`,
  ];
}

const named = (where: string, files: readonly string[]): string[] =>
  files.filter((name) => where.includes(name));

/** The module names of a built script's `import … from` and `import '…'`, which all stand before its first statement. */
const staticImports = (script: string): string =>
  [...script.matchAll(/\b(?:import|from)\s*["'](\.\/[^"']+)["']/g)].map((found) => found[1]).join();
