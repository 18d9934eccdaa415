import type { PathVerdict, Report, WearLine } from '../types.ts';

/** The paths of one tube: each that does harm is told by itself, the others together. */
export interface TubePaths {
  /** "left: ", where there are several tubes. */
  readonly whose: string;
  readonly harmful: readonly PathVerdict[];
  readonly harmless: readonly PathVerdict[];
}

/** A leakage that nobody read takes no path: "usable by any" would be said of tubes in general. */
const wasRead = (wear: readonly WearLine[]): boolean =>
  !wear.some(({ id, known }) => id === 'gridLeak' && known === 'unread');

export function pathsByTube({
  paths,
  tube,
  wear,
  companions,
}: Pick<Report, 'paths' | 'tube' | 'wear' | 'companions'>): TubePaths[] {
  const wears = [{ ...tube, wear }, ...companions];
  const readOf = (label: string | undefined): boolean => {
    const own =
      label === undefined
        ? wears[0]
        : wears.find(({ id, section }) => label === id || label === `${id} section ${section}`);
    return own === undefined || wasRead(own.wear);
  };
  return [...new Set(paths.map((path) => path.tube))].filter(readOf).map((label) => {
    const own = paths.filter((path) => path.tube === label);
    return {
      whose: label === undefined ? '' : `${label}: `,
      harmful: own.filter(({ status }) => status !== 'usable'),
      harmless: own.filter(({ status }) => status === 'usable'),
    };
  });
}

/** How likely the leak takes a path, in whole percent. */
export const percentOf = ({ weight }: PathVerdict): number => Math.round(100 * weight);
