import { FlowClient, startFlow, type FlowPort, type PortEvents } from './flow/client.ts';
import type { Answers, FromFlow, Job } from './flow/protocol.ts';

/** The further places (check in the set, acceptance, lessons): one question at a time, answered beside the bench. */

export type DeskRun =
  | { readonly kind: 'idle' }
  | {
      readonly kind: 'computing';
      readonly what: string;
      readonly done: number;
      readonly all: number;
    }
  | { readonly kind: 'stopped' }
  | { readonly kind: 'problem'; readonly title: string; readonly text: string };

export interface DeskState {
  /** What was asked last; an answer to anything else is old. */
  readonly asked: Job | undefined;
  readonly run: DeskRun;
  /** The last answers, until the next replaces them. */
  readonly answers: { readonly [K in keyof Answers]?: Answers[K] | undefined };
}

export const EMPTY_DESK: DeskState = { asked: undefined, run: { kind: 'idle' }, answers: {} };

/** A worker of its own, started with the first question: the bench's answer is not cancelled by it. */
export class Desk {
  private flow: FlowClient | undefined;
  private state = EMPTY_DESK;

  constructor(
    private readonly changed: (state: DeskState) => void,
    private readonly start: (events: PortEvents) => FlowPort = startFlow,
  ) {}

  /** The same question again is the same answer: it is not asked twice. */
  ask(job: Job): void {
    if (JSON.stringify(job) === JSON.stringify(this.state.asked)) return;
    this.send(job);
  }

  again(): void {
    if (this.state.asked !== undefined) this.send(this.state.asked);
  }

  stop(): void {
    this.flow?.stop();
  }

  close(): void {
    this.flow?.close();
  }

  private send(job: Job): void {
    this.flow ??= new FlowClient(this.start, {
      message: (message) => this.hear(message),
      crashed: (text, again) => {
        if (!again)
          this.set({
            run: {
              kind: 'problem',
              title: 'The computation broke twice on this',
              text: `${text}. Nothing is lost; change a value or try again.`,
            },
          });
      },
    });
    this.set({ asked: job, run: { kind: 'computing', what: 'starting', done: 0, all: 0 } });
    this.flow.run({ kind: 'job', job });
  }

  private hear(message: FromFlow): void {
    switch (message.kind) {
      case 'progress':
        this.set({ run: { ...message, kind: 'computing' } });
        return;
      case 'answer':
        this.set({
          run: { kind: 'idle' },
          answers: { ...this.state.answers, [message.answer.about]: message.answer.answer },
        });
        return;
      case 'problem':
        this.set({ run: { kind: 'problem', title: message.title, text: message.text } });
        return;
      case 'stopped':
        this.set({ run: { kind: 'stopped' } });
        return;
      default:
        return;
    }
  }

  private set(part: Partial<DeskState>): void {
    this.state = { ...this.state, ...part };
    this.changed(this.state);
  }
}
