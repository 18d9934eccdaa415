import { execFileSync } from 'node:child_process';
import { mkdirSync, readdirSync, rmSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readFileSync } from 'node:fs';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { preview, type PreviewServer } from 'vite';
import { expect } from 'vitest';
import { CHROMIUM_ARGS, findChromium } from '../find-chromium.ts';

/** The built page as `npm start` serves it, in the system's Chromium. */

const root = resolve(fileURLToPath(import.meta.url), '../../..');
const CONFIG = join(root, 'src/build/vite.page.config.ts');
const BUILT = join(root, 'dist/page/sw.js');
const LOCK = join(root, 'node_modules/.vite-page-building');
export const ARTEFACTS = join(root, 'test-artefacts');

function newest(folder: string): number {
  return Math.max(
    0,
    ...readdirSync(join(root, folder), { withFileTypes: true }).map((entry) =>
      entry.isDirectory()
        ? newest(`${folder}/${entry.name}`)
        : statSync(join(root, folder, entry.name)).mtimeMs,
    ),
  );
}

const isBuilt = (): boolean => {
  try {
    return (
      statSync(BUILT).mtimeMs >
      Math.max(...['src', 'components', 'models', 'scenarios'].map(newest))
    );
  } catch {
    return false;
  }
};

/** In a process of its own: under the test runner's NODE_ENV the page would be a development build. */
function buildPage(): void {
  const vite = join(root, 'node_modules/vite/bin/vite.js');
  execFileSync(process.execPath, [vite, 'build', '-c', CONFIG, '--logLevel', 'error'], {
    cwd: root,
    env: { ...process.env, NODE_ENV: 'production' },
    stdio: ['ignore', 'ignore', 'inherit'],
  });
}

/** Builds when a source is newer than the page; of several test files that ask at once, one builds and the others wait. */
async function ensureBuilt(): Promise<void> {
  for (let waited_s = 0; !isBuilt(); waited_s += 0.2) {
    try {
      mkdirSync(LOCK);
    } catch {
      // a lock from a run that was killed must not hold every later one
      if (waited_s > 90) rmSync(LOCK, { recursive: true, force: true });
      await new Promise((next) => setTimeout(next, 200));
      continue;
    }
    try {
      if (!isBuilt()) buildPage();
      break;
    } finally {
      rmSync(LOCK, { recursive: true, force: true });
    }
  }
}

export interface Served {
  readonly url: string;
  readonly browser: Browser;
  /** Takes the server away, as when the network is gone. */
  stopServer(): Promise<void>;
  close(): Promise<void>;
}

export async function serve(): Promise<Served> {
  await ensureBuilt();
  const server: PreviewServer = await preview({
    configFile: CONFIG,
    preview: { port: 0 },
    logLevel: 'error',
  });
  const browser = await chromium.launch({
    executablePath: findChromium(),
    args: [...CHROMIUM_ARGS],
  });
  const stopServer = async (): Promise<void> => {
    const { httpServer } = server;
    if ('closeAllConnections' in httpServer) httpServer.closeAllConnections();
    await new Promise((done) => httpServer.close(done));
  };
  return {
    url: server.resolvedUrls!.local[0]!,
    browser,
    stopServer,
    async close() {
      await browser.close();
      await stopServer().catch(() => undefined);
    },
  };
}

export interface Opened {
  readonly page: Page;
  readonly context: BrowserContext;
  /** Everything the page complained of: errors, refused content, requests to elsewhere. */
  readonly complaints: string[];
}

export async function open(
  { browser, url }: Served,
  options: Parameters<Browser['newContext']>[0] & { readonly path?: string } = {},
): Promise<Opened> {
  const { path = '', ...rest } = options;
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, ...rest });
  return { context, ...(await openIn(context, url, path)) };
}

export async function openIn(
  context: BrowserContext,
  url: string,
  path = '',
): Promise<Omit<Opened, 'context'>> {
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(`pageerror: ${error.message}`));
  page.on('request', (request) => {
    const { origin } = new URL(request.url());
    if (
      !request.url().startsWith('data:') &&
      !request.url().startsWith('blob:') &&
      origin !== new URL(url).origin
    )
      complaints.push(`elsewhere: ${request.url()}`);
  });
  await page.goto(url + path);
  return { page, complaints };
}

/** Waits until the answer has its intervals, and gives its headline. */
export async function settled(page: Page): Promise<string> {
  const status = page.locator('answer-place [role=status]');
  await expect.poll(() => status.textContent(), { timeout: 60_000 }).toMatch(/\w/);
  return (await page.locator('answer-place .verdict h3').innerText()).trim();
}

/** Starts from one of the bundled examples, by its title. */
export async function startFrom(page: Page, title: RegExp): Promise<void> {
  const sets = page.getByRole('link', { name: 'Sets' });
  const start = page.getByRole('button', { name: title });
  await sets.click();
  // seen once on a busy machine: the click came to nothing
  await start.waitFor({ timeout: 10_000 }).catch(() => sets.click());
  await start.click();
  await page.getByRole('link', { name: 'Bench' }).click();
}

/** The accessible name of what has the focus, through the shadow roots. */
export function focused(page: Page): Promise<string> {
  return page.evaluate(() => {
    let now: Element | null = document.activeElement;
    while (now?.shadowRoot?.activeElement) now = now.shadowRoot.activeElement;
    if (now === document.body) return '';
    const id = now?.id ?? '';
    const label =
      id === '' ? null : (now!.getRootNode() as ShadowRoot).querySelector(`label[for="${id}"]`);
    return (
      now?.getAttribute('aria-label') ??
      label?.textContent ??
      now?.closest('label')?.textContent ??
      now?.textContent ??
      ''
    )
      .replaceAll(/\s+/g, ' ')
      .trim();
  });
}

export const PREAMPLIFIER = /^start from it: .*bench said otherwise/i;

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Violations that axe-core finds, as "rule: element". `evaluate` passes the page's content policy, a script tag would not. */
export async function violations(page: Page): Promise<readonly string[]> {
  await page.evaluate(`${axe};0`);
  return page.evaluate(async () => {
    const { axe: run } = globalThis as unknown as {
      axe: {
        run(): Promise<{
          violations: { id: string; nodes: { target: unknown[]; failureSummary: string }[] }[];
        }>;
      };
    };
    const found = await run.run();
    return found.violations.flatMap(({ id, nodes }) =>
      nodes.map(
        (node) => `${id}: ${node.target.flat(3).join(' > ')} ${node.failureSummary.slice(0, 200)}`,
      ),
    );
  });
}
