import type { CircuitFault, Measures, MeasureSpec, StageValue, Status, Unit } from '../types.ts';
import { formatQuantity } from '../units/format.ts';
import { deciding, judgeMeasure, overall, type Judgement } from './judge.ts';
import type { Limit } from './limit.ts';
import { reasonFor, type ReasonContext } from './reason.ts';

/**
 * Whether the circuit is at fault and not the tube: a new tube in the circuit as it is, judged against a new tube in the
 * circuit as it should be. Pure.
 */

/** A value that is not what it is in a sound set. */
export interface StatedFault {
  readonly spec: { readonly title: string; readonly unit: Unit };
  readonly value: StageValue['value'];
  /** Id of the socket, where it is not the one in question. */
  readonly socket?: string;
}

export interface NewTubes {
  /** In the circuit as it is; its measures look at the other one as their new tube. */
  readonly here: Measures;
  /** In the circuit as it should be. */
  readonly sound: Measures;
  /** Why one of them could not be simulated, if so. */
  readonly failed: string | undefined;
}

/** What the faults spoil: measures of a new tube that are inside their limits in the sound circuit, and not here. */
export function spoiled(
  measures: readonly MeasureSpec[],
  limits: readonly Limit[],
  { here, sound, failed }: NewTubes,
): Judgement[] {
  const judged = (own: Measures): Judgement[] =>
    measures.map((measure) =>
      judgeMeasure(
        measure,
        limits.filter((limit) => limit.spec.measure === measure.id),
        { central: { own, newTube: sound }, draws: [], failedShare: 0, unread: [], failed },
      ),
    );
  const bad = ({ status }: Judgement): boolean => status !== 'usable' && status !== 'unjudged';
  const before = judged(sound);
  return judged(here).filter(
    (judgement, i) => bad(judgement) && (failed !== undefined || !bad(before[i]!)),
  );
}

const valueText = (value: StageValue['value'], unit: Unit): string =>
  typeof value === 'number' ? formatQuantity(value, unit, { digits: 3 }) : String(value);

const faultText = ({ spec, value, socket }: StatedFault): string =>
  `${spec.title}${socket === undefined ? '' : ` in ${socket}`} ${valueText(value, spec.unit)}`;

/** Direct volts of a grid that moved less than this are not told. */
const LEAST_SHIFT_V = 0.05;

function gridText({ here, sound }: NewTubes): string {
  const [now, before] = [here['gridVoltage'], sound['gridVoltage']];
  if (typeof now !== 'number' || typeof before !== 'number') return '';
  if (Math.abs(now - before) < LEAST_SHIFT_V) return '';
  const volts = (value: number): string =>
    formatQuantity(Math.round(value * 1e3) / 1e3 + 0, 'V', { digits: 2 });
  return ` The grid sits at ${volts(now)} instead of ${volts(before)}.`;
}

const WORDS: Readonly<Record<Exclude<Status, 'unjudged'>, string>> = {
  usable: 'usable',
  marginal: 'marginal',
  unsuitable: 'unsuitable',
  undetermined: 'undetermined',
  failed: 'not computed',
};

/**
 * @param found what the faults spoil, not empty
 * @param elsewhere this tube's judgements in the circuit as it should be
 * @param verdict of this tube here
 */
export function circuitFault(
  faults: readonly StatedFault[],
  newTubes: NewTubes,
  found: readonly Judgement[],
  elsewhere: { readonly judgements: readonly Judgement[]; readonly context: ReasonContext },
  verdict: Status,
): CircuitFault {
  const several = elsewhere.context.tubes.length > 1;
  const [thisTube, are] = several ? ['these tubes', 'are'] : ['this tube', 'is'];
  const texts = faults.map(faultText);
  const status = overall(found.map((judgement) => judgement.status));
  const inSoundCircuit = overall(elsewhere.judgements.map((judgement) => judgement.status));
  const context: ReasonContext = {
    ...elsewhere.context,
    own: newTubes.here,
    newTube: newTubes.sound,
  };
  const reason = reasonFor(deciding(found)!, context);
  const listed = texts.join('; ');
  const head =
    status === 'failed'
      ? `Whether the circuit is at fault (${listed}) is not known. ${reason}`
      : `${several ? 'New tubes' : 'A new tube'} would be ${WORDS[status]} here too: the circuit is at fault (${listed}).${gridText(newTubes)} ${reason}`;
  const decider = deciding(elsewhere.judgements);
  const because = decider === undefined ? '' : ` ${reasonFor(decider, elsewhere.context)}`;
  const tail =
    inSoundCircuit === 'usable'
      ? `In the circuit as it should be, ${thisTube} ${are} usable${status === 'failed' ? '.' : ': it is the circuit, not the tube.'}`
      : inSoundCircuit === 'unsuitable'
        ? `In the circuit as it should be, ${thisTube} ${are} unsuitable as well.${because}`
        : `In the circuit as it should be, ${thisTube} ${are} ${WORDS[inSoundCircuit]}.${because}`;
  const beside =
    status !== 'failed' && (verdict === 'usable' || verdict === 'marginal')
      ? ` The verdict itself compares ${thisTube} with ${several ? 'new ones' : 'a new one'} in the circuit with its fault.`
      : '';
  return {
    status: status as CircuitFault['status'],
    inSoundCircuit,
    faults: texts,
    sentence: `${head} ${tail}${beside}`,
  };
}
