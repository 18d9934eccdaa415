import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readerContext } from '../../src/cases.ts';
import { acceptanceMap, type AcceptanceMap } from '../../src/decide/map.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { CARD, PLACED } from './finished.ts';
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
let map: AcceptanceMap;
beforeAll(async () => {
  served = await serve();
  map = await smallMap();
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
      if (view === 'map') await showFinished(page, 'map', map);
      if (view === 'place') await showFinished(page, 'place', PLACED);
      if (view === 'accept') await showFinished(page, 'accept', CARD);
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

/** What the page asks for, of fewer cells: computed once for all pictures of it. */
async function smallMap(): Promise<AcceptanceMap> {
  const file = new URL('../../scenarios/bench-said-otherwise/scenario.json', import.meta.url);
  const scenario = readScenario(readFileSync(file, 'utf8'), readerContext('scenario.json'));
  const simulator = nodeSimulator({ workers: 2 });
  return acceptanceMap(scenario, scenario.sockets[0]!, simulator, {
    tube: scenario.tubes[0]!,
    cells: 13,
  }).finally(() => simulator.close());
}

/** Stops what the page asks for, which takes minutes, and shows another answer in its place. */
async function showFinished(page: Page, view: 'map' | 'place' | 'accept', answer: object) {
  await page.getByRole('button', { name: 'Stop' }).click();
  await page.getByText('Stopped.').waitFor();
  await page.evaluate(
    ([about, given]) => {
      const { bench } = document.querySelector('stagefit-app') as unknown as {
        bench: {
          state: { socket: string; desk: { answers: object } };
          set(part: object): void;
        };
      };
      const { desk, socket } = bench.state;
      const shown =
        about === 'accept'
          ? { ...given, socket: { ...(given as typeof CARD).socket, id: socket } }
          : given;
      bench.set({
        desk: { ...desk, run: { kind: 'idle' }, answers: { ...desk.answers, [about]: shown } },
      });
    },
    [view, answer] as const,
  );
  await page.locator(FINISHED[view]).first().waitFor();
}

const FINISHED = {
  map: 'map-view .finding',
  place: 'place-view .placing',
  accept: 'accept-view .card',
} as const;

async function preamplifier(page: Page): Promise<Page> {
  await startFrom(page, PREAMPLIFIER);
  return page;
}
