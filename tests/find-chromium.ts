import { execFileSync } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { delimiter, join } from 'node:path';

const NAMES = ['chromium', 'chromium-browser', 'google-chrome'];

/** Without a display, a sandbox or a network of its own: as a test machine has it. */
export const CHROMIUM_ARGS: readonly string[] = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

let found: string | undefined;

/**
 * The system's Chromium: CHROMIUM_PATH, else the first of `NAMES` on the path, else, as root on a Debian, installed now.
 * Throws with what to install.
 */
export function findChromium(): string {
  found ??= given() ?? onPath() ?? installed();
  if (found === undefined)
    throw new Error(
      'These tests need Chromium: install the package "chromium" of your system, or set CHROMIUM_PATH to its program.',
    );
  return found;
}

function given(): string | undefined {
  const path = process.env['CHROMIUM_PATH'];
  if (path === undefined || path === '') return undefined;
  if (!isProgram(path)) throw new Error(`CHROMIUM_PATH is "${path}", which is not a program.`);
  return path;
}

function onPath(): string | undefined {
  const folders = (process.env['PATH'] ?? '').split(delimiter);
  return NAMES.flatMap((name) => folders.map((folder) => join(folder, name))).find(isProgram);
}

function installed(): string | undefined {
  if (process.getuid?.() !== 0) return undefined;
  try {
    const apt = (...args: string[]): void => {
      execFileSync('apt-get', ['-qq', ...args], {
        stdio: ['ignore', 'ignore', 'inherit'],
        env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
      });
    };
    apt('update');
    apt('install', '-y', '--no-install-recommends', 'chromium');
  } catch {
    return undefined;
  }
  return onPath();
}

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
