import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Page } from 'playwright-core';
import {
  focused,
  open,
  PREAMPLIFIER,
  serve,
  settled,
  startFrom,
  type Served,
} from './open-page.ts';

/** The main journey by mouse, and what happens when something is wrong. By keyboard: keyboard.test.ts. */

let served: Served;
beforeAll(async () => {
  served = await serve();
}, 120_000);
afterAll(() => served.close());

const LONG = { timeout: 90_000 };

async function preamplifier(): Promise<{
  page: Page;
  complaints: string[];
  readonly close: () => Promise<void>;
}> {
  const { page, complaints, context } = await open(served);
  await startFrom(page, PREAMPLIFIER);
  await settled(page);
  return { page, complaints, close: () => context.close() };
}

const measure = (page: Page, id: string) => page.locator(`measure-table tr[data-measure=${id}]`);

test('the page answers at once for the bundled scenario, without a word typed', LONG, async () => {
  const { page, context, complaints } = await open(served);
  await page.locator('answer-place .verdict h3 status-mark').waitFor({ timeout: 20_000 });
  expect(await page.locator('answer-place .verdict h3').innerText()).toMatch(
    /(Usable|Marginal|Unsuitable|Undetermined) in this socket/,
  );
  expect(complaints).toEqual([]);
  await context.close();
});

test(
  'by mouse: a type, a reading, a part, a limit; each changes the answer and can be undone',
  LONG,
  async () => {
    const { page, complaints, close } = await preamplifier();
    const gain = (): Promise<string> => measure(page, 'gain').locator('.this b').innerText();
    const before = await gain();

    await page.getByLabel('Emission', { exact: true }).fill('24');
    await page.getByLabel('Emission', { exact: true }).blur();
    await settledAfter(page, before, gain);
    const starved = await gain();
    expect(parseFloat(starved)).toBeLessThan(parseFloat(before));

    const load = page.getByLabel(/plate load/).first();
    await load.click();
    await load.fill('47k');
    expect(await page.locator('circuit-drawing .pop').innerText()).toContain('read as 47\u00a0kΩ');
    await load.press('Enter');
    await settledAfter(page, starved, gain);
    const smaller = await gain();
    expect(parseFloat(smaller)).toBeLessThan(parseFloat(starved));

    await page.getByLabel('Limit of Gain').fill('1000');
    await page.getByLabel('Limit of Gain').press('Enter');
    await expect
      .poll(() => page.locator('answer-place .verdict h3').innerText(), { timeout: 20_000 })
      .toContain('Unsuitable');
    await settled(page);
    expect(await measure(page, 'gain').innerText()).toContain('unsuitable');

    for (let i = 0; i < 3; i += 1) await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(gain, { timeout: 20_000 }).toBe(before);
    await page.getByRole('button', { name: 'Redo' }).click();
    await expect.poll(gain, { timeout: 20_000 }).toBe(starved);

    await page.getByRole('combobox', { name: 'Type of tube' }).fill('ecc83');
    await page.getByRole('option', { name: /ECC83/ }).first().click();
    await expect.poll(() => page.locator('tube-place .u').first().innerText()).toMatch(/triode/i);
    expect(complaints).toEqual([]);
    await close();
  },
);

test(
  'M starts the clock, and stamps the minute beside the reading that is entered next',
  LONG,
  async () => {
    const { page, close } = await preamplifier();
    await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
    await page.keyboard.press('m');
    expect(await focused(page)).toBe('Leakage in megohms, new reading');
    await page.getByText(/min\s+stop clock/).waitFor();
    await page.keyboard.type('640');
    await page.keyboard.press('Enter');
    await expect
      .poll(() =>
        page
          .getByLabel(/^Minutes since switch-on, reading/)
          .evaluateAll((all) => all.map((one) => (one as HTMLInputElement).value)),
      )
      .toEqual(['0', '10']);
    await close();
  },
);

