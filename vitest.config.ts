import { playwright } from '@vitest/browser-playwright';
import { defineConfig } from 'vitest/config';
import { CHROMIUM_ARGS, findChromium } from './tests/find-chromium.ts';
import { LongestFirst } from './tests/longest-first.ts';

export default defineConfig({
  test: {
    globalSetup: './tests/build-engine.ts',
    // an engine computes on one core at a time, and pages wait: three files side by side fill two cores
    maxWorkers: 3,
    sequence: { sequencer: LongestFirst },
    reporters: ['default', './tests/count-reporter.ts'],
    projects: [
      {
        extends: true,
        test: {
          name: 'node',
          environment: 'node',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/**/*.browser.test.ts'],
          testTimeout: 60_000,
        },
      },
      {
        extends: true,
        optimizeDeps: {
          include: [
            'lit',
            'lit/decorators.js',
            'chart.js',
            'axe-core',
            'fast-check',
            'idb',
            'mathjs',
          ],
        },
        test: {
          name: 'browser',
          include: ['tests/**/*.browser.test.ts'],
          testTimeout: 60_000,
          browser: {
            enabled: true,
            headless: true,
            screenshotFailures: false,
            provider: playwright({
              launchOptions: {
                // looked for only when a browser test runs
                get executablePath() {
                  return findChromium();
                },
                args: [...CHROMIUM_ARGS],
              },
            }),
            instances: [{ browser: 'chromium' }],
          },
        },
      },
    ],
  },
});
