import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  ARTEFACTS,
  open,
  PREAMPLIFIER,
  serve,
  settled,
  startFrom,
  violations,
  type Served,
} from './open-page.ts';

/** Every view, wide and narrow, by day and by night: no violation that axe-core finds, no sideways scrolling; kept as pictures. */

let served: Served;
beforeAll(async () => {
  served = await serve();
  mkdirSync(ARTEFACTS, { recursive: true });
}, 120_000);
afterAll(() => served.close());

const SIZES = {
  wide: { width: 1440, height: 1000 },
  narrow: { width: 390, height: 844 },
} as const;
const VIEWS = ['in-set', 'accept', 'map', 'place', 'learn', 'sets', 'instrument', 'keys'] as const;

const LOOKS = [
  ['wide', 'light'],
  ['wide', 'dark'],
  ['narrow', 'light'],
  ['narrow', 'dark'],
] as const;

describe('every view', () => {
  test.each(LOOKS)('%s, %s', { timeout: 90_000 }, async (name, colorScheme) => {
    const viewport = SIZES[name];
    const { page, context, complaints } = await open(served, {
      viewport,
      colorScheme,
      reducedMotion: 'reduce',
    });
    await startFrom(page, PREAMPLIFIER);
    await settled(page);
    await page.locator('section.figs curve-chart canvas').nth(3).waitFor();
    const look = async (view: string): Promise<void> => {
      await page.screenshot({
        path: join(ARTEFACTS, `${view}-${name}-${colorScheme}.png`),
        fullPage: true,
      });
      expect(await violations(page), view).toEqual([]);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
        `${view} scrolls sideways`,
      ).toBeLessThanOrEqual(0);
    };
    await look('bench');
    for (const view of VIEWS) {
      await page.goto(`${served.url}#${view}`);
      await page.getByRole('heading', { level: 2 }).first().waitFor();
      await look(view);
    }
    expect(complaints).toEqual([]);
    await context.close();
  });
});

test(
  'at 200 % zoom, and with the text doubled, everything is still within the page',
  { timeout: 60_000 },
  async () => {
    // half the CSS width is what 200 % zoom of a 1280 px window is (WCAG 1.4.4, 1.4.10)
    const { page, context } = await open(served, {
      viewport: { width: 640, height: 512 },
      deviceScaleFactor: 2,
    });
    await settled(await preamplifier(page));
    expect(
      await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
    ).toBeLessThanOrEqual(0);
    await context.close();
  },
);

test(
  'the printed sheet holds tube, drawing and answer, and no buttons',
  { timeout: 60_000 },
  async () => {
    const { page, context } = await open(served);
    await settled(await preamplifier(page));
    await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
    expect(await page.locator('nav').isVisible()).toBe(false);
    expect(await page.getByRole('button', { name: 'Undo' }).isVisible()).toBe(false);
    expect(await page.locator('answer-place .verdict h3').isVisible()).toBe(true);
    expect(await page.evaluate(() => getComputedStyle(document.body).backgroundColor)).toBe(
      'rgb(255, 255, 255)',
    );
    await page.screenshot({ path: join(ARTEFACTS, 'print.png'), fullPage: true });
    await context.close();
  },
);

async function preamplifier(page: Awaited<ReturnType<typeof open>>['page']): Promise<typeof page> {
  await startFrom(page, PREAMPLIFIER);
  return page;
}
