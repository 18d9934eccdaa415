import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readerContext } from '../../src/cases.ts';
import { readScenario } from '../../src/scenario/read.ts';
import type { Report } from '../../src/types.ts';
import { open, openIn, PREAMPLIFIER, serve, settled, startFrom, type Served } from './open-page.ts';

/** Nothing that was typed is lost: reload, two tabs, blocked storage, no network, files in and out. */

let served: Served;
beforeAll(async () => {
  served = await serve();
}, 120_000);
afterAll(() => served.close());

const LONG = { timeout: 90_000 };
const emission = (page: Page) => page.getByLabel('Emission', { exact: true });
const saved = (page: Page) => page.locator('[data-saved=saved]').waitFor({ timeout: 20_000 });

async function read(page: Page, percent: string): Promise<void> {
  await emission(page).fill(percent);
  await emission(page).press('Enter');
}

async function preamplifier() {
  const opened = await open(served);
  await startFrom(opened.page, PREAMPLIFIER);
  await emission(opened.page).waitFor();
  return opened;
}

test(
  'what was typed is there after a reload, within a second and without a button',
  LONG,
  async () => {
    const { page, context } = await preamplifier();
    await read(page, '47');
    await saved(page);
    await page.reload();
    await expect.poll(() => emission(page).inputValue()).toBe('47');
    expect(await page.locator('h1').innerText()).toContain('bench said otherwise');
    await context.close();
  },
);

test(
  'two tabs on one set: the quiet one follows, and what both changed is kept twice',
  LONG,
  async () => {
    const { page, context } = await preamplifier();
    await read(page, '47');
    await saved(page);
    const other = (await openIn(context, served.url)).page;
    await expect.poll(() => emission(other).inputValue()).toBe('47');
    await read(page, '52');
    await saved(page);
    await expect.poll(() => emission(other).inputValue()).toBe('52');

    // a tab that was not told, as one that slept: its own save must not overwrite
    await other.evaluate(() => {
      const { bench } = document.querySelector('stagefit-app') as unknown as {
        bench: { channel: BroadcastChannel };
      };
      bench.channel.close();
    });
    await read(page, '55');
    await saved(page);
    await read(other, '33');
    await other.getByText(/changed in another tab/).waitFor();
    expect(await emission(other).inputValue()).toBe('33');
    expect(await emission(page).inputValue()).toBe('55');
    await other.getByRole('link', { name: 'Sets' }).click();
    const kept = await other.locator('sets-view li').allInnerTexts();
    expect(
      kept.filter((line) => /bench said otherwise/i.test(line) && /open/.test(line)),
    ).toHaveLength(2);
    await context.close();
  },
);

test(
  'storage that is blocked or full is said, with the file as the way out; the work goes on',
  LONG,
  async () => {
    const context = await served.browser.newContext({ viewport: { width: 1440, height: 900 } });
    await context.addInitScript(() => {
      IDBObjectStore.prototype.put = () => {
        throw new DOMException('full', 'QuotaExceededError');
      };
    });
    const { page } = await openIn(context, served.url);
    await page.getByText(/Not saved: the browser’s storage is full/).waitFor();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'keep a file' }).click(),
    ]);
    expect(download.suggestedFilename()).toMatch(/\.json$/);
    await read(page, '44');
    expect(await emission(page).inputValue()).toBe('44');
    await context.close();

    const blocked = await served.browser.newContext();
    await blocked.addInitScript(() => {
      indexedDB.open = () => {
        throw new DOMException('no', 'SecurityError');
      };
    });
    const second = await openIn(blocked, served.url);
    await second.page.getByText(/Not saved: the browser blocks storage/).waitFor();
    await second.page.locator('answer-place .verdict h3 status-mark').waitFor({ timeout: 20_000 });
    await blocked.close();
  },
);

test('a kept set that no longer reads is said, and its text can be kept', LONG, async () => {
  const { page, context } = await preamplifier();
  await saved(page);
  await page.evaluate(
    () =>
      new Promise<void>((done) => {
        const request = indexedDB.open('stagefit');
        request.addEventListener('success', () => {
          const transaction = request.result.transaction('sets', 'readwrite');
          const store = transaction.objectStore('sets');
          const all = store.getAll();
          all.addEventListener('success', () => {
            for (const set of all.result as { text: string }[])
              store.put({ ...set, text: set.text.slice(0, 300) });
          });
          transaction.addEventListener('complete', () => {
            request.result.close();
            done();
          });
        });
      }),
  );
  await page.reload();
  await page.getByText('This set cannot be read any more').waitFor();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Keep its text as a file' }).click(),
  ]);
  expect(readFileSync(await download.path(), 'utf8')).toHaveLength(300);
  await context.close();
});

test(
  'a file that is no scenario changes nothing, and everything found in it is said',
  LONG,
  async () => {
    const { page, context } = await preamplifier();
    await page.getByRole('link', { name: 'Sets' }).click();
    await page.locator('input[type=file]').setInputFiles({
      name: 'odd.json',
      mimeType: 'application/json',
      buffer: Buffer.from(
        '{"format": "stagefit-scenario", "version": 1, "title": "x", "sockets": [{"id": "V1", "stage": "no-such-stage", "tube": "12AX7"}], "tubes": [{"id": "a", "type": "99ZZ9", "readings": {}}]}',
      ),
    });
    const said = await page.locator('sets-view').getByRole('alert').innerText();
    expect(said).toContain('odd.json was not taken');
    expect(said).toContain('no-such-stage');
    expect(said).toContain('99ZZ9');
    await page.getByRole('link', { name: 'Bench' }).click();
    expect(await page.locator('h1').innerText()).toContain('bench said otherwise');
    await context.close();
  },
);

