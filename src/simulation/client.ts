import type { RunOptions, SimRequest, SimResult } from '../types.ts';
import { checkAnswer, withSerial } from './check.ts';
import type { EngineAnswer } from './spice.ts';

export interface ToWorker {
  readonly serial: number;
  readonly netlist: string;
}

export type FromWorker =
  | { readonly serial: number; readonly answer: EngineAnswer }
  | { readonly serial: number; readonly died: string };

/** A thread with one engine in it. */
export interface EngineThread {
  post(message: ToWorker): void;
  stop(): void;
  /** Whether the process must stay alive for it. */
  hold?(busy: boolean): void;
}

export interface ThreadEvents {
  message(message: FromWorker): void;
  died(text: string): void;
}

/** Starts a thread; the events may come from then on. */
export type StartThread = (events: ThreadEvents) => Promise<EngineThread>;

const TIMEOUT_MS = 30_000;
/** ngspice keeps a little of every run, and slows with it. */
const RUNS_PER_ENGINE = 1500;
/** A cancelled run may end by itself within this time, about what starting another engine costs. */
const CANCEL_GRACE_MS = 50;

let serials = 0;

interface Job {
  readonly serial: number;
  readonly request: SimRequest;
  settle(result: SimResult): void;
}

/**
 * One engine at a time, one run at a time. The engine is ended and another started on demand after anything that
 * leaves its state in doubt: a crash, a netlist it could not read, a doubtful answer, the time limit, a cancel that it
 * did not heed, and after `RUNS_PER_ENGINE` runs.
 */
export class EngineClient {
  #start: StartThread;
  #freed: () => void;
  #thread: Promise<EngineThread> | undefined;
  #job: Job | undefined;
  #grace: ReturnType<typeof setTimeout> | undefined;
  #runs = 0;

  constructor(start: StartThread, freed: () => void) {
    this.#start = start;
    this.#freed = freed;
  }

  get busy(): boolean {
    return this.#job !== undefined;
  }

  get warm(): boolean {
    return this.#thread !== undefined;
  }

  /** Starts the engine before it is needed. Never rejects: a failure comes with the first run. */
  async warmUp(): Promise<void> {
    await this.#ready().catch(() => undefined);
  }

  /** Only when not `busy`. Never rejects. */
  run(request: SimRequest, options: RunOptions = {}): Promise<SimResult> {
    const serial = ++serials;
    const timeout_ms = options.timeout_ms ?? TIMEOUT_MS;
    return new Promise((resolve) => {
      const fail = (why: 'timeout' | 'cancelled' | 'crash', text: string): SimResult => ({
        ok: false,
        runId: request.runId,
        why,
        text,
      });
      const cancel = (): void => {
        resolve(fail('cancelled', 'cancelled'));
        this.#grace ??= setTimeout(() => {
          this.stop();
          job.settle(fail('cancelled', 'cancelled'));
        }, CANCEL_GRACE_MS);
      };
      const timer = setTimeout(() => {
        this.stop();
        job.settle(fail('timeout', `no answer within ${timeout_ms} ms`));
      }, timeout_ms);
      const job: Job = {
        serial,
        request,
        settle: (result) => {
          if (this.#job !== job) return;
          this.#job = undefined;
          clearTimeout(timer);
          clearTimeout(this.#grace);
          this.#grace = undefined;
          options.signal?.removeEventListener('abort', cancel);
          resolve(result);
          this.#freed();
        },
      };
      this.#job = job;
      options.signal?.addEventListener('abort', cancel, { once: true });
      this.#runs++;
      this.#ready().then(
        (thread) => {
          if (this.#job !== job) return;
          thread.hold?.(true);
          thread.post({ serial, netlist: withSerial(request, serial) });
        },
        (error: unknown) => {
          this.stop();
          job.settle(fail('crash', `the engine did not start: ${String(error)}`));
        },
      );
    });
  }

  /** Ends the engine and what runs in it. */
  close(): void {
    this.stop();
    const job = this.#job;
    job?.settle({
      ok: false,
      runId: job.request.runId,
      why: 'cancelled',
      text: 'the simulator is closed',
    });
  }

  /** Ends the engine. A run in it is not settled here. */
  stop(): void {
    const thread = this.#thread;
    this.#thread = undefined;
    this.#runs = 0;
    thread?.then(
      (started) => started.stop(),
      () => undefined,
    );
  }

  #ready(): Promise<EngineThread> {
    if (this.#thread !== undefined) return this.#thread;
    const thread = this.#start({
      message: (message) => {
        if (this.#thread === thread) this.#heard(thread, message);
      },
      died: (text) => {
        if (this.#thread === thread) this.#lost(text);
      },
    });
    this.#thread = thread;
    return thread;
  }

  #heard(thread: Promise<EngineThread>, message: FromWorker): void {
    const job = this.#job;
    if (job === undefined || message.serial !== job.serial) return;
    if ('died' in message) {
      this.#lost(message.died);
      return;
    }
    const result = checkAnswer(job.request, job.serial, message.answer);
    if (this.#runs >= RUNS_PER_ENGINE || (!result.ok && result.why !== 'noConvergence'))
      this.stop();
    else void thread.then((started) => started.hold?.(false));
    job.settle(result);
  }

  /** The engine is gone; a line that it wrote before may say that the netlist was at fault. */
  #lost(text: string): void {
    this.stop();
    const job = this.#job;
    if (job === undefined) return;
    const lines = text.split('; ').map((line) => ({ text: line, isError: true }));
    const judged = checkAnswer(job.request, job.serial, { plots: [], lines });
    const why = !judged.ok && judged.why === 'parse' ? 'parse' : 'crash';
    job.settle({ ok: false, runId: job.request.runId, why, text });
  }
}
