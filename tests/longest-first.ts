import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files that take a minute and more, the longest first: begun last, one of them would run alone. */
const LONG = [
  'verdicts/verdicts',
  'page/work',
  'assess',
  'page/kept',
  'page/looks',
  'cli/stagefit',
  'stage/phase-copies',
  'golden',
];

export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = ({ moduleId }: TestSpecification): number => {
      const at = LONG.findIndex((name) => moduleId.endsWith(`tests/${name}.test.ts`));
      return at < 0 ? LONG.length : at;
    };
    return (await super.sort(files)).toSorted((a, b) => rank(a) - rank(b));
  }
}
