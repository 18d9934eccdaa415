import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readerContext } from '../../src/cases.ts';
import { acceptanceMap } from '../../src/decide/map.ts';
import { csvText } from '../../src/report/csv.ts';
import { mapTable } from '../../src/report/tables.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { rememberingSimulator } from '../../src/simulation/remembering.ts';
import {
  open,
  PREAMPLIFIER,
  serve,
  settled,
  startFrom,
  violations,
  type Served,
} from './open-page.ts';

/** The places beside the bench, by mouse and keyboard: check in the set, what a socket accepts, lessons. */

const FILE = new URL('../../scenarios/bench-said-otherwise/scenario.json', import.meta.url);

let served: Served;
beforeAll(async () => {
  served = await serve();
}, 120_000);
afterAll(() => served.close());

const LONG = { timeout: 90_000 };

test(
  'in the set: what is typed is weighed, kept with the set, and a field that is not understood says so',
  LONG,
  async () => {
    const { page, context, complaints } = await open(served);
    await startFrom(page, PREAMPLIFIER);
    await settled(page);
    await page.getByRole('link', { name: 'In the set' }).click();
    const plate = page.getByLabel('You read: plate', { exact: true });
    await plate.waitFor({ timeout: 60_000 });
    expect(await page.getByText('The voltages in such a set kill').isVisible()).toBe(true);
    await plate.fill('forty');
    await plate.press('Tab');
    expect(await page.getByRole('alert').innerText()).toContain('“forty” is not understood');
    await plate.fill('45 V');
    await plate.press('Tab');
    const grid = page.getByLabel('You read: grid', { exact: true });
    await grid.fill('0');
    await grid.press('Tab');
    await page
      .getByRole('heading', { name: 'What explains the readings' })
      .waitFor({ timeout: 60_000 });
    expect(await page.locator('in-set-view ol li').first().innerText()).toMatch(/^\d+ %/);
    expect(await violations(page)).toEqual([]);
    await expect.poll(() => page.locator('[data-saved]').getAttribute('data-saved')).toBe('saved');
    await page.reload();
    await expect.poll(() => plate.inputValue(), { timeout: 60_000 }).toMatch(/^45\sV$/);
    expect(complaints).toEqual([]);
    await context.close();
  },
);

test('learn: a slider moved by the keyboard gives another finding', LONG, async () => {
  const { page, context, complaints } = await open(served, { path: '#learn' });
  const finding = page.locator('learn-view .finding');
  await finding.waitFor({ timeout: 60_000 });
  const first = await finding.innerText();
  expect(first).toMatch(/\d/);
  await page.getByRole('slider', { name: 'grid resistor' }).focus();
  await page.keyboard.press('Home');
  await expect.poll(() => finding.innerText(), { timeout: 60_000 }).not.toBe(first);
  await page.getByRole('button', { name: 'Contact bias gives way' }).click();
  await expect.poll(() => finding.innerText(), { timeout: 60_000 }).toContain('Ohm’s law');
  expect(complaints).toEqual([]);
  await context.close();
});

test(
  'accepts: a long search says what it is at, can be stopped and gone on with',
  LONG,
  async () => {
    const { page, context, complaints } = await open(served, { path: '#accept' });
    const stop = page.getByRole('button', { name: 'Stop' });
    await stop.waitFor({ timeout: 60_000 });
    await stop.click();
    await page.getByText('Stopped.').waitFor();
    await page.getByRole('button', { name: 'Go on' }).click();
    await stop.waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  },
);

test(
  'map: can be stopped and gone on with, and finds what the command line finds',
  { timeout: 240_000 },
  async () => {
    const { page, context, complaints } = await open(served);
    await startFrom(page, PREAMPLIFIER);
    await page.getByRole('link', { name: 'Map' }).click();
    const stop = page.getByRole('button', { name: 'Stop' });
    await stop.waitFor({ timeout: 60_000 });
    await stop.click();
    await page.getByText('Stopped.').waitFor();
    await page.getByRole('button', { name: 'Go on' }).click();
    const [tube, socket] = [
      await page.getByLabel('Tube').inputValue(),
      await page.getByLabel('Socket').inputValue(),
    ];
    const finding = page.locator('map-view .finding');
    await finding.first().waitFor({ timeout: 120_000 });
    const simulator = rememberingSimulator(nodeSimulator({ workers: 2 }));
    const scenario = readScenario(readFileSync(FILE, 'utf8'), readerContext('scenario.json'));
    const map = await acceptanceMap(
      scenario,
      scenario.sockets.find(({ id }) => id === socket)!,
      simulator,
      { tube: scenario.tubes.find(({ id }) => id === tube)! },
    ).finally(() => simulator.close());
    expect(await finding.allTextContents()).toEqual(map.finding.sentences);
    await page.getByRole('button', { name: 'table' }).click();
    expect(await violations(page)).toEqual([]);
    const download = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Keep as CSV' }).click();
    // other workers share the rows out otherwise, so that margins may differ in their last digits
    const words = (csv: string): string[] =>
      csv
        .split('\r\n')
        .map((line) => line.split(',').slice(2, 4).concat(line.split(',').slice(6, 7)).join());
    expect(words(readFileSync(await (await download).path(), 'utf8'))).toEqual(
      words(csvText(mapTable(map))),
    );
    expect(complaints).toEqual([]);
    await context.close();
  },
);
