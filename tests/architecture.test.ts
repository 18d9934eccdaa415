import { readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

/**
 * The house of DEVELOPERS.md, read from the imports: what each folder may import values from. Types may come from
 * anywhere in the flow; values only from `units`, `numerics`, `types`, `problem` and the steps a step is built from.
 */
const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');

const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  'src/types.ts': [],
  'src/problem.ts': [],
  'src/numerics': ['src/problem.ts'],
  'src/units': ['src/numerics'],
  models: ['src/numerics', 'src/units', 'src/problem.ts'],
  'src/wear': ['src/numerics', 'src/units', 'src/problem.ts', 'models'],
  'src/scenario': ['src/units', 'src/problem.ts', 'src/wear'],
  'src/circuit': ['src/numerics'],
  'src/stage': ['src/numerics', 'src/units', 'models', 'src/circuit'],
  'src/own-circuit': [
    'src/numerics',
    'src/problem.ts',
    'src/circuit',
    'src/stage',
    'src/measure',
    'src/verdict',
  ],
  'src/drawing': ['src/units'],
  'src/uncertainty': ['src/numerics'],
  'src/simulation': ['src/problem.ts'],
  'src/measure': ['src/numerics', 'src/circuit', 'src/problem.ts'],
  'src/verdict': ['src/numerics', 'src/units', 'src/problem.ts'],
  'src/report': ['src/central.ts', 'src/units', 'src/verdict', 'src/drawing', 'src/numerics'],
  'src/central.ts': ['src/measure', 'src/stage', 'src/uncertainty', 'models'],
  'src/line-neighbours.ts': ['src/central.ts', 'src/measure', 'src/stage', 'src/problem.ts'],
  'src/fault-search.ts': ['src/central.ts', 'src/verdict'],
  'src/assess.ts': [
    'src/central.ts',
    'src/fault-search.ts',
    'src/line-neighbours.ts',
    'src/measure',
    'src/stage',
    'src/uncertainty',
    'src/verdict',
    'src/report',
  ],
  'src/places.ts': ['models'],
  'src/cases.ts': [
    'models',
    'src/places.ts',
    'src/wear',
    'src/scenario',
    'src/stage',
    'src/own-circuit',
    'src/problem.ts',
  ],
  'src/decide': [
    'models',
    'src/wear',
    'src/central.ts',
    'src/line-neighbours.ts',
    'src/assess.ts',
    'src/cases.ts',
    'src/numerics',
    'src/units',
    'src/problem.ts',
    'src/circuit',
    'src/measure',
    'src/stage',
    'src/verdict',
    'src/uncertainty',
  ],
};
/** The shells may import all of the core, and each other not at all. */
const SHELLS = ['src/cli', 'src/app', 'components', 'src/build'];
/** Only these may know the DOM or Node. */
const ADAPTERS = ['src/simulation/node', 'src/simulation/browser', ...SHELLS];

function filesBelow(folder: string): string[] {
  return readdirSync(join(root, folder)).flatMap((name) => {
    const path = `${folder}/${name}`;
    if (name === 'generated' || name === 'devices') return [];
    return statSync(join(root, path)).isDirectory()
      ? filesBelow(path)
      : path.endsWith('.ts')
        ? [path]
        : [];
  });
}

interface Import {
  readonly from: string;
  readonly to: string;
  readonly typeOnly: boolean;
}

function importsOf(file: string): Import[] {
  const text = readFileSync(join(root, file), 'utf8');
  return [...text.matchAll(/^(import|export)\s+(type\s+)?([^;]*?)\s*from\s+'([^']+)'/gm)].map(
    (match) => {
      const names = match[3]!;
      const inline =
        /^\{[^}]*\}$/.test(names) &&
        names
          .slice(1, -1)
          .split(',')
          .every((n) => n.trim() === '' || n.trim().startsWith('type '));
      const target = match[4]!;
      return {
        from: file,
        to: target.startsWith('.') ? relative(root, resolve(root, dirname(file), target)) : target,
        typeOnly: match[2] !== undefined || inline,
      };
    },
  );
}

const homeOf = (file: string): string =>
  Object.keys(MAY_IMPORT).find((home) => file === home || file.startsWith(`${home}/`)) ??
  SHELLS.find((home) => file.startsWith(`${home}/`)) ??
  file;

const all = ['src', 'models', 'components'].flatMap(filesBelow);
const imports = all.flatMap(importsOf);

describe('the house', () => {
  test('every file has a home', () => {
    expect(all.filter((file) => homeOf(file) === file && !(file in MAY_IMPORT))).toEqual([]);
  });

  test('a step imports values only from the steps it is built from', () => {
    const wrong = imports.filter(({ from, to, typeOnly }) => {
      const home = homeOf(from);
      if (typeOnly || !to.includes('/') || SHELLS.includes(home)) return false;
      if (!/^(src|models|components)\b/.test(to)) return false;
      const target = homeOf(to);
      return target !== home && to !== 'src/types.ts' && !(MAY_IMPORT[home] ?? []).includes(target);
    });
    expect(wrong.map(({ from, to }) => `${from} -> ${to}`)).toEqual([]);
  });

  test('nothing in the core sees the page, the command line or the components, not even their types', () => {
    const wrong = imports.filter(
      ({ from, to }) => !SHELLS.includes(homeOf(from)) && SHELLS.includes(homeOf(to)),
    );
    expect(wrong.map(({ from, to }) => `${from} -> ${to}`)).toEqual([]);
  });

  test('page and command line do not see each other', () => {
    const wrong = imports.filter(
      ({ from, to }) =>
        (from.startsWith('src/cli/') && /^(src\/app|components)\//.test(to)) ||
        (/^(src\/app|components)\//.test(from) && to.startsWith('src/cli/')),
    );
    expect(wrong.map(({ from, to }) => `${from} -> ${to}`)).toEqual([]);
  });

  test('only the adapters and the shells import Node or a browser library', () => {
    const wrong = imports.filter(
      ({ from, to }) =>
        /^(node:|lit|chart\.js|idb)/.test(to) &&
        !ADAPTERS.some((home) => from.startsWith(home)) &&
        !from.endsWith('.node.ts'),
    );
    expect(wrong.map(({ from, to }) => `${from} -> ${to}`)).toEqual([]);
  });

  test('no file is longer than one idea', () => {
    const long = all
      .map((file) => ({ file, lines: readFileSync(join(root, file), 'utf8').split('\n').length }))
      .filter(({ file, lines }) => lines > 400 && file !== 'src/types.ts');
    expect(long).toEqual([]);
  });
});
