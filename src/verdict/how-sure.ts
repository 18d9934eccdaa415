import { chiSquareQuantile, wilsonInterval } from '../numerics/proportion.ts';
import { kruskalWallis, spearman } from '../numerics/ranks.ts';
import { normalCdf } from '../numerics/normal.ts';
import { formatQuantity } from '../units/format.ts';
import type {
  BlindReading,
  Draw,
  HowSure,
  InputGroup,
  Known,
  ReadingKind,
  Status,
} from '../types.ts';
import type { Judgement, Pair } from './judge.ts';
import type { Limit } from './limit.ts';
import { READING_WORDS } from './reason.ts';
import { lower } from '../units/title.ts';

/** One draw with what came of it. */
export interface Sample extends Pair {
  readonly draw: Draw;
}

/** One unknown of the draws: what it belongs to. */
export interface Input {
  readonly name: string;
  readonly group: InputGroup;
  readonly known: Known;
  readonly title: string;
  /** Whose, where the stage has more than one tube. */
  readonly tube?: string;
}

const SOURCE =
  'share: score interval (Wilson 1927), 90 %; inputs: rank correlation (Spearman 1904; for the path Kruskal and Wallis 1952) with the draws of the verdict, less what chance gives, told where it passes 95 % of chance';

const GROUP_TITLES: Readonly<Record<InputGroup, string>> = {
  emission: 'emission',
  starvedHeater: 'drop with a starved heater',
  leakage: 'size of the leak',
  leakPath: 'path of the leak',
  gridCurrent: 'grid current: gas and grid emission',
  heaterCathode: 'heater–cathode leakage',
  contactPotential: 'contact potential',
  parts: 'part tolerances',
  line: 'line voltage',
};

/** An input's part is told where chance alone would do as much in fewer than one case in twenty. */
const TOLD = 0.95;
/** Classes that the weighted paths are cut into. */
const PATH_CLASSES = 6;
/** Below this share of the spread nothing is advised: there is no one input to blame. */
const WORTH_ADVICE = 0.2;

/**
 * The share of draws within all limits, and which inputs move the measure that decides. First order, from the draws that the
 * verdict has made anyway: the square of the rank correlation of an unknown with the margin is its share of the spread.
 * Undefined without draws.
 */
export function howSure(
  samples: readonly Sample[],
  limits: readonly Limit[],
  decider: Judgement | undefined,
  verdict: Status,
  inputs: readonly Input[],
  blind: readonly (BlindReading | undefined)[] = [],
): HowSure | undefined {
  if (samples.length === 0 || limits.length === 0) return undefined;
  const margins = samples.map(({ own, newTube }) =>
    limits.map((limit) => ({
      measure: limit.spec.measure,
      margin: limit.apply(own, newTube)?.margin ?? -1,
    })),
  );
  const ofDecider = blind[decider?.missingTube ?? 0];
  const missing = decider?.status === 'undetermined' ? decider.missing : undefined;
  const blindly = ofDecider?.reading === missing ? ofDecider : undefined;
  const within = margins.filter((all) => all.every(({ margin }) => margin >= 0)).length;
  const of = samples.length;
  const { low, high } = wilsonInterval(within, of);
  const found =
    decider === undefined
      ? []
      : sharesOf(
          samples.map(({ draw }) => draw),
          margins.map((all) =>
            Math.min(
              ...all
                .filter(({ measure }) => measure === decider.spec.id)
                .map(({ margin }) => margin),
            ),
          ),
          inputs,
        );
  return {
    within,
    of,
    share: within / of,
    low,
    high,
    sentence: countSentence(within, of, low, high, verdict, decider, blindly),
    measure: decider?.spec.id ?? null,
    inputs: found.map(({ group, tube, share }) => ({
      group,
      ...(tube === undefined ? {} : { tube }),
      title: GROUP_TITLES[group],
      share,
    })),
    advice:
      missing !== undefined
        ? (blindly?.advice ?? `Read the ${READING_WORDS[missing]}: without it nothing is decided.`)
        : (within === of && verdict === 'usable') || (within === 0 && verdict === 'unsuitable')
          ? 'More exact readings would hardly change this verdict.'
          : adviceOf(found[0], decider),
    source: SOURCE,
  };
}

interface Share {
  readonly group: InputGroup;
  readonly tube: string | undefined;
  readonly share: number;
  /** The unknown that does most of it. */
  readonly chief: Input;
  readonly chiefShare: number;
}

