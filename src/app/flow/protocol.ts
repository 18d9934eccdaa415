import type { Picture } from '../../report/picture.ts';
import type { Report } from '../../types.ts';

/** Between the page and the worker that runs the flow. The worker keeps nothing between runs but its engines. */
export interface RunRequest {
  readonly kind: 'run';
  readonly id: number;
  /** The scenario as a file; read again in the worker, so that both sides start from the same text. */
  readonly text: string;
  readonly tube: string;
  readonly socket: string;
}

export type ToFlow = RunRequest | { readonly kind: 'stop'; readonly id: number };

export type FromFlow =
  | {
      readonly kind: 'report';
      readonly id: number;
      readonly report: Report;
      readonly settled: boolean;
    }
  | {
      readonly kind: 'progress';
      readonly id: number;
      readonly what: string;
      readonly done: number;
      readonly all: number;
    }
  | { readonly kind: 'pictures'; readonly id: number; readonly pictures: readonly Picture[] }
  | { readonly kind: 'done'; readonly id: number }
  | { readonly kind: 'stopped'; readonly id: number }
  | {
      readonly kind: 'problem';
      readonly id: number;
      readonly title: string;
      readonly text: string;
    };
