import { Worker } from 'node:worker_threads';
import type { Answered, BatchOptions } from './answer.ts';
import type { InputLine } from './stream.ts';

/** What every thread of a batch begins with: texts that the main thread has read and found good. */
export interface Setup {
  readonly file: string;
  readonly text: string;
  readonly devices: readonly { readonly file: string; readonly text: string }[];
  readonly options: BatchOptions;
}

export interface ToBatch {
  readonly id: number;
  readonly line: InputLine;
}

export interface FromBatch {
  readonly id: number;
  readonly answered: Answered;
}

/** Lines that a thread has at a time: while one waits for the engine, the other is put together. */
export const LINES_PER_THREAD = 2;

interface Thread {
  readonly worker: Worker;
  readonly asked: Map<number, { line: InputLine; resolve: (answered: Answered) => void }>;
}

/** Threads that answer lines; each line goes to the thread that has fewest. A thread that dies takes none of the others' along. */
export class BatchThreads {
  private readonly threads = new Set<Thread>();
  private closed = false;
  private asked = 0;

  constructor(
    private readonly setup: Setup,
    private readonly count: number,
  ) {}

  /** Never rejects. */
  answer(line: InputLine): Promise<Answered> {
    const [free] = [...this.threads].sort((a, b) => a.asked.size - b.asked.size);
    const full = this.threads.size >= this.count;
    const thread = free !== undefined && (full || free.asked.size === 0) ? free : this.start();
    return new Promise((resolve) => {
      const id = ++this.asked;
      thread.asked.set(id, { line, resolve });
      thread.worker.postMessage({ id, line } satisfies ToBatch);
    });
  }

  async close(): Promise<void> {
    this.closed = true;
    await Promise.all([...this.threads].map(({ worker }) => worker.terminate()));
  }

  private start(): Thread {
    const worker = new Worker(new URL('./batch-worker.js', import.meta.url), {
      workerData: this.setup,
      execArgv: [],
    });
    const thread: Thread = { worker, asked: new Map() };
    this.threads.add(thread);
    worker.on('message', ({ id, answered }: FromBatch) => {
      thread.asked.get(id)?.resolve(answered);
      thread.asked.delete(id);
    });
    worker.on('error', (error: Error) => this.bury(thread, error.message));
    worker.on('exit', (code) => this.bury(thread, `its thread ended with code ${code}`));
    return thread;
  }

  /** What a dead thread had is answered as failed; another is started when it is needed. */
  private bury(thread: Thread, why: string): void {
    if (this.closed || !this.threads.delete(thread)) return;
    for (const { resolve } of thread.asked.values())
      resolve({
        json: JSON.stringify({ error: { code: 'internal', message: why } }),
        outcome: 'failed',
      });
  }
}
