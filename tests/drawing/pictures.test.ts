import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, expect, test } from 'vitest';
import { DRAWING_STYLE } from '../../src/drawing/style.ts';
import { toSvg } from '../../src/drawing/svg.ts';
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
  ({ name }) => !/ -?\d+(\.\d+)?(e[-+]?\d+)?$/.test(name) || / 0$/.test(name),
);

test.each(looked.map((variant) => [variant.name, variant] as const))(
  'a picture of %s is written as well-formed SVG',
  (name, variant) => {
    for (const scheme of ['light', 'dark'] as const) {
      const svg = svgOf(variant, scheme);
      const markup = svg.replace(/<!\[CDATA\[.*?\]\]>/s, '');
      const opened = [...markup.matchAll(/<([a-z]+)[^>]*?(\/?)>/g)].filter((m) => m[2] === '');
      const closed = [...markup.matchAll(/<\/([a-z]+)>/g)];
      expect(opened.map((m) => m[1]).sort()).toEqual(closed.map((m) => m[1]).sort());
      expect(markup).not.toMatch(/NaN|undefined|Infinity/);
      writeFileSync(join(folder, `${name.replaceAll(/[^\w.-]+/g, '-')}.${scheme}.svg`), svg);
    }
  },
);
