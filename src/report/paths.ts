import type { PathVerdict } from '../types.ts';

/** The paths of one tube: each that does harm is told by itself, the others together. */
export interface TubePaths {
  /** "left: ", where there are several tubes. */
  readonly whose: string;
  readonly harmful: readonly PathVerdict[];
  readonly harmless: readonly PathVerdict[];
}

export const pathsByTube = (paths: readonly PathVerdict[]): TubePaths[] =>
  [...new Set(paths.map(({ tube }) => tube))].map((tube) => {
    const own = paths.filter((path) => path.tube === tube);
    return {
      whose: tube === undefined ? '' : `${tube}: `,
      harmful: own.filter(({ status }) => status !== 'usable'),
      harmless: own.filter(({ status }) => status === 'usable'),
    };
  });

/** How likely the leak takes a path, in whole percent. */
export const percentOf = ({ weight }: PathVerdict): number => Math.round(100 * weight);
