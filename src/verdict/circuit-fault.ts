import type { CircuitFault, Measures, MeasureSpec, StageValue, Status, Unit } from '../types.ts';
import { formatBeside, formatQuantity } from '../units/format.ts';
import { deciding, judgeMeasure, overall, type Judgement } from './judge.ts';
import type { Limit } from './limit.ts';
import { reasonFor, type ReasonContext } from './reason.ts';
import { plainTitle } from '../units/title.ts';

/**
 * Whether the circuit is at fault and not the tube: a new tube in the circuit as it is, judged against a new tube in the
 * circuit as it should be. Pure.
 */

/** A value that is not what it is in a sound set. */
export interface StatedFault {
  readonly spec: { readonly title: string; readonly unit: Unit };
  readonly value: StageValue['value'];
  /** Of a part that is no longer what it is marked. */
  readonly marked?: number;
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

/** The part's name, without the remarks in its title. */
const nameOf = ({ spec, socket }: StatedFault): string =>
  `${plainTitle(spec.title)}${socket === undefined ? '' : ` in ${socket}`}`;

const faultText = (fault: StatedFault): string =>
  `${nameOf(fault)} ${valueText(fault.value, fault.spec.unit)}${fault.marked === undefined ? '' : `, marked ${valueText(fault.marked, fault.spec.unit)}`}`;

/** Direct volts of a grid that moved less than this are not told. */
const LEAST_SHIFT_V = 0.05;

function gridText({ here, sound }: NewTubes): string {
  const [now, before] = [here['gridVoltage'], sound['gridVoltage']];
  if (typeof now !== 'number' || typeof before !== 'number') return '';
  if (Math.abs(now - before) < LEAST_SHIFT_V) return '';
  const [here_V, sound_V] = formatBeside(now, before, 'V');
  return ` The grid sits at ${here_V} instead of ${sound_V}.`;
}

const WORDS: Readonly<Record<Exclude<Status, 'unjudged'>, string>> = {
  usable: 'usable',
  marginal: 'marginal',
  unsuitable: 'unsuitable',
  undetermined: 'undetermined',
  failed: 'not computed',
};

/** What is known of the faults before it is put into words. */
export interface FaultFindings {
  readonly faults: readonly StatedFault[];
  /** Those of them that make this tube usable when they alone are mended. */
  readonly enough: readonly StatedFault[];
  readonly newTubes: NewTubes;
  /** What the faults spoil for a new tube; empty where it bears them and this tube does not. */
  readonly found: readonly Judgement[];
  /** This tube's judgements in the circuit as it should be. */
  readonly judgements: readonly Judgement[];
}

/**
 * @param context of this tube in the circuit as it should be
 * @param verdict of this tube here
 */
export function circuitFault(
  findings: FaultFindings,
  context: ReasonContext,
  verdict: Status,
): CircuitFault {
  const { faults, enough, found, judgements } = findings;
  const several = context.tubes.length > 1;
  const [thisTube, are] = several ? ['these tubes', 'are'] : ['this tube', 'is'];
  const status = found.length === 0 ? 'usable' : overall(found.map((one) => one.status));
  const inSoundCircuit = overall(judgements.map((judgement) => judgement.status));
  const decider = deciding(judgements);
  const because = decider === undefined ? '' : ` ${reasonFor(decider, context)}`;
  const usable =
    status === 'failed' || status === 'usable' ? '.' : ': it is the circuit, not the tube.';
  const tail =
    inSoundCircuit === 'usable'
      ? `In the circuit as it should be, ${thisTube} ${are} usable${usable}${singlesText(findings, verdict)}`
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
    faults: faults.map(faultText),
    enough: enough.map(faultText),
    sentence: `${headText(findings, context, status)} ${tail}${beside}`,
  };
}

function headText(
  { faults, newTubes, found }: FaultFindings,
  context: ReasonContext,
  status: Status,
): string {
  const listed = faults.map(faultText).join('; ');
  const several = context.tubes.length > 1;
  if (status === 'usable')
    return `The circuit is not as it should be (${listed}): ${several ? 'new tubes bear it, these do not' : 'a new tube bears it, this one does not'}.`;
  const reason = reasonFor(deciding(found)!, {
    ...context,
    own: newTubes.here,
    newTube: newTubes.sound,
  });
  return status === 'failed'
    ? `Whether the circuit is at fault (${listed}) is not known. ${reason}`
    : `${several ? 'New tubes' : 'A new tube'} would be ${WORDS[status as keyof typeof WORDS]} here too: the circuit is at fault (${listed}).${gridText(newTubes)} ${reason}`;
}

/** Which of several faults is worth mending alone. */
function singlesText({ faults, enough }: FaultFindings, verdict: Status): string {
  if (faults.length < 2 || verdict === 'usable') return '';
  if (enough.length === 0) return ' To mend one of the faults alone is not enough.';
  return ` It is enough to mend one fault: ${enough.map(nameOf).join(', or ')}.`;
}
