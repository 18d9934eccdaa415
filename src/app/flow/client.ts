import { takeFlowWorker } from './early.ts';
import type { Ask, FromFlow, ToFlow } from './protocol.ts';

/** The part of a worker that the client uses, so that a test can put another in its place. */
export interface FlowPort {
  post(message: ToFlow): void;
  terminate(): void;
}

export interface PortEvents {
  message(message: FromFlow): void;
  died(text: string): void;
}

export interface FlowEvents {
  message(message: FromFlow): void;
  /** The worker died. `again`: it was started anew with the same input; false: it died twice on it. */
  crashed(text: string, again: boolean): void;
}

/** Silence after which a worker counts as hung; engines have their own, shorter, time limit. */
const SILENCE_ms = 90_000;

/**
 * One worker for the flow: the latest input wins, answers to earlier ones are dropped, and a worker that dies or hangs is
 * replaced. One more death on the same input gives up, so that a bad input cannot restart workers for ever.
 */
export class FlowClient {
  private port: FlowPort | undefined;
  private id = 0;
  private input: Ask | undefined;
  private running = false;
  private died = false;
  private watch: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly start: (events: PortEvents) => FlowPort,
    private readonly events: FlowEvents,
  ) {}

  /** Starts the worker before it is needed. */
  warmUp(): void {
    this.port ??= this.open();
  }

  run(input: Ask): void {
    this.input = input;
    this.died = false;
    this.send();
  }

  stop(): void {
    if (this.running) this.port?.post({ kind: 'stop', id: this.id });
  }

  /** Forgets the run on the way; nothing more is heard of it. */
  cancel(): void {
    this.stop();
    this.id += 1;
    this.running = false;
    clearTimeout(this.watch);
  }

  close(): void {
    clearTimeout(this.watch);
    this.port?.terminate();
    this.port = undefined;
    this.running = false;
  }

  private send(): void {
    if (this.input === undefined) return;
    this.id += 1;
    this.running = true;
    this.port ??= this.open();
    this.port.post({ id: this.id, ...this.input });
    this.listen();
  }

  private open(): FlowPort {
    const port: FlowPort = this.start({
      message: (message) => {
        if (port !== this.port || message.id !== this.id) return;
        if (message.kind === 'done' || message.kind === 'stopped' || message.kind === 'problem') {
          this.running = false;
          clearTimeout(this.watch);
        } else this.listen();
        this.events.message(message);
      },
      died: (text) => {
        if (port === this.port) this.bury(text);
      },
    });
    return port;
  }

  private listen(): void {
    clearTimeout(this.watch);
    this.watch = setTimeout(() => this.bury('it did not answer'), SILENCE_ms);
  }

  private bury(text: string): void {
    this.close();
    const again = !this.died && this.input !== undefined;
    this.died = true;
    this.events.crashed(text, again);
    if (again) this.send();
  }
}

/** The real worker. */
export function startFlow(events: PortEvents): FlowPort {
  const worker = takeFlowWorker();
  worker.addEventListener('message', ({ data }: MessageEvent<FromFlow>) => events.message(data));
  worker.addEventListener('error', (event) =>
    events.died(event.message === '' ? 'it could not be started' : event.message),
  );
  worker.addEventListener('messageerror', () => events.died('an answer could not be read'));
  return { post: (message) => worker.postMessage(message), terminate: () => worker.terminate() };
}
