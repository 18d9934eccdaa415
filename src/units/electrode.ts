import type { Electrode } from '../types.ts';

/** An electrode in words: "signal grid". */
export function words(electrode: Electrode): string {
  if (electrode === 'oscillatorGrid') return 'oscillator grid';
  return electrode === 'signalGrid' ? 'signal grid' : electrode;
}

/** "grid to plate". */
export const pathWords = ([from, to]: readonly [Electrode, Electrode]): string =>
  `${words(from)} to ${words(to)}`;
