import type { Case } from '../assess.ts';
import type { Picture } from '../report/picture.ts';
import type { Report, Simulator, StopSignal } from '../types.ts';

export interface PictureOptions {
  readonly signal: StopSignal;
  /** Told with all pictures so far, each time one more is ready. */
  onPictures(pictures: readonly Picture[]): void;
}

/** The pictures that explain one report. */
export async function picturesOf(_given: Case, _report: Report, _simulator: Simulator, options: PictureOptions): Promise<void> {
  options.onPictures([]);
}
