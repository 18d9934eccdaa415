/** Progress on stderr, when it is a terminal and the work is long enough to wonder. Nothing otherwise. */
export function progressLine(): {
  show(what: string, done: number, all: number): void;
  clear(): void;
} {
  const started = performance.now();
  let shown = false;
  return {
    show(what, done, all) {
      if (!process.stderr.isTTY || performance.now() - started < 400) return;
      shown = true;
      process.stderr.write(`\r\u001b[K${what}: ${done} of ${all}`);
    },
    clear() {
      if (shown) process.stderr.write('\r\u001b[K');
    },
  };
}
