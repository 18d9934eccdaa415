// Splits node_modules/eecircuit-engine (20 MB, wasm embedded twice as base64) into
//   src/simulation/generated/ngspice.wasm  (6.1 MB)  and  ngspice.mjs (the Emscripten factory only, ~60 kB)
// Runs from npm's "prepare". Every patch must match exactly once, else it fails loudly.
import { readFileSync, writeFileSync, mkdirSync, existsSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { dirname, join } from 'node:path';
const root = join(dirname(fileURLToPath(import.meta.url)), '../..');
const pkgDir = join(root, 'node_modules/eecircuit-engine');
const { version } = JSON.parse(readFileSync(join(pkgDir, 'package.json'), 'utf8'));
const out = join(root, 'src/simulation/generated');
const stamp = `eecircuit-engine ${version} extract 3`;
const stampFile = join(out, 'STAMP');
if (existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp) process.exit(0);
const src = readFileSync(join(pkgDir, 'dist/eecircuit-engine.mjs'), 'utf8');
function once(text, re, to, what) {
  const n = [...text.matchAll(new RegExp(re, 'g'))].length;
  if (n !== 1)
    throw new Error(
      `extract-engine: expected 1 match of ${what}, found ${n} (eecircuit-engine ${version})`,
    );
  return text.replace(new RegExp(re), to);
}
const data = [...src.matchAll(/data:application\/wasm;base64,([A-Za-z0-9+/=]+)/g)].map((m) => m[1]);
if (new Set(data).size !== 1) throw new Error('extract-engine: wasm not found or copies differ');
const wasm = Buffer.from(data[0], 'base64');
if (!WebAssembly.validate(wasm)) throw new Error('extract-engine: not a valid wasm');
const from = src.indexOf('//#region src/spice.js'),
  to = src.indexOf('//#endregion', from);
let js = src.slice(from, to);
js = once(
  js,
  /new URL\("data:application\/wasm;base64,[A-Za-z0-9+/=]+",\s*"" \+ import\.meta\.url\)\.href/,
  '"ngspice.wasm"',
  'wasm URL',
);
js = once(
  js,
  /await new Promise\(\((\w+)\) => \{\s*(\w+)\.handleThings\(\);\s*\}\)/,
  'await $2.handleThings()',
  'handleThings',
);
const mod = /async function \w+\(\w+ = \{\}\) \{\s*var (\w+) = /.exec(js)[1];
js = once(
  js,
  /\n\t\texit: (\w+),/,
  `\n\t\texit: (c) => { ${mod}.onExit?.(c); return $1(c); },`,
  'exit import',
);
// One instance per realm otherwise: the factory sets the global window.prompt, so the newest instance would answer every older one.
js = once(
  js,
  /globalThis\.window\?\.prompt && \((\w+) = window\.prompt\("Input: "\)/,
  `${mod}.getInput && ($1 = ${mod}.getInput()`,
  'stdin prompt',
);
const name = /async function (\w+)\(/.exec(js)[1];
js += `\nexport default ${name};\n`;
mkdirSync(out, { recursive: true });
writeFileSync(join(out, 'ngspice.wasm'), wasm);
writeFileSync(join(out, 'ngspice.mjs'), js);
writeFileSync(
  join(out, 'ngspice.d.mts'),
  `export interface SpiceFS { writeFile(path: string, data: string | Uint8Array): void; readFile(path: string): Uint8Array; unlink(path: string): void; }
export interface SpiceModule { FS: SpiceFS; setGetInput(f: () => string): void; setHandleThings(f: () => Promise<void> | void): void; runThings(...args: string[]): void; onExit?: (code: number) => void; }
export interface SpiceOptions { noInitialRun?: boolean; print?: (s: string) => void; printErr?: (s: string) => void; onExit?: (code: number) => void; onAbort?: (why: unknown) => void; instantiateWasm?: (imports: WebAssembly.Imports, done: (i: WebAssembly.Instance) => void) => unknown; stdin?: () => number | null; preRun?: Array<(m: SpiceModule) => void>; setGetInput?: unknown; setHandleThings?: unknown; runThings?: unknown; }
export default function createSpice(options?: SpiceOptions): Promise<SpiceModule>;
`,
);
// ngspice keeps its version just before the address for bug reports
const strings = wasm.toString('latin1');
const versions = strings
  .slice(0, strings.indexOf('Please file your bug-reports'))
  .slice(-40)
  .match(/\d\d\.\d|\d\d(?!\d)/g);
if (versions?.length !== 1)
  throw new Error(
    `extract-engine: expected one version in the wasm, found ${versions?.join(', ') ?? 'none'}`,
  );
writeFileSync(
  join(out, 'version.mjs'),
  `export const ENGINE = 'ngspice ${versions[0]} (eecircuit-engine ${version})';\n`,
);
writeFileSync(join(out, 'version.d.mts'), 'export declare const ENGINE: string;\n');
writeFileSync(stampFile, stamp);
console.log(
  `extract-engine: wasm ${wasm.length} B sha256 ${createHash('sha256').update(wasm).digest('hex').slice(0, 16)}, js ${js.length} B`,
);
