import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readTable } from '../../src/scenario/csv-table.ts';
import {
  ARTEFACTS,
  open,
  PREAMPLIFIER,
  serve,
  settled,
  startFrom,
  type Served,
} from './open-page.ts';

/** What can be taken away from an answer: the sheet, the label for the tube's box, the table and the JSON. */

let served: Served;
beforeAll(async () => {
  served = await serve();
}, 120_000);
afterAll(() => served.close());

type Answered = Awaited<ReturnType<typeof open>> & { readonly headline: string };
let opened: Promise<Answered> | undefined;

/** One page with its answer, for all of these tests. */
const answered = (): Promise<Answered> =>
  (opened ??= (async () => {
    const found = await open(served);
    await startFrom(found.page, PREAMPLIFIER);
    return { ...found, headline: await settled(found.page) };
  })());

/** Pages of a PDF, which names each in an object of its own. */
const pagesOf = (pdf: Buffer): number => pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)!.length;

/** A4 and Letter are 182 and 188 mm wide within the margins. */
const PAPER_px = 688;
const sticksOut = (page: Answered['page']): Promise<number> =>
  page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

test(
  'a sheet has no controls and nothing beyond its edge, on A4 and on Letter',
  { timeout: 120_000 },
  async () => {
    const { page, complaints } = await answered();
    for (const [view, shown] of [
      ['bench', 'answer-place .verdict h3'],
      ['in-set', 'in-set-view table'],
    ] as const) {
      await page.goto(`${served.url}#${view}`);
      await page.locator(shown).first().waitFor({ timeout: 60_000 });
      for (const format of ['A4', 'Letter']) {
        const pages = pagesOf(
          await page.pdf({ format, path: join(ARTEFACTS, `${view}-${format}.pdf`) }),
        );
        expect(pages, `${view} on ${format}`).toBeGreaterThan(0);
        expect(pages, `${view} on ${format}`).toBeLessThanOrEqual(view === 'bench' ? 4 : 2);
      }
      await page.setViewportSize({ width: PAPER_px, height: 900 });
      await page.emulateMedia({ media: 'print' });
      expect(await page.locator(shown).first().isVisible()).toBe(true);
      expect(await page.locator('button:visible, nav:visible, summary:visible').count(), view).toBe(
        0,
      );
      expect(await sticksOut(page), view).toBeLessThanOrEqual(0);
      expect(await page.getByText('The voltages in such a set kill').first().isVisible()).toBe(
        true,
      );
      await page.emulateMedia({ media: null });
      await page.setViewportSize({ width: 1440, height: 900 });
    }
    await page.goto(`${served.url}#bench`);
    expect(complaints).toEqual([]);
  },
);

test(
  'the label is printed alone, 70 mm wide, with the verdict of the answer; then the page is back',
  { timeout: 120_000 },
  async () => {
    const { page, headline } = await answered();
    // a headless browser has no dialogue in which to wait
    await page.evaluate(() => {
      globalThis.print = () => undefined;
    });
    await page.getByRole('button', { name: 'Print label' }).click();
    const label = page.locator('tube-label article');
    await label.waitFor({ state: 'attached' });
    expect(await label.isVisible()).toBe(false);
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('stagefit-app').isVisible()).toBe(false);
    const text = await label.innerText();
    expect(text).toContain(headline.split(' ')[0]);
    expect(text).toContain('12AX7');
    expect(text).toContain('called bad');
    expect(text).toMatch(/Emission 36 div/);
    const { width, height } = (await label.boundingBox())!;
    const mm = 96 / 25.4;
    expect(width / mm).toBeCloseTo(70, 0);
    expect(height / mm).toBeCloseTo(36, 0);
    expect(pagesOf(await page.pdf({ width: '70mm', height: '36mm' }))).toBe(1);
    // the browser tells when it has printed
    expect(await page.locator('tube-label').count()).toBe(0);
    await page.emulateMedia({ media: null });
    expect(await page.locator('stagefit-app').isVisible()).toBe(true);
  },
);

test('Save CSV and Save JSON give the same numbers', { timeout: 120_000 }, async () => {
  const { page } = await answered();
  const saved = async (name: string): Promise<{ file: string; text: string }> => {
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name }).click(),
    ]);
    return {
      file: download.suggestedFilename(),
      text: readFileSync(await download.path(), 'utf8'),
    };
  };
  const [csv, json] = [await saved('Save CSV'), await saved('Save JSON')];
  expect([csv.file, json.file]).toEqual([
    'called-bad-in-preamplifier.csv',
    'called-bad-in-preamplifier.json',
  ]);
  const { header, rows } = readTable(csv.text, csv.file);
  const at = (name: string): number => header.findIndex(({ text }) => text === name);
  const [{ measures }] = (
    JSON.parse(json.text) as {
      assessments: [{ measures: { id: string; value: number | null; low: number | null }[] }];
    }
  ).assessments;
  expect(
    rows
      .slice(0, measures.length)
      .map((row) => ['id', 'value', 'low'].map((name) => row[at(name)]!.text)),
  ).toEqual(measures.map(({ id, value, low }) => [id, String(value ?? ''), String(low ?? '')]));
});