test(
  'what the page exports gives the same report on the command line, and comes back unchanged',
  { timeout: 180_000 },
  async () => {
    const { page, context } = await preamplifier();
    await read(page, '28');
    await settled(page);
    await page.getByRole('link', { name: 'Sets' }).click();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Keep it as a file' }).click(),
    ]);
    const text = readFileSync(await download.path(), 'utf8');
    const shown = await reportOf(page);

    const scenario = readScenario(text, readerContext('exported'));
    expect(scenario.tubes[0]!.readings.emission).toEqual([{ divisions: 28 }]);
    const again = byCommandLine(text, shown);
    expect(again.verdict).toBe(shown.verdict);
    expect(again.decidedBy).toEqual(shown.decidedBy);
    expect(again.measures.map(({ id, status, reason }) => [id, status, reason])).toEqual(
      shown.measures.map(({ id, status, reason }) => [id, status, reason]),
    );
    for (const [i, measure] of again.measures.entries()) {
      const there = shown.measures[i]!;
      for (const key of ['value', 'low', 'high', 'newTube'] as const)
        if (measure[key] === null) expect(there[key], measure.id).toBeNull();
        else
          expect(Math.abs(there[key]! - measure[key]), `${measure.id} ${key}`).toBeLessThanOrEqual(
            1e-3 * Math.abs(measure[key]) + 1e-9,
          );
    }

    await page.locator('input[type=file]').setInputFiles({
      name: 'back.json',
      mimeType: 'application/json',
      buffer: Buffer.from(text),
    });
    await settled(page);
    await page.getByRole('link', { name: 'Sets' }).click();
    const [second] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Keep it as a file' }).click(),
    ]);
    expect(readFileSync(await second.path(), 'utf8')).toBe(text);
    await context.close();
  },
);

type Assessed = Pick<Report, 'verdict' | 'decidedBy' | 'measures'>;

/** What the built program says of the same tube in the same socket. */
function byCommandLine(text: string, { tube, socket }: Report): Assessed {
  const args = ['assess', '-', '--tube', tube.id, '--socket', socket.id, '--json'];
  const { stdout, stderr } = spawnSync(process.execPath, ['dist/cli/stagefit.js', ...args], {
    input: text,
    encoding: 'utf8',
    timeout: 120_000,
    maxBuffer: 1e8,
  });
  expect(stderr).toBe('');
  const { assessments } = JSON.parse(stdout) as { assessments: Assessed[] };
  expect(assessments).toHaveLength(1);
  return assessments[0]!;
}

const reportOf = (page: Page): Promise<Report> =>
  page.evaluate(
    () =>
      (
        document.querySelector('stagefit-app') as unknown as {
          bench: { state: { report: Report } };
        }
      ).bench.state.report,
  );

test(
  'an instrument is set up once, kept, and its readings are asked in its own terms',
  LONG,
  async () => {
    const { page, context } = await preamplifier();
    await page
      .getByLabel('Bench', { exact: true })
      .selectOption({ label: 'set up an instrument …' });
    await page.getByLabel('Your name for it').fill('attic box');
    await page.getByLabel('The pointer shows').selectOption('zones');
    await page
      .getByLabel('Your names for the zones, with their percent of new')
      .fill('tired 0-45; so-so 45-70');
    await page.getByLabel('Test voltage', { exact: true }).fill('100 wolts');
    await page.getByRole('button', { name: 'Use and keep this instrument' }).click();
    expect(await page.getByRole('alert').innerText()).toContain('“100 wolts” is not understood');
    await page.getByLabel('Test voltage', { exact: true }).fill('100 V');
    await page.getByRole('button', { name: 'Use and keep this instrument' }).click();
    await page.getByText(/was read in terms that this instrument does not have/).waitFor();
    await page.getByLabel('Emission', { exact: true }).selectOption('so-so');
    await expect.poll(() => page.locator('[data-saved]').getAttribute('data-saved')).toBe('saved');
    await page.reload();
    expect(await page.getByLabel('Bench', { exact: true }).inputValue()).toBe('attic box');
    expect(await page.getByLabel('Emission', { exact: true }).inputValue()).toBe('so-so');
    await context.close();
  },
);

// last: it takes the server away
test('with the server gone the page opens and answers from what it stored', LONG, async () => {
  const { page, context, complaints } = await open(served);
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  const manifest = await page.evaluate(
    async () =>
      (await fetch('./manifest.webmanifest')).json() as Promise<{ name: string; icons: unknown[] }>,
  );
  expect(manifest.name).toBe('Stagefit');
  expect(manifest.icons).toHaveLength(1);
  const policy = (await page.request.get(served.url)).headers()['content-security-policy'];
  expect(policy).toMatch(/default-src 'none'.*frame-ancestors 'none'/);
  await served.stopServer();
  await context.setOffline(true);
  await page.reload();
  await page.locator('answer-place .verdict h3 status-mark').waitFor({ timeout: 20_000 });
  expect(complaints).toEqual([]);
  await context.close();
});
