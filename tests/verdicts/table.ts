import type { Report } from '../../src/types.ts';

/** What became of a class of tubes, by verdict. */
export type Tally = Readonly<Partial<Record<Report['verdict'], number>>>;

/** One stage with a tube that suits it, as `npm run accuracy:verdicts` found it. */
export interface Found {
  readonly stage: string;
  readonly tube: string;
  readonly classes: {
    readonly new: Tally;
    readonly ruined: Tally;
    /** Each verdict that was not the expected one, with its reason. */
    readonly why: readonly string[];
  };
  readonly without: {
    readonly tubes: number;
    /** Marginal or usable with the reading left out: only these could promise more. */
    readonly promising: number;
    readonly better: number;
    readonly why: readonly string[];
  };
}

/** By name of the bed. */
export type AllFound = Readonly<Record<string, Found>>;

const sum = (tally: Tally): number => Object.values(tally).reduce((a, b) => a + b, 0);
const usable = (tally: Tally): string => `${tally.usable ?? 0} of ${sum(tally)}`;

/** The table of the README. */
export function verdictsTable(all: AllFound): string {
  const found = Object.values(all);
  const total = (of: (one: Found) => Tally): Tally => ({
    usable: found.reduce((n, one) => n + (of(one).usable ?? 0), 0),
    unsuitable: found.reduce((n, one) => n + sum(of(one)) - (of(one).usable ?? 0), 0),
  });
  const [better, tubes] = [
    found.reduce((n, { without }) => n + without.better, 0),
    found.reduce((n, { without }) => n + without.tubes, 0),
  ];
  return [
    '| stage | tube | new, usable | ruined, usable | better with a reading left out |',
    '|---|---|---:|---:|---:|',
    ...found.map(
      (one) =>
        `| ${one.stage} | ${one.tube} | ${usable(one.classes.new)} | ${usable(one.classes.ruined)} | ${one.without.better} of ${one.without.tubes} |`,
    ),
    `| all | | ${usable(total(({ classes }) => classes.new))} | ${usable(total(({ classes }) => classes.ruined))} | ${better} of ${tubes} |`,
  ].join('\n');
}
