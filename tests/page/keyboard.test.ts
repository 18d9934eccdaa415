import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { focused, open, serve, type Served } from './open-page.ts';

/** Two journeys of a new user by keyboard alone: nothing is clicked, and the test puts the focus nowhere. */

let served: Served;
beforeAll(async () => {
  served = await serve();
}, 120_000);
afterAll(() => served.close());

const LONG = { timeout: 120_000 };
/** Central values are enough: no journey waits for the intervals. */
const SOON = { timeout: 30_000 };
/** More presses than it takes to go once round the page. */
const ROUND = 150;

/** Tab, until what has the focus is named so. */
async function tabTo(page: Page, name: RegExp, key: 'Tab' | 'Shift+Tab' = 'Tab'): Promise<void> {
  for (let i = 0; i < ROUND; i += 1) {
    await page.keyboard.press(key);
    if (name.test(await focused(page))) return;
  }
  throw new Error(`${key} never reaches ${name}`);
}

async function press(page: Page, name: RegExp, key: 'Tab' | 'Shift+Tab' = 'Tab'): Promise<void> {
  await tabTo(page, name, key);
  await page.keyboard.press('Enter');
}

/** Each one typed and taken by Enter, which goes to the next field. */
async function enter(page: Page, ...typed: string[]): Promise<void> {
  for (const text of typed) {
    await page.keyboard.type(text);
    await page.keyboard.press('Enter');
  }
}

const place = (page: Page): Promise<string | undefined> =>
  page.evaluate(() => document.querySelector('stagefit-app')!.shadowRoot!.activeElement?.tagName);
const verdict = (page: Page): Promise<string> => page.locator('answer-place .verdict').innerText();
/** The word of a measure, "decides" left out. */
const status = (page: Page, id: string): Promise<string> =>
  page.locator(`measure-table tr[data-measure=${id}] .word`).innerText();

test(
  'a doubtful IF tube with rising leakage: its readings, the verdict, and what a smaller resistor changes',
  LONG,
  async () => {
    const { page, context, complaints } = await open(served);
    await page.locator('answer-place .verdict h3 status-mark').waitFor({ timeout: 20_000 });
    await press(page, /^add$/);
    await page.getByText('No reading yet').waitFor();
    await tabTo(page, /^Emission$/);
    await enter(page, '84', '7', 'none');
    expect(await focused(page)).toBe('Leakage in megohms, new reading');
    await page.keyboard.press('Shift+Tab');
    await enter(page, '1', '800M', '3', '0,25 µA', '6', '210', '10', '120');
    expect(await focused(page)).toBe('Minutes since switch-on, new reading');
    await expect
      .poll(() =>
        page
          .getByLabel(/^Leakage in megohms, reading/)
          .evaluateAll((all) => all.map((one) => (one as HTMLInputElement).value)),
      )
      .toEqual(['800', '0.25 µA', '210', '120']);
    await expect.poll(() => status(page, 'biasShift'), SOON).toMatch(/^unsuitable|^marginal/);
    expect(await page.locator('tube-place .say').allInnerTexts()).toContainEqual(
      expect.stringContaining('hot in the set'),
    );

    // out of the field, to the drawing, and the AGC line's resistor made smaller
    await page.keyboard.press('Escape');
    await page.keyboard.press('2');
    expect(await place(page)).toBe('SOCKET-PLACE');
    await tabTo(page, /series resistance of the AGC line/);
    await enter(page, '100k');
    await expect.poll(() => status(page, 'biasShift'), SOON).toBe('usable');
    await page.keyboard.press('Escape');
    await page.keyboard.press('Control+z');
    await expect.poll(() => status(page, 'biasShift'), SOON).not.toBe('usable');
    await page.keyboard.press('3');
    expect(await place(page)).toBe('ANSWER-PLACE');
    await page.keyboard.press('?');
    await page.getByRole('heading', { name: 'Keys' }).waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  },
);

test(
  'two spares for an output stage: a new set, a stage, both tubes read, and which of them goes in',
  LONG,
  async () => {
    const { page, context, complaints } = await open(served);
    await page.getByRole('link', { name: 'Sets' }).waitFor();
    await press(page, /^Sets$/);
    await press(page, /^Start a new set$/);
    await page.getByText('No reading yet').waitFor();
    expect(await focused(page)).toBe('Type of tube');
    await enter(page, '6v6gt', '98', '5', 'none', '>500M');
    await page.keyboard.press('Escape');

    // the stage of its own: arrow keys only pass over the list, Enter adds
    await tabTo(page, /^Add a socket/);
    await page.keyboard.type('Single-ended');
    expect(await sockets(page)).toHaveLength(1);
    await page.keyboard.press('Enter');
    await expect.poll(() => sockets(page)).toHaveLength(2);
    await page.keyboard.press('Escape');
    await page.keyboard.press('[');
    await press(page, /^remove this socket$/);
    await expect.poll(() => sockets(page)).toHaveLength(1);
    // gas is what decides here, and the answer says which reading is missing
    await expect.poll(() => verdict(page), SOON).toMatch(/^Undetermined.*grid current/s);
    await press(page, /^More readings/);
    await tabTo(page, /^Grid current/);
    await enter(page, '0.04', '250', '-12.5');
    await page.keyboard.press('Escape');
    await expect.poll(() => verdict(page), SOON).toMatch(/^Usable/);

    await page.keyboard.press('1');
    await press(page, /^add$/, 'Shift+Tab');
    await tabTo(page, /^Emission$/);
    await enter(page, '48', '30', 'none', '40M');
    await press(page, /^More readings/);
    await tabTo(page, /^Grid current/);
    await enter(page, '6', '250', '-12.5');
    await page.keyboard.press('Escape');
    await expect.poll(() => verdict(page), SOON).toMatch(/^Unsuitable/);

    // back to the first one: the list of tubes follows the arrow keys
    await page.keyboard.press('1');
    await tabTo(page, /^Tube$/, 'Shift+Tab');
    await page.keyboard.press('ArrowUp');
    expect(await page.getByLabel('Tube', { exact: true }).inputValue()).toBe('tube 1');
    await expect.poll(() => verdict(page), SOON).toMatch(/^Usable/);
    expect(complaints).toEqual([]);
    await context.close();
  },
);

const sockets = (page: Page): Promise<string[]> =>
  page.getByRole('group', { name: 'Sockets of this set' }).getByRole('button').allInnerTexts();
