/** Lines in, answers out in the same order, and never more than a window of them in memory. */

/** A line longer than this is not kept: a tube's readings take a few hundred characters. */
export const LONGEST_LINE = 100_000;

export type InputLine = { readonly text: string } | { readonly tooLong: number };

/** Splits bytes into lines of UTF-8. Empty lines are skipped; of one that is too long, only its length is told. */
export async function* linesOf(source: AsyncIterable<Uint8Array>): AsyncGenerator<InputLine> {
  const decoder = new TextDecoder('utf-8');
  let rest = '';
  let dropped = 0;
  for await (const bytes of source) {
    const parts = (rest + decoder.decode(bytes, { stream: true })).split('\n');
    rest = parts.pop()!;
    for (const [i, part] of parts.entries()) {
      yield* lineOf(part, i === 0 ? dropped : 0);
      dropped = 0;
    }
    if (rest.length > LONGEST_LINE) {
      dropped += rest.length;
      rest = '';
    }
  }
  yield* lineOf(rest + decoder.decode(), dropped);
}

function* lineOf(text: string, dropped: number): Generator<InputLine> {
  const length = text.length + dropped;
  if (length > LONGEST_LINE) yield { tooLong: length };
  else if (text.trim() !== '') yield { text };
}

/**
 * The answers to `items`, in their order. At most `window` are asked for or kept back at a time; an answer is given as soon as
 * it and all before it are there, also while the next item is still awaited.
 */
export async function* inOrder<T, R>(
  items: AsyncIterable<T>,
  window: number,
  work: (item: T) => Promise<R>,
): AsyncGenerator<R> {
  const source = items[Symbol.asyncIterator]();
  const running: Promise<R>[] = [];
  const read = (): Promise<{ readonly item: IteratorResult<T> }> =>
    source.next().then((item) => ({ item }));
  let next: ReturnType<typeof read> | undefined = read();
  while (next !== undefined || running.length > 0) {
    const [oldest] = running;
    const waiting: Promise<{ readonly item: IteratorResult<T> } | { readonly answer: R }>[] = [];
    if (oldest !== undefined) waiting.push(oldest.then((answer) => ({ answer })));
    if (next !== undefined && running.length < window) waiting.push(next);
    const came = await Promise.race(waiting);
    if ('answer' in came) {
      void running.shift();
      yield came.answer;
    } else if (came.item.done === true) next = undefined;
    else {
      running.push(work(came.item.value));
      next = read();
    }
  }
}
