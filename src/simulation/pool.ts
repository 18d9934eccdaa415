import type { RunOptions, SimRequest, SimResult, Simulator } from '../types.ts';
import { faultOf } from './check.ts';
import { EngineClient, type StartThread } from './client.ts';

interface Waiting {
  readonly request: SimRequest;
  readonly options: RunOptions;
  /** Leaves the queue with a result of its own. */
  readonly drop: () => void;
  readonly settle: (result: SimResult) => void;
}

/** Several engines behind one queue. Each run goes to the first engine that is free; engines start when needed. */
export class EnginePool implements Simulator {
  readonly engine: string;
  readonly workers: number;
  #clients: EngineClient[];
  #queue: Waiting[] = [];
  #closed = false;

  constructor(engine: string, workers: number, start: StartThread) {
    if (!Number.isInteger(workers) || workers < 1) throw new Error(`${workers} workers`);
    this.engine = engine;
    this.workers = workers;
    this.#clients = Array.from(
      { length: workers },
      () => new EngineClient(start, () => this.#next()),
    );
  }

  /** Starts all engines before they are needed. */
  async warmUp(): Promise<void> {
    await Promise.all(this.#clients.map((client) => client.warmUp()));
  }

  run(request: SimRequest, options: RunOptions = {}): Promise<SimResult> {
    const fault = faultOf(request);
    if (fault !== undefined)
      return Promise.resolve({ ok: false, runId: request.runId, why: 'parse', text: fault });
    const cancelled = (text: string): SimResult => ({
      ok: false,
      runId: request.runId,
      why: 'cancelled',
      text,
    });
    if (this.#closed) return Promise.resolve(cancelled('the simulator is closed'));
    if (options.signal?.aborted === true) return Promise.resolve(cancelled('cancelled'));
    return new Promise((resolve) => {
      const leave = (): void => {
        this.#queue = this.#queue.filter((other) => other !== waiting);
        resolve(cancelled('cancelled'));
      };
      const waiting: Waiting = {
        request,
        options,
        drop: leave,
        settle: (result) => {
          options.signal?.removeEventListener('abort', leave);
          resolve(result);
        },
      };
      options.signal?.addEventListener('abort', leave, { once: true });
      this.#queue.push(waiting);
      this.#next();
    });
  }

  close(): void {
    this.#closed = true;
    for (const waiting of this.#queue) waiting.drop();
    for (const client of this.#clients) client.close();
  }

  #next(): void {
    while (this.#queue.length > 0) {
      const free = this.#clients.filter(({ busy }) => !busy);
      const client = free.find(({ warm }) => warm) ?? free[0];
      if (client === undefined) return;
      const { request, options, settle } = this.#queue.shift()!;
      void client.run(request, options).then(settle);
    }
  }
}
