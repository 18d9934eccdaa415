import type { Reporter, TestModule } from 'vitest/node';

/**
 * One plain line at the very end, for machines that count: "12 passed, 0 failed" or "12 passed, 0 failed, 1 skipped".
 * A file that did not load, and an error outside of any test, count as failed.
 */
export default class CountReporter implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], errors: readonly unknown[]): void {
    const count = { passed: 0, failed: errors.length, skipped: 0 };
    for (const module of modules) {
      count.failed += module.errors().length;
      for (const test of module.children.allTests()) {
        const { state } = test.result();
        // a test that never came to an end did not pass
        if (state === 'passed' || state === 'skipped') count[state]++;
        else count.failed++;
      }
      for (const suite of module.children.allSuites()) count.failed += suite.errors().length;
    }
    const skipped = count.skipped === 0 ? '' : `, ${count.skipped} skipped`;
    // after the other reporters' summaries
    process.once('exit', () =>
      process.stdout.write(`${count.passed} passed, ${count.failed} failed${skipped}\n`),
    );
  }
}
