import type { AcceptanceCard } from '../../decide/accept.ts';
import type { InSetReport } from '../../decide/in-set/in-set.ts';
import type { AcceptanceMap } from '../../decide/map.ts';
import type { LessonAnswer } from '../../decide/learn/lesson.ts';
import type { PlacingReport } from '../../decide/place.ts';
import type { Picture } from '../../report/picture.ts';
import type { Electrode, Report } from '../../types.ts';

/** Between the page and the worker that runs the flow. The worker keeps nothing between runs but its engines. */
export interface RunRequest {
  readonly kind: 'run';
  readonly id: number;
  /** The scenario as a file; read again in the worker, so that both sides start from the same text. */
  readonly text: string;
  readonly tube: string;
  readonly socket: string;
}

/** What the further places ask: the same core as the command line's `accept`, `in-set`, `map`, `place`; and the lessons. */
export type Job =
  | {
      readonly about: 'learn';
      readonly lesson: string;
      readonly values: Readonly<Record<string, number>>;
    }
  | {
      readonly about: 'in-set';
      readonly text: string;
      readonly tube: string;
      readonly socket: string;
    }
  | { readonly about: 'accept'; readonly text: string; readonly socket: string }
  | {
      readonly about: 'map';
      readonly text: string;
      readonly socket: string;
      /** Empty: a new tube of the first type that the socket takes. */
      readonly tube: string;
      /** Where all of the leakage goes; the likeliest path where absent. */
      readonly path?: readonly [Electrode, Electrode];
    }
  | { readonly about: 'place'; readonly text: string };

export interface Answers {
  readonly learn: LessonAnswer;
  readonly 'in-set': InSetReport;
  readonly accept: AcceptanceCard;
  readonly map: AcceptanceMap;
  readonly place: PlacingReport;
}

export interface JobRequest {
  readonly kind: 'job';
  readonly id: number;
  readonly job: Job;
}

export type ToFlow = RunRequest | JobRequest | { readonly kind: 'stop'; readonly id: number };

/** The compiled engine, once, from the page; without it the worker compiles its own. */
export interface EngineGiven {
  readonly kind: 'engine';
  readonly wasm?: WebAssembly.Module | undefined;
}

/** What is asked, before it has a number. */
export type Ask = Omit<RunRequest, 'id'> | Omit<JobRequest, 'id'>;

/** An answer with what it is about. */
export type AnswerTo = {
  readonly [K in keyof Answers]: { readonly about: K; readonly answer: Answers[K] };
}[keyof Answers];

export type FromFlow =
  | {
      readonly kind: 'report';
      readonly id: number;
      readonly report: Report;
      /** Its causes are looked for next: it names none, and no path of the leak. */
      readonly causes: boolean;
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
  | { readonly kind: 'answer'; readonly id: number; readonly answer: AnswerTo }
  | { readonly kind: 'done'; readonly id: number }
  | { readonly kind: 'stopped'; readonly id: number }
  | {
      readonly kind: 'problem';
      readonly id: number;
      readonly title: string;
      readonly text: string;
    };