function sharesOf(
  draws: readonly Draw[],
  margins: readonly number[],
  inputs: readonly Input[],
): Share[] {
  if (draws.length < 3 || margins.every((margin) => margin === margins[0])) return [];
  const groups = new Map<string, { input: Input; statistic: number; freedom: number }[]>();
  for (const input of inputs) {
    const z = draws.map((draw) => draw[input.name] ?? 0);
    const { h, freedom } =
      input.group === 'leakPath'
        ? kruskalWallis(
            margins,
            z.map((one) => Math.floor(PATH_CLASSES * normalCdf(one))),
          )
        : { h: (draws.length - 1) * spearman(z, margins) ** 2, freedom: 1 };
    const key = `${input.tube ?? ''} ${input.group}`;
    groups.set(key, [...(groups.get(key) ?? []), { input, statistic: h, freedom }]);
  }
  return [...groups.values()]
    .flatMap((members): Share[] => {
      const statistic = members.reduce((sum, one) => sum + one.statistic, 0);
      const freedom = members.reduce((sum, one) => sum + one.freedom, 0);
      if (freedom === 0 || statistic < chiSquareQuantile(TOLD, freedom)) return [];
      const chief = members.reduce((a, b) => (b.statistic > a.statistic ? b : a));
      const shareOf = (h: number, by: number): number =>
        Math.min(1, Math.max(0, (h - by) / (draws.length - 1)));
      return [
        {
          group: chief.input.group,
          tube: chief.input.tube,
          share: shareOf(statistic, freedom),
          chief: chief.input,
          chiefShare: shareOf(chief.statistic, chief.freedom),
        },
      ];
    })
    .sort((a, b) => b.share - a.share);
}

const percent = (share: number): string => formatQuantity(share * 100, '%', { digits: 2 });

function countSentence(
  within: number,
  of: number,
  low: number,
  high: number,
  verdict: Status,
  decider: Judgement | undefined,
  blind: BlindReading | undefined,
): string {
  const range =
    within === of
      ? `at least ${percent(low)} of such tubes`
      : within === 0
        ? `at most ${percent(high)} of such tubes`
        : `${percent(low)} to ${percent(high)} of such tubes`;
  const count = `${within === of ? `All ${of}` : within === 0 ? `None of ${of}` : `${within} of ${of}`} tubes drawn from what the readings leave open hold every limit here: ${range}, by this calculation.`;
  return verdict === 'undetermined' && decider?.missing !== undefined
    ? `${count} They take the ${READING_WORDS[decider.missing]} from tubes in general, since it ${blind === undefined ? 'was not read' : 'does not tell'}: that is no verdict.`
    : count;
}

/** What to do about a group of which general knowledge, not a reading, leaves most open. */
const SET_UP: Readonly<Partial<Record<InputGroup, string>>> = {
  emission:
    'no repetition narrows that; two tubes of known emission, or the terminal volts of the test, in the instrument’s profile do',
  starvedHeater: 'no repetition narrows that: it is general knowledge of cathodes',
  leakage: 'no bench reading narrows that; the grid voltage read in the set does',
  leakPath: 'a leakage reading with one electrode at a time against the grid tells the path',
  gridCurrent: 'a reading of the grid current under load narrows it',
  heaterCathode: 'a reading of the heater–cathode leakage narrows it',
  contactPotential: 'no reading narrows that; a try in the set does',
  line: 'the supply, read in the set and given with its real range, narrows it',
};

const REPEAT: Readonly<Partial<Record<InputGroup, ReadingKind>>> = {
  emission: 'emission',
  starvedHeater: 'starvedHeater',
  leakage: 'leakage',
  gridCurrent: 'gridCurrent',
  heaterCathode: 'heaterCathode',
};

function adviceOf(top: Share | undefined, decider: Judgement | undefined): string | null {
  if (top === undefined || decider === undefined || top.share < WORTH_ADVICE) return null;
  const { group, chief, share } = top;
  const reading = REPEAT[group];
  const whose = top.tube === undefined ? '' : ` of ${top.tube}`;
  const what =
    group === 'parts'
      ? `measure the ${chief.title} in the set and give it as measured`
      : reading !== undefined && chief.known === 'read'
        ? `read the ${READING_WORDS[reading]}${whose} once more`
        : reading !== undefined && chief.known === 'unread'
          ? `read the ${READING_WORDS[reading]}${whose}`
          : (SET_UP[group] ?? '');
  const named = REPEAT[group] === undefined ? '' : `, chiefly ${chief.title}`;
  const title = decider.spec.title;
  const much = share > 0.95 ? 'Nearly all' : `About ${percent(share)}`;
  return `${much} of what is open about ${lower(title)} comes from the ${GROUP_TITLES[group]}${whose}${named}: ${what}.`;
}
