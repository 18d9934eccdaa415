import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, expect, test } from 'vitest';
import type { PlacedSymbol } from '../../src/drawing/drawing.ts';
import type { Point } from '../../src/drawing/geometry.ts';
import { layOut } from '../../src/drawing/layout.ts';
import { DRAWING_STYLE } from '../../src/drawing/style.ts';
import { toSvg } from '../../src/drawing/svg.ts';
import { SYMBOLS } from '../../src/drawing/symbols.ts';
import { VARIANTS, type Variant } from './variants.ts';

/** Writes each stage as an SVG file into test-artefacts/drawing, by day and by night, to be looked at. */

const root = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
const folder = join(root, 'test-artefacts/drawing');
const tokens = readFileSync(join(root, 'components/look/tokens.css'), 'utf8');

/** Invented volts, so that tags have their usual width. */
const INVENTED_V: Readonly<Record<string, number>> = { p: 239.4, s: 144.2, g: -5.02, k: 0.742 };

function svgOf({ drawing }: Variant, scheme: 'light' | 'dark'): string {
  const volts = Object.fromEntries(
    drawing.tags.map(({ node }) => [node, INVENTED_V[node] ?? -12.35]),
  );
  return toSvg(drawing, {
    nodeVolts: { newTube: volts, thisTube: volts },
    style: `${tokens}\n:root { color-scheme: ${scheme} !important; background: var(--paper); }\n${DRAWING_STYLE}`,
  });
}

beforeAll(() => mkdirSync(folder, { recursive: true }));

const looked = VARIANTS.filter(
  ({ name }) => !/ -?\d+(\.\d+)?(e[-+]?\d+)?$/.test(name) || name.endsWith(' 0'),
);

test.each(looked.map((variant) => [variant.name, variant] as const))(
  'a picture of %s is written as well-formed SVG',
  (name, variant) => {
    for (const scheme of ['light', 'dark'] as const) {
      const svg = svgOf(variant, scheme);
      const markup = svg.replace(/<!\[CDATA\[.*?\]\]>/s, '');
      const opened = [...markup.matchAll(/<([a-z]+)[^>]*?(\/?)>/g)].filter((m) => m[2] === '');
      const closed = [...markup.matchAll(/<\/([a-z]+)>/g)];
      expect(counted(opened.map((m) => m[1]!))).toEqual(counted(closed.map((m) => m[1]!)));
      expect(markup).not.toMatch(/NaN|undefined|Infinity/);
      writeFileSync(join(folder, `${name.replaceAll(/[^\w.-]+/g, '-')}.${scheme}.svg`), svg);
    }
  },
);

test('a picture of every symbol is written, those that no stage uses yet among them', () => {
  const shapes = Object.values(SYMBOLS);
  const empty = layOut({ title: 'every symbol', parts: [] });
  const symbols = shapes.map((shape, i): PlacedSymbol => {
    const at: Point = [7 + 15 * (i % 4), 12 + 19 * Math.floor(i / 4)];
    return { part: shape.name, shape, at, turn: 0, pins: [], body: [], leads: [] };
  });
  const svg = toSvg(
    { ...empty, symbols, height: 12 + 19 * Math.ceil(shapes.length / 4) },
    {
      style: `${tokens}\n:root { color-scheme: light; background: var(--paper); }\n${DRAWING_STYLE}`,
    },
  );
  expect(svg.match(/<g class="symbol/g)).toHaveLength(shapes.length);
  writeFileSync(join(folder, 'symbols.light.svg'), svg);
});

/** How often each name occurs. */
function counted(names: readonly string[]): Record<string, number> {
  const counts: Record<string, number> = {};
  for (const name of names) counts[name] = (counts[name] ?? 0) + 1;
  return counts;
}
