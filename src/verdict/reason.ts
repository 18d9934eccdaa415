import type { BlindReading, Measures, MeasureSpec, MeasureValue, ReadingKind } from '../types.ts';
import { formatBeside, formatInterval, formatQuantity } from '../units/format.ts';
import type { Judgement } from './judge.ts';
import { lower } from '../units/title.ts';

/** What the sentences need beside the judgement itself. */
export interface ReasonContext {
  readonly own: Measures;
  readonly newTube: Measures;
  /** DC resistance of the grid circuit, ohm. */
  readonly gridCircuit_ohm: number;
  /** By tube index. With more than one, sentences say which. */
  readonly tubes: readonly TubeContext[];
}

export interface TubeContext {
  readonly id: string;
  /** Margin of the same limit without any reverse grid current of this tube, and with a new cathode in it. */
  marginWithoutLeak(measure: string): number | undefined;
  marginWithNewCathode(measure: string): number | undefined;
  /** "The cathode works with 62 % of its area …". */
  readonly cathodeSentence: string;
  /**
   * On a bias line, where each tube moves the grid by a part: where the grid would stand without this tube's reverse grid
   * current, V, and through what that current moves it, ohm.
   */
  readonly lifts?: { readonly cured_V: MeasureValue | undefined; readonly through_ohm: number };
  readonly blind?: BlindReading;
}

export const READING_WORDS: Readonly<Record<ReadingKind, string>> = {
  emission: 'emission',
  starvedHeater: 'drop with a starved heater',
  leakage: 'leakage',
  gridCurrent: 'grid current under load',
  heaterCathode: 'heater–cathode leakage',
};

/** What to do where a bench cannot give the reading that is missing. */
const ADVICE: Readonly<Partial<Record<ReadingKind, string>>> = {
  gridCurrent:
    ' A bench with cold plates cannot read it: watch the cathode voltage for 20 minutes in the set (with fixed bias, the plate current); a steady rise is grid current.',
};

/** Changes of the margin below this are not called a cause. */
const NEGLIGIBLE = 0.02;

/**
 * "The grid sits at −1.9 V instead of −5.8 V: 1.4 µA through 2.8 MΩ." Undefined where the grid is where it should be.
 * A stage with several grids has `gridVoltage2` and so on for the tubes after the first. Where the grid's resistor leads to
 * something that moves with the tubes, `gridReturn` says where that stands.
 */
export function gridSentence(context: ReasonContext, tube = 0): string | undefined {
  const id = gridId(context, tube);
  const here = context.own[id];
  const back = `gridReturn${tube + 1}`;
  const lifts = context.tubes[tube]?.lifts;
  const there =
    lifts === undefined
      ? (context.own[tube > 0 && back in context.own ? back : 'gridReturn'] ?? context.newTube[id])
      : lifts.cured_V;
  if (typeof here !== 'number' || typeof there !== 'number') return undefined;
  const shift = here - there;
  if (Math.abs(shift) < 0.01) return undefined;
  const ohms = lifts?.through_ohm ?? context.gridCircuit_ohm;
  const amps = Math.abs(shift) / ohms;
  const [here_V, there_V] = formatBeside(here, there, 'V');
  return named(
    context,
    tube,
    `The grid sits at ${here_V} instead of ${there_V}: ${formatQuantity(amps, 'A', { digits: 2 })} through ${formatQuantity(ohms, 'ohm', { digits: 2 })}`,
  );
}

function gridId({ own }: ReasonContext, tube: number): string {
  const id = `gridVoltage${tube + 1}`;
  return tube > 0 && id in own ? id : 'gridVoltage';
}

/** With more than one tube in the stage a sentence says whose it is. */
function named({ tubes }: ReasonContext, tube: number, sentence: string): string {
  return tubes.length > 1 ? `${tubes[tube]!.id}: ${lower(sentence)}` : sentence;
}

const say = (value: number | null, { unit, alternating }: MeasureSpec): string =>
  value === null
    ? '—'
    : formatQuantity(
        unit === 'V' && alternating !== true ? Math.round(value * 1e3) / 1e3 + 0 : value,
        unit,
        { digits: 3 },
      );

/** One sentence with numbers for a judged measure. */
export function reasonFor(judgement: Judgement, context: ReasonContext): string {
  const { spec, value, limit, newTube } = judgement;
  const name = spec.title;
  if (judgement.status === 'failed')
    return `Not computed: ${judgement.noValue ?? 'no reason given'}.`;
  if (limit === null)
    return value === null
      ? `No number: ${judgement.noValue ?? 'not computed'}.`
      : `${name} is ${say(value, spec)}; a new tube has ${say(newTube, spec)}.`;
  const bound = `${limit.sense === 'atLeast' ? 'at least' : 'at most'} ${say(limit.bound, spec)}`;
  // beyond the limit as it is, no further reading brings it back: then that is said
  if (judgement.missing !== undefined && judgement.status === 'undetermined')
    return missingReason(judgement, judgement.missing, bound, context);
  const measured =
    value === null
      ? `No number for ${lower(name)}: ${judgement.noValue ?? 'not computed'}; ${bound} is asked`
      : `${name} ${say(value, spec)}${interval(judgement)}, ${bound}`;
  const cause = causeIn(judgement, context);
  const where =
    judgement.doubt !== undefined
      ? `: ${judgement.doubt}`
      : judgement.status === 'marginal'
        ? ': the limit lies inside the interval'
        : judgement.margin === null
          ? ''
          : judgement.margin >= 0
            ? `: inside by ${distance(judgement.margin, judgement)}`
            : `: beyond it by ${distance(-judgement.margin, judgement)}`;
  return `${measured}${where}.${cause === undefined ? '' : ` ${cause}`}`;
}

