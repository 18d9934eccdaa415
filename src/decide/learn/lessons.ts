import { biasAndRunaway } from './bias-and-runaway.ts';
import { contactBias } from './contact-bias.ts';
import { emissionAndPeaks } from './emission-and-peaks.ts';
import { leakAndResistance } from './leak-and-resistance.ts';
import { sharedLine } from './shared-line.ts';
import type { Lesson } from './lesson.ts';

/** In the order in which they build on each other. */
export const LESSONS: readonly Lesson[] = [
  leakAndResistance,
  biasAndRunaway,
  contactBias,
  sharedLine,
  emissionAndPeaks,
];

export const findLesson = (id: string): Lesson | undefined =>
  LESSONS.find((lesson) => lesson.id === id);