test(
  'what is not understood is said at the field, and the last good value stays in force',
  LONG,
  async () => {
    const { page, complaints, close } = await preamplifier();
    const answer = (): Promise<string> => page.locator('measure-table').innerText();
    const before = await answer();
    await page.getByLabel('Emission', { exact: true }).fill('plenty');
    await page.getByLabel('Emission', { exact: true }).press('Enter');
    expect(await page.locator('tube-place').getByRole('alert').innerText()).toContain(
      '“plenty” is not understood',
    );
    const resistor = page.getByLabel(/grid resistor/).first();
    await resistor.fill('2.2 mΩ');
    await resistor.press('Enter');
    expect(await page.locator('circuit-drawing').getByRole('alert').innerText()).toMatch(
      /Did you mean 2\.2\sMΩ/,
    );
    await page.getByLabel('Limit of Gain').fill('import("x")');
    await page.getByLabel('Limit of Gain').press('Enter');
    await page.locator('measure-table').getByRole('alert').waitFor();
    await page.getByLabel('Shorts').fill('grid-cathode 5 ohm');
    await page.getByLabel('Shorts').press('Enter');
    await expect
      .poll(() => page.locator('answer-place .wrong').innerText(), { timeout: 20_000 })
      .toContain('hard short');
    await page.getByLabel('Shorts').fill('none');
    await page.getByLabel('Shorts').press('Enter');
    await settled(page);
    expect((await answer()).split('\n')[0]).toBe(before.split('\n')[0]);
    expect(complaints).toEqual([]);
    await close();
  },
);

test('text from a file is shown as text, whatever it holds', LONG, async () => {
  const { page, context, complaints } = await open(served);
  const nasty = '<img src=x onerror="document.title=1"><script>document.title=2</script>${1}';
  await importText(page, scenario({ title: nasty, tube: 'tin 1', socketTitle: nasty }));
  await settled(page);
  await page.getByText(/names no instrument/).waitFor();
  expect(await page.locator('h1').innerText()).toBe(nasty);
  expect(await page.locator('circuit-drawing .ttl').innerText()).toBe(nasty);
  expect(await page.title()).toContain(nasty);
  expect(complaints).toEqual([]);
  await context.close();
});

test('a worker that dies is said, started again, and the answer comes', LONG, async () => {
  const { page, close } = await preamplifier();
  const flow = page.workers().find((worker) => worker.url().includes('flow'))!;
  await flow.evaluate(() =>
    setTimeout(() => {
      throw new Error('broken on purpose');
    }),
  );
  await page.getByText(/stopped unexpectedly.*started again/).waitFor();
  await page.getByLabel('Emission', { exact: true }).fill('40');
  await page.getByLabel('Emission', { exact: true }).press('Enter');
  expect(await settled(page)).toMatch(/in this socket/);
  await close();
});

test('an edit cancels the run before it, and Stop leaves the central values', LONG, async () => {
  const { page, close } = await preamplifier();
  await page.evaluate(() => {
    const { bench } = document.querySelector('stagefit-app') as unknown as {
      bench: {
        subscribe(f: () => void): void;
        state: { run: { kind: string; long?: boolean } };
        stop(): void;
      };
    };
    bench.subscribe(() => {
      if (bench.state.run.kind === 'computing' && bench.state.run.long === true) bench.stop();
    });
  });
  await page.getByLabel('Emission', { exact: true }).fill('41');
  await page.getByLabel('Emission', { exact: true }).press('Enter');
  const headline = page.locator('answer-place .verdict h3');
  // a machine that is quick enough has settled before there was anything to stop
  await expect
    .poll(() => headline.innerText(), { timeout: 20_000 })
    .toMatch(/central values only|in this socket$/);
  await close();
});

test('no reading: nothing is called usable', LONG, async () => {
  const { page, close } = await preamplifier();
  await page.getByRole('button', { name: 'add', exact: true }).click();
  // at once: the verdict on the tube before must not stand beside this one's name while it is computed
  expect(await page.locator('answer-place .left h3').innerText()).toBe('No reading yet');
  await page.locator('measure-table').waitFor();
  expect(await page.locator('measure-table').innerText()).not.toMatch(/\busable/);
  await close();
});

async function settledAfter(page: Page, before: string, now: () => Promise<string>): Promise<void> {
  await expect.poll(now, { timeout: 20_000 }).not.toBe(before);
  await settled(page);
}

async function importText(page: Page, text: string): Promise<void> {
  await page.getByRole('link', { name: 'Sets' }).click();
  await page.getByText('Paste a scenario').click();
  await page.getByLabel('Text of a scenario').fill(text);
  await page.getByRole('button', { name: 'Take it as a new set' }).click();
}

function scenario({
  title,
  tube,
  socketTitle,
}: {
  title: string;
  tube: string;
  socketTitle: string;
}): string {
  return JSON.stringify({
    format: 'stagefit-scenario',
    version: 1,
    title,
    sockets: [{ id: 'V1', title: socketTitle, stage: 'rc-amplifier', tube: '12AX7' }],
    tubes: [{ id: tube, type: '12AX7', section: '1', readings: { emission: { percent: 80 } } }],
  });
}