function missingReason(
  judgement: Judgement,
  missing: ReadingKind,
  bound: string,
  context: ReasonContext,
): string {
  const { spec, missingTube, missingAdds } = judgement;
  const reading = `The ${READING_WORDS[missing]}${ofTube(context, missingTube)}`;
  const title = lower(spec.title);
  const leaves =
    missingAdds === true
      ? `all that ${title} may be${interval(judgement)} could lie beyond its limit (${bound})`
      : `${title} would leave its limit (${bound})`;
  const blind = blindIn(context, missing, missingTube);
  return blind === undefined
    ? `${reading} was not read: were it plausibly bad, ${leaves}.${ADVICE[missing] ?? ''}`
    : `${reading} ${blind.why}. At the least of that ${leaves}. ${blind.advice}`;
}

function blindIn(
  { tubes }: ReasonContext,
  missing: ReadingKind,
  tube = 0,
): BlindReading | undefined {
  const blind = tubes[tube]?.blind;
  return blind?.reading === missing ? blind : undefined;
}

/** What makes a measure fail, or the reading without which it cannot be told, as sentences; undefined where no one thing does. */
export function causeIn(judgement: Judgement, context: ReasonContext): string | undefined {
  const { status, limit, missing, missingTube } = judgement;
  if (limit === null || status === 'usable' || status === 'failed') return undefined;
  if (missing !== undefined && status === 'undetermined') {
    const blind = blindIn(context, missing, missingTube);
    const reading = `The ${READING_WORDS[missing]}${ofTube(context, missingTube)}`;
    return blind === undefined
      ? `${reading} was not read.${ADVICE[missing] ?? ''}`
      : `${reading} ${blind.why}. ${blind.advice}`;
  }
  const cause = causeOf(judgement, context);
  return cause === undefined ? undefined : `${cause}.`;
}

function causeOf(judgement: Judgement, context: ReasonContext): string | undefined {
  const margin = judgement.margin ?? -1;
  const { id } = judgement.spec;
  const most = (of: (tube: TubeContext) => number | undefined): { tube: number; gain: number } =>
    context.tubes
      .map((one, tube) => ({ tube, gain: (of(one) ?? margin) - margin }))
      .reduce((a, b) => {
        // where curing either is enough, the one that moves the grid more is meant; only a bias line tells them apart
        const enough = Math.min(a.gain, b.gain) + margin >= 0;
        const lifts = enough ? liftOf(context, b.tube) - liftOf(context, a.tube) : 0;
        return (lifts === 0 ? b.gain > a.gain : lifts > 0) ? b : a;
      });
  const leak = most((tube) => tube.marginWithoutLeak(id));
  const cathode = most((tube) => tube.marginWithNewCathode(id));
  if (leak.gain > NEGLIGIBLE && leak.gain >= cathode.gain) return gridSentence(context, leak.tube);
  if (cathode.gain > NEGLIGIBLE)
    return named(context, cathode.tube, context.tubes[cathode.tube]!.cathodeSentence);
  return undefined;
}

/** By how much the reverse grid current of a tube on a bias line moves its grid, or the one in question, V. */
function liftOf(context: ReasonContext, tube: number): number {
  const cured = context.tubes[tube]?.lifts?.cured_V;
  const here = context.own[gridId(context, tube)];
  return typeof cured === 'number' && typeof here === 'number' ? Math.abs(here - cured) : 0;
}

const ofTube = ({ tubes }: ReasonContext, tube = 0): string =>
  tubes.length > 1 ? ` of ${tubes[tube]!.id}` : '';

function interval(judgement: Judgement): string {
  const { low, high } = judgement;
  return low === null || high === null
    ? ''
    : ` (${formatInterval(low, high, judgement.spec.unit)})`;
}

/** A margin in percent of its bound; decibels in decibels. */
const distance = (margin: number, { spec, limit }: Judgement): string =>
  spec.unit === 'dB' && limit !== null
    ? formatQuantity(margin * Math.abs(limit.bound), 'dB', { digits: 2 })
    : percent(margin);

const percent = (share: number): string =>
  formatQuantity(Math.min(9.99, share) * 100, '%', { digits: 2 });
